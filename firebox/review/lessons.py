"""Three things to try next time: what cost the pit most of its time in the band comes first, said kindly.

Each candidate has a weight in minutes: what it cost outside the band, or what the project thinks it is worth where no
minutes can be counted. A good cook gets three as well, for there is always a next fire.
"""

from collections.abc import Callable, Iterator
from typing import Final

import numpy as np
from msgspec import Struct

from firebox.records import DoorName
from firebox.review import wording
from firebox.review.blame import LARGE, Cause
from firebox.review.counsel import Followed, What
from firebox.review.rhythm import Fed
from firebox.review.warnings import Worth
from firebox.review.whole import Review
from firebox.review.wording import Look

COUNT: Final = 3

WELL_HELD: Final = 0.9
"""Share of the time in the band that is well held; the project's own choice."""

LONG_HELD: Final = 60.0
"""Minutes of holding from which it can be called well held; a fire that was left after a few says nothing."""

SLOW_START: Final = 90.0
"""Minutes to the band that make one ask for a quicker way; an insulated pit takes about half of that."""


class Lesson(Struct, frozen=True):
    """Something to try, why, and what it weighs. [min]"""

    weight: float
    try_this: str
    because: str


Lessons = Iterator[Lesson]


def lessons(review: Review, look: Look) -> tuple[Lesson, ...]:
    """Return three things to try next time, the most worthwhile first."""
    found = [lesson for look_at in CANDIDATES for lesson in look_at(review, look)]
    found.sort(key=lambda lesson: -lesson.weight)
    return tuple(found[:COUNT])


# --- what took the pit out of its band -----------------------------------------------------------


def _cost(review: Review, *causes: Cause, high: bool | None = None) -> float:
    """Return the minutes outside the band that are laid to some causes; half of them where two are as likely."""
    return sum(
        one.minutes * (1.0 if number == 0 else 0.5)
        for one in review.excursions
        if high is None or one.high is high
        for number, reason in enumerate(one.causes)
        if reason.cause in causes and not reason.advised and (number == 0 or one.causes[0].cause not in causes)
    )


