"""What a deed does to a practice fire, and when that will show: the same fire burnt on with it and without it."""

from typing import Final

from msgspec import Struct

from firebox.lessons import Figure, Lesson, LessonKind, Measure
from firebox.practice.fire import Fire
from firebox.practice.play import befall
from firebox.practice.session import perform
from firebox.records import Damper, Door, DoorName, Entry, Lit, Rake, Split

AHEAD: Final = 60.0 * 60.0
"""s for which both fires are burnt on: a split has shown all it will within that time."""

AIR_AHEAD: Final = 30.0 * 60.0
"""The same for anything else: later on it only shows that what burnt sooner is gone sooner."""

EVERY: Final = 30.0
SHOWS: Final = 2.0
"""K of difference that a cook can see on a thermometer."""

EARLY: Final = 15.0 * 60.0
"""s within which a fresh split may take more heat than it gives."""

_PLACE: Final = 0.5


class Effect(Struct, frozen=True, kw_only=True):
    """What a deed makes of the pit, as differences to what would have been. [K], seconds from the deed."""

    dip: float
    dip_at: float
    peak: float
    peak_at: float
    shows_at: float | None
    """None: it hardly shows at all."""
    crest: float = 0.0
    """How far over its present temperature the pit comes if nothing else is done."""
    crest_at: float = 0.0


def effect(fire: Fire, entry: Entry, *, split_kg: float) -> Effect:
    """Return what an entry would make of a fire, against leaving it alone; the fire itself is not touched."""
    alone, tended = fire.copy(), fire.copy()
    befall(lambda one: perform(tended, one, split_kg), tended, entry)
    opened = isinstance(entry, Split)
    if opened:  # what the open door does passes at once and is not the wood's doing
        alone.set_door(DoorName.FIREBOX, wide=True)
    here = tended.grate(_PLACE)
    differences: list[float] = []
    course: list[float] = []
    for _ in range(round((AHEAD if opened else AIR_AHEAD) / EVERY)):
        alone.run(EVERY)
        tended.run(EVERY)
        if opened:
            for one in (alone, tended):
                one.set_door(DoorName.FIREBOX, wide=fire.firebox_door)
            opened = False
        course.append(tended.grate(_PLACE) - here)
        differences.append(tended.grate(_PLACE) - alone.grate(_PLACE))
    return measured(tuple(differences), tuple(course))


def measured(differences: tuple[float, ...], course: tuple[float, ...]) -> Effect:
    """Return what differences to leaving it alone, and the course itself, one of each every `EVERY` seconds, amount to.

    Examples
    --------
    >>> found = measured((-1.0, -3.0, 0.0, 4.0, 9.0, 5.0), (-2.0, -5.0, -3.0, 0.0, 4.0, -1.0))
    >>> found.dip, found.shows_at, found.peak, found.crest, found.crest_at
    (3.0, 120.0, 9.0, 4.0, 150.0)
    """
    early = differences[: round(EARLY / EVERY)]
    low = min(early)
    top = max(differences, key=abs)
    at = differences.index(top)
    sign = 1.0 if top >= 0.0 else -1.0
    shows = next((i for i, one in enumerate(differences) if one * sign >= SHOWS), None)
    return Effect(
        dip=max(0.0, -low) if top > 0.0 else 0.0,
        dip_at=EVERY * (early.index(low) + 1),
        peak=top,
        peak_at=EVERY * (at + 1),
        shows_at=None if shows is None else EVERY * (shows + 1),
        crest=max(course),
        crest_at=EVERY * (course.index(max(course)) + 1),
    )


def lesson(
    seconds: float, entry: Entry, found: Effect, *, celsius: float, before: float | None = None, marks: int = 8
) -> Lesson | None:
    """Return an effect in words; None where there is nothing to say of such an entry.

    Parameters
    ----------
    seconds : float
        Of the round, when it was done.
    entry : Entry
    found : Effect
    celsius : float
        What the thermometer said then.
    before : float, optional
        How the damper stood.
    marks : int
        From shut to fully open on a damper.
    """
    match entry:
        case Split():
            return _split(seconds, entry, found, celsius)
        case Damper():
            return _damper(seconds, entry, found, before, marks)
        case Lit():
            text = "Lit. The kindling shows first; the steel swallows most of it. Wood from {0} on, small pieces, one by one."
            return _say(seconds, "lit", text, Figure(Measure.CLOCK, seconds + 480.0))
        case Rake():
            return _rake(seconds, found)
        case Door():
            return _door(seconds, entry)
        case _:
            return None