def _late(review: Review, look: Look) -> Lessons:
    cost, usual = _cost(review, Cause.LATE, Cause.DYING), review.rhythm.interval_minutes
    if cost <= 0.0:
        return
    beat = "before the last one has burnt down"
    if usual is not None:
        timer = max(10, 5 * int((usual.median - LEAD) // 5))
        beat = f"with a timer set to {timer} minutes after the last one"
    size = "" if review.rhythm.kg is None else f" of about {wording.kg(review.rhythm.kg.median, look)}"
    yield Lesson(
        cost,
        f"Lay the next split{size} a little earlier, {beat}.",
        f"Waiting for wood kept the pit below its band for about {wording.minutes(cost)}; wood takes some minutes to "
        "catch before it helps.",
    )


LEAD: Final = 6.0
"""Minutes that a split takes to be felt."""


def _oversize(review: Review, look: Look) -> Lessons:
    cost, usual = _cost(review, Cause.OVERSIZE), review.rhythm.kg
    if cost <= 0.0:
        return
    large = [] if usual is None else _rises(review, lambda one: one.kg > LARGE * usual.median)
    small = [] if usual is None else _rises(review, lambda one: one.kg <= LARGE * usual.median)
    shown = ""
    if large and small and np.mean(large) > np.mean(small) and usual is not None:
        shown = (
            f" The large ones lifted the pit by {wording.kelvin(float(np.mean(large)), look)} on average, the others by "
            f"{wording.kelvin(float(np.mean(small)), look)}."
        )
    yield Lesson(
        cost,
        "Split the big pieces once more, and lay two small ones a quarter of an hour apart.",
        f"Much wood at once kept the pit above its band for about {wording.minutes(cost)}.{shown}",
    )


def _rises(review: Review, wanted: Callable[[Fed], bool]) -> list[float]:
    return [one.rise for one in review.rhythm.fed if one.rise is not None and not one.disturbed and wanted(one)]


def _early(review: Review, _look: Look) -> Lessons:
    cost = _cost(review, Cause.EARLY)
    if cost > 0.0:
        yield Lesson(
            cost,
            "Let the pit begin to fall before you lay the next split.",
            f"Wood laid while the pit still stood above its target cost about {wording.minutes(cost)} above the band; a few"
            " degrees below is early enough.",
        )


def _as_told(review: Review, _look: Look) -> Lessons:
    cost = sum(one.minutes for one in review.excursions if one.causes[0].advised)
    if cost > 0.0:
        yield Lesson(
            0.5 * cost,
            "Look at the pit before you do what NEXT says, and leave it where your eye says otherwise.",
            f"What NEXT had asked for went before about {wording.minutes(cost)} outside the band: that was not your mistake.",
        )


def _humps(review: Review, look: Look) -> Lessons:
    cost, rise = _cost(review, Cause.HUMP), review.rhythm.rise
    if cost > 0.0 and rise is not None:
        yield Lesson(
            cost,
            "Try smaller splits, more often.",
            f"A usual split lifted the pit by {wording.kelvin(rise.median, look)}, and the band is only "
            f"{wording.kelvin(2.0 * review.band, look)} wide.",
        )


def _flares(review: Review, _look: Look) -> Lessons:
    cost = _cost(review, Cause.FLARE)
    if cost > 0.0:
        yield Lesson(
            cost + 20.0,
            "Trim the fat more closely, set a pan under the meat, and scrape the pit clean before you light it.",
            "The pit leapt up as burning grease makes it. Should it happen again: lid and dampers shut, and never water.",
        )


def _ash(review: Review, _look: Look) -> Lessons:
    cost = _cost(review, Cause.ASH)
    if cost > 0.0:
        yield Lesson(
            cost,
            "Rake the ash out every few hours, before the coals ask for it.",
            f"Ash that kept the air from them cost about {wording.minutes(cost)} below the band.",
        )


def _dampers(review: Review, _look: Look) -> Lessons:
    cost = _cost(review, Cause.DAMPER)
    if cost > 0.0:
        yield Lesson(
            cost,
            "Move a damper by one mark, wait ten minutes, and only then judge it.",
            f"Moves of the dampers cost about {wording.minutes(cost)} outside the band; air is felt late, and more than once.",
        )


def _doors(review: Review, _look: Look) -> Lessons:
    cost = _cost(review, Cause.DOOR)
    opened = [one for one in review.doors if one.door is DoorName.COOK]
    if cost > 0.0 and not opened:
        yield Lesson(
            cost,
            "Push the cook door until it is shut, and look at it again when you leave.",
            f"It seems to have stood ajar, which cost about {wording.minutes(cost)} below the band.",
        )
    elif cost > 0.0:
        total = sum(one.minutes for one in opened)
        yield Lesson(
            cost,
            "Open the cook door less often, with everything you need in your hands.",
            f"It was opened {wording.count(len(opened), 'time')}, for {wording.minutes(total)} in all, and that cost about "
            f"{wording.minutes(cost)} outside the band.",
        )


def _smoulder(review: Review, _look: Look) -> Lessons:
    cost = _cost(review, Cause.SMOULDER)
    if cost > 0.0:
        yield Lesson(
            cost + 10.0,
            "Warm the splits on the firebox, and give air before you lay one.",
            f"One or more did not catch well, which cost about {wording.minutes(cost)} and leaves bitter smoke on the meat.",
        )


def _unexplained(review: Review, _look: Look) -> Lessons:
    cost = _cost(review, Cause.UNKNOWN, Cause.UNLOGGED)
    if cost > 0.0:
        yield Lesson(
            0.8 * cost,
            "Write down every split, door and damper, and a word on the wind; one key each is enough.",
            f"For about {wording.minutes(cost)} outside the band the log holds no cause.",
        )


# --- how the cook went about it ------------------------------------------------------------------


def _start(review: Review, _look: Look) -> Lessons:
    after = review.holding.arrived_after_minutes
    if after is None:
        yield Lesson(
            60.0,
            "Begin with a bigger bed: dry kindling, two or three small splits, both dampers open until the flames stand.",
            "The pit never stayed in its band long enough to be held there.",
        )
    elif after > SLOW_START:
        yield Lesson(
            15.0,
            "Light earlier, or with more small dry wood and both dampers open.",
            f"It took {wording.minutes(after)} to come to the band.",
        )


def _drifting(review: Review, look: Look) -> Lessons:
    drift = review.rhythm.rise_drift
    if drift is None or not drift.is_sure:
        return
    change = wording.kelvin(abs(drift.per_hour), look)
    if drift.per_hour < 0.0:
        yield Lesson(
            14.0,
            "Rake the ash out once, half-way through the night.",
            f"The same wood lifted the pit less and less, by {change} an hour: ash, or a coal bed that shrank.",
        )
    else:
        yield Lesson(
            12.0,
            "Lay smaller splits as the night goes on.",
            f"The same wood lifted the pit more and more, by {change} an hour: the coal bed had grown.",
        )


def _beat(review: Review, look: Look) -> Lessons:
    usual = review.rhythm.interval_minutes
    if usual is not None and len(review.rhythm.fed) >= 5 and usual.high - usual.low > usual.median:
        size = "" if review.rhythm.kg is None else f" of one size, about {wording.kg(review.rhythm.kg.median, look)},"
        yield Lesson(
            9.0,
            f"Have splits{size} ready before you light, and keep a steadier beat.",
            f"The time between splits went from {wording.minutes(usual.low)} to {wording.minutes(usual.high)}; a fire that is"
            " fed evenly burns evenly.",
        )


def _advised(review: Review, _look: Look) -> Lessons:
    scores = {score.followed: score for score in review.advice.scores}
    yes, no = scores.get(Followed.YES), scores.get(Followed.NO)
    if yes is None or no is None or yes.inside is None or no.inside is None or no.count < 3:
        return
    if yes.inside - no.inside > 0.1:
        yield Lesson(
            20.0 * (yes.inside - no.inside) * min(no.count, 10),
            "Try an hour in which you do what NEXT says, when it says so.",
            f"After advice that was followed the pit was in its band for {wording.share(yes.inside)} of the next half hour, after "
            f"advice that was not, for {wording.share(no.inside)}.",
        )


def _unasked(review: Review, _look: Look) -> Lessons:
    splits = [one for one in review.advice.given if one.what is What.SPLIT]
    unasked = [one for one in splits if one.followed is Followed.UNASKED]
    if len(unasked) >= 3 and len(unasked) > len(splits) / 2:
        yield Lesson(
            8.0,
            "Before you lay a split, look when NEXT wants it.",
            f"{len(unasked)} of {len(splits)} splits went in when none was due.",
        )


def _weights(review: Review, _look: Look) -> Lessons:
    burnt = review.fuel
    if burnt.splits >= 4 and burnt.unweighed > burnt.splits / 3:
        yield Lesson(
            10.0,
            "Weigh three or four splits, and log small, medium or large.",
            f"{burnt.unweighed} of {burnt.splits} splits were logged without a size, and the forecast guesses those.",
        )


def _sleepers(review: Review, _look: Look) -> Lessons:
    seen = [one.seen_minutes for one in review.alarms if one.seen_minutes is not None]
    if seen and float(np.median(seen)) > 6.0:
        yield Lesson(
            18.0,
            "Bring the alarm nearer to your bed, or let a second one call you.",
            f"It took {wording.minutes(float(np.median(seen)))} until an alarm was acknowledged, half of the time longer.",
        )


def _probes(review: Review, _look: Look) -> Lessons:
    loose = sorted({one.alarm.rsplit("-", 1)[-1] for one in review.alarms if one.alarm.startswith("probe-")})
    if loose and any(one.worth is not Worth.VAIN for one in review.alarms):
        yield Lesson(
            11.0,
            f"Look along the wire and plug of {' and '.join(loose)} before the next fire.",
            "A probe that could not be trusted takes the watch's eyes away when they are needed.",
        )


# --- there is always a next fire -----------------------------------------------------------------


def _always(review: Review, look: Look) -> Lessons:
    if review.holding.inside >= WELL_HELD and review.holding.minutes >= LONG_HELD:
        half = max(2.0, 0.6 * review.band)
        yield Lesson(
            13.0,
            f"You held it well. Set the band to {wording.kelvin(half, look)} either side, and see how long you can keep that.",
            f"The pit was in its band for {wording.share(review.holding.inside)} of the time.",
        )
    if len(review.grates) < 2:
        yield Lesson(
            3.0, "Hang a second probe at the grate, beside the meat.", "With two, one that fails blinds nobody."
        )
    yield Lesson(
        2.0,
        "Write a note whenever the wind turns or the smoke changes.",
        "The next review can then tell it from the fire.",
    )
    yield Lesson(
        1.5, "Look at the smoke before the thermometer: thin and blue is a fire that does well.",
        "White smoke comes minutes before the pit falls.",
    )  # fmt: skip
    yield Lesson(
        1.0, "Keep the same pit, wood and sizes for the next cook, and change one thing only.",
        "`firebox review` with both numbers then shows what that one thing did.",
    )  # fmt: skip


CANDIDATES: Final[tuple[Callable[[Review, Look], Lessons], ...]] = (
    _late, _oversize, _early, _as_told, _humps, _flares, _ash, _dampers, _doors, _smoulder, _unexplained, _start, _drifting, _beat, _advised,
    _unasked, _weights, _sleepers, _probes, _always,
)  # fmt: skip