def _say(seconds: float, topic: str, text: str, *figures: Figure) -> Lesson:
    return Lesson(seconds=seconds, kind=LessonKind.EFFECT, topic=topic, text=text, figures=figures)


def _clock(seconds: float) -> Figure:
    return Figure(Measure.CLOCK, seconds)


def _kelvin(kelvin: float) -> Figure:
    return Figure(Measure.KELVIN, abs(kelvin))


def _split(seconds: float, split: Split, found: Effect, celsius: float) -> Lesson:
    weight = Figure(Measure.KG, split.kg or 0.0)
    if found.shows_at is None or found.peak < SHOWS:
        text = "{0} laid, but it will hardly show: it finds too little heat or air to burn. Look at coals and intake."
        return _say(seconds, "split", text, weight)
    figures = [weight, _clock(seconds + found.shows_at)]
    text = "{0} laid. It shows from {1}. "
    if found.dip >= SHOWS:
        text = "{0} laid. First it takes heat, {3} by {2}; it shows from {1}. "
        figures += [_clock(seconds + found.dip_at), _kelvin(found.dip)]
    first = len(figures)
    if found.crest < SHOWS:
        text += f"It only slows the fall: at {{{first}}} the pit has {{{first + 1}}} more than without it."
        figures += [_clock(seconds + found.peak_at), _kelvin(found.peak)]
    else:
        text += f"Left alone the hump comes at {{{first}}}, to about {{{first + 1}}}."
        figures += [_clock(seconds + found.crest_at), Figure(Measure.CELSIUS, celsius + found.crest)]
    return _say(seconds, "split", text, *figures)


def _damper(seconds: float, damper: Damper, found: Effect, before: float | None, marks: int) -> Lesson:
    name = damper.damper.capitalize()
    if before is not None and abs(damper.open - before) < 1e-3:
        return _say(seconds, "damper", f"{name} left where it was.")
    opened = before is None or damper.open > before
    word = _turned(damper.open, marks, opened=opened)
    if found.shows_at is None:
        return _say(seconds, "damper", f"{name} {word}. It will hardly show: what burns now is not short of air.")
    way = "more" if found.peak > 0.0 else "less"
    text = f"{name} {word}. It shows from {{0}}, most at {{1}}: {{2}} {way} than without it."
    if opened and found.peak < 0.0:
        text += " More air also carries more heat out at the stack: here that weighs more."
    elif not opened and found.peak > 0.0:
        text += " Less air also carries less heat out at the stack: here that weighs more."
    return _say(
        seconds,
        "damper",
        text,
        _clock(seconds + found.shows_at),
        _clock(seconds + found.peak_at),
        _kelvin(found.peak),
    )


def _turned(opening: float, marks: int, *, opened: bool) -> str:
    """Return what was done to a damper: shut is only what lets no air through."""
    if opening < 0.5 / marks:
        return "shut"
    if opening > 1.0 - 0.5 / marks:
        return "opened wide"
    return f"{'opened' if opened else 'turned down'} to {opening * marks:.0f}"


def _rake(seconds: float, found: Effect) -> Lesson:
    if found.shows_at is None:
        return _say(
            seconds, "rake", "Raked. The grate was clear enough: it will hardly show, and stirred coals burn away."
        )
    way = "more" if found.peak > 0.0 else "less"
    text = f"Raked: air gets at the coals again. It shows from {{0}}, most at {{1}}: {{2}} {way} than without it."
    return _say(
        seconds, "rake", text, _clock(seconds + found.shows_at), _clock(seconds + found.peak_at), _kelvin(found.peak)
    )


def _door(seconds: float, door: Door) -> Lesson:
    if door.door is DoorName.COOK and door.open:
        text = "Cook door open: the hot air is gone within a minute, the steel keeps its warmth. Shut it within a minute."
        return _say(seconds, "door", text)
    if door.open:
        text = "Firebox door open: the fire gets more air than the intake gives. It shows within minutes; shut it within one."
        return _say(seconds, "door", text)
    text = "Door shut. The air in the pit is back by {0}; judge nothing by the thermometer before."
    return _say(seconds, "door", text, _clock(seconds + 240.0))
