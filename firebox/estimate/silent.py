"""Dampers moved, doors left ajar and wood laid on without a word: rival histories, weighed by the readings.

==================  ============================================================================================
every 20 s          the normalised surprises are added up (`Vigil`); that costs nothing
when they add up    a contest is opened: from a checkpoint some minutes ago the best belief is run again under each
                    history that could explain them, two histories at a time so that no tick waits for all
every minute        whoever is left in the contest hears the newest reading, and has its weight
`weights`           prior odds of common practice times the likelihood of the readings since
==================  ============================================================================================

Plain history and rivals begin with the same belief and are corrected by the same readings, so that what they gain on
each other is due to the deed alone.
"""

from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed
from firebox.estimate import greybox, lookahead
from firebox.estimate.deeds import controls_at
from firebox.estimate.greybox import GreyBox
from firebox.estimate.lookahead import Ahead
from firebox.estimate.model import At
from firebox.estimate.unlogged import NO_TIME, believed
from firebox.records import Damper, DamperName, Door, DoorName, Split
from firebox.setup import Setup

Array = NDArray[np.float64]

SLACK: Final = 0.4
"""What a normalised surprise may be without counting: half of a shift of 0.8 SD, which a quick test is made for."""

TRIP: Final = 5.0
"""Sum at which a contest is opened: with that slack once in some 500 steps, three hours, by chance (Siegmund's formula)."""

WILD: Final = 3.0
"""One surprise counts for no more: a spike is not a deed."""

EVERY: Final = 60.0
"""Seconds between two readings that a contest hears: neighbours are wrong together, those a minute apart hardly more."""

AT_ONCE: Final = 30
"""Readings that waiting histories hear at one step: no tick is to wait for all of them."""

SHARE: Final = 0.85
"""Share of the log likelihood that counts: readings a minute apart are wrong together to some part."""

DENIED: Final = 0.5
"""What a denial adds to the divisor of that share: where the readings have spoken for what was not, they count for less."""

UNKNOWN: Final = 2700.0
"""Seconds of a cook before anything is looked for: until a split has burned, every pit surprises."""

LASTS: Final = 1500.0
"""How long a contest goes on. [s] After 25 min a damper's move looks like the fire's own way."""

AGAINST: Final = -1.5
"""A rival that has lost so much is given up."""

AT_MOST: Final = 4
"""Rivals that are carried on once all have been tried: the heaviest, and of each question at least one."""

ANOTHER: Final = 0.2
"""A contest whose rivals weigh less than this gives way to a new one when surprises add up again."""

ASKED_FROM: Final = 0.7
"""Weight of the rivals together from which the cook is asked: two questions in three are to be right."""

TAKEN_FROM: Final = 0.95
"""Weight from which a rival is taken for what happened, after `SURE_AFTER`, until the cook says otherwise."""

SURE_AFTER: Final = 420.0
"""Seconds that a contest is to have lasted before: a dip that passes is a gust or a look."""

NO_AGAIN: Final = 1800.0
"""Seconds around a denied deed in which none of its kind is thought of again."""


class Kind(Struct, frozen=True):
    """One way in which a cook acts without a word.

    Attributes
    ----------
    about : str
        Which question it belongs to.
    warmer : bool
        Whether it makes the pit warmer than thought, or colder.
    odds : float
        Log of how likely it is within the time that one candidate stands for.
    ages : tuple of float
        How long before the trip it may have happened. [s]
    """

    about: str
    warmer: bool
    odds: float
    ages: tuple[float, ...]


SLOW: Final = (40.0, 120.0, 240.0, 480.0)
"""A big flame answers its damper within a minute, a small one within ten. [s]"""

QUICK: Final = (40.0, 90.0, 160.0)
"""An open door shows at once. [s]"""

KINDS: Final = {
    # Dampers are moved once in 40 min and one move in three is not told: one in 25 for each five minutes; half of
    # these to either side, two marks a third as common as one, and shut as seldom as that.
    "intake-down-1": Kind("intake", warmer=False, odds=-4.3, ages=SLOW),
    "intake-down-2": Kind("intake", warmer=False, odds=-5.3, ages=SLOW),
    "intake-shut": Kind("intake", warmer=False, odds=-5.8, ages=SLOW),
    "intake-up-1": Kind("intake", warmer=True, odds=-4.3, ages=SLOW),
    "intake-up-2": Kind("intake", warmer=True, odds=-5.3, ages=SLOW),
    # A look once an hour, one in three untold, within a minute; one in ten of all doors does not fall shut.
    "cook-look": Kind("look", warmer=False, odds=-5.2, ages=QUICK),
    "cook-open": Kind("cook", warmer=False, odds=-5.8, ages=QUICK),
    # A firebox is opened at each split, and is seen: it stands open afterwards once in a hundred times.
    "firebox-open": Kind("firebox", warmer=True, odds=-7.5, ages=SLOW),
    # One split in three is forgotten and one goes on every 40 min: see `unlogged`.
    "split": Kind("split", warmer=True, odds=-3.2, ages=(360.0, 660.0)),
    # A door that was told open and is shut without a word: most are.
    "door-shut": Kind("shut", warmer=True, odds=-1.5, ages=QUICK),
}
"""Common practice, by orders of magnitude; no source."""


OLDEST: Final = max(age for kind in KINDS.values() for age in kind.ages)


class Rival(Struct, frozen=True, kw_only=True):
    """A history with deeds that nobody logged.

    Attributes
    ----------
    box : GreyBox
        The belief under it.
    odds : float
        Log of its odds before the readings.
    share, gain : float
        What of the log likelihood counts that it has gained on the plain history, and that gain.
    """

    kind: str
    deeds: tuple[Deed, ...]
    box: GreyBox
    odds: float
    share: float
    gain: float = 0.0


class Contest(Struct, frozen=True, kw_only=True):
    """Rival histories since a checkpoint.

    Attributes
    ----------
    opened : float
        When the surprises added up. [s]
    warmer : bool
        To which side.
    begun : float
        When the belief was of that all begin with. [s]
    plain : GreyBox
        The belief under the log as told, and `explained` the log likelihood of the readings under it.
    base : GreyBox
        The same as it was before the next of the waiting histories parts from it, and `based` the likelihood by then.
    heard : float
        The newest reading taken in. [s]
    waiting : tuple of (str, float)
        Kinds and times that have yet to be tried.
    asking : Deed or None
        What the cook is being asked about.
    """

    opened: float
    warmer: bool
    begun: float
    plain: GreyBox
    explained: float = 0.0
    base: GreyBox
    based: float = 0.0
    heard: float
    waiting: tuple[tuple[str, float], ...]
    rivals: tuple[Rival, ...] = ()
    asking: Deed | None = None


class Vigil(Struct, frozen=True, kw_only=True):
    """The running sums of surprises to either side, and the contest that they opened."""

    warmer: float = 0.0
    colder: float = 0.0
    contest: Contest | None = None


def surprised(vigil: Vigil, box: GreyBox, value: float, variance: float) -> Vigil:
    """Return the vigil after one reading at the probe that `box` had not yet heard."""
    spread = (float(box.cov[At.PROBE, At.PROBE]) + variance) * max(1.0, box.surprise)
    surprise = float(np.clip((value - float(box.mean[At.PROBE])) / np.sqrt(spread), -WILD, WILD))
    return replace(
        vigil,
        warmer=max(0.0, vigil.warmer + surprise - SLACK),
        colder=max(0.0, vigil.colder - surprise - SLACK),
    )


def watched(  # noqa: PLR0917  all that a contest hangs on
    vigil: Vigil,
    checkpoints: tuple[GreyBox, ...],
    past: Array,
    seconds: float,
    log: CookLog,
    setup: Setup,
) -> Vigil:
    """Return the vigil with a contest opened if one is due, and carried on if one is open.

    Parameters
    ----------
    checkpoints : tuple of GreyBox
        Earlier beliefs of the one that has foreseen best, oldest first.
    past : ndarray, shape (n, 3)
        When [s], lead probe [degC], variance [K^2].
    log : CookLog
        As it is believed.
    """
    contest = vigil.contest
    if contest is not None and seconds - contest.opened > LASTS:
        contest = None
    if max(vigil.warmer, vigil.colder) > TRIP:
        warmer = vigil.warmer > vigil.colder
        if contest is None or _gives_way(contest, warmer=warmer):
            contest = _opened(checkpoints, seconds, log, setup, warmer=warmer) or contest
        vigil = replace(vigil, warmer=0.0, colder=0.0)
    if contest is None:
        return replace(vigil, contest=None)
    if seconds - contest.heard >= EVERY - 1.0 and past.size:
        contest = _heard(contest, past[past[:, 0] > contest.heard], log, setup)
    if contest.waiting:
        contest = _tried(contest, past, log, setup)
    if not contest.waiting:
        contest = _sifted(contest)
    return replace(vigil, contest=contest)


def _gives_way(contest: Contest, *, warmer: bool) -> bool:
    """Tell whether a contest is given up for a new one: at once where the surprises turn, else where it leads nowhere."""
    if contest.waiting or contest.asking is not None:
        return False
    return contest.warmer is not warmer or total(contest) < ANOTHER


def _sifted(contest: Contest) -> Contest | None:
    """Return the contest with the rivals that are worth carrying on; None where none is."""
    share = weights(contest)
    left: list[Rival] = []
    for place in np.argsort(-share, kind="stable").tolist():
        rival = contest.rivals[place]
        fresh = all(KINDS[rival.kind].about != KINDS[other.kind].about for other in left)
        if rival.gain > AGAINST and (fresh or len(left) < AT_MOST):
            left.append(rival)
    contest = replace(contest, rivals=tuple(left))
    return replace(contest, asking=_asking(contest)) if left else None


def weights(contest: Contest) -> Array:
    """Return the weight of each rival, shape (rivals,); the plain history has the rest of 1."""
    odds = np.array([rival.odds + rival.share * rival.gain for rival in contest.rivals])
    top = float(np.max(odds, initial=0.0))
    likely = np.exp(odds - top)
    share: Array = likely / (likely.sum() + np.exp(-top))
    return share


def total(contest: Contest) -> float:
    """Return the weight of all rivals together."""
    return float(weights(contest).sum())


def asking(vigil: Vigil) -> Deed | None:
    """Return what the cook is being asked about."""
    return None if vigil.contest is None else vigil.contest.asking


def taken(vigil: Vigil, seconds: float) -> tuple[Deed, ...]:
    """Return the deeds that are by now taken for what happened; none as long as that is open."""
    contest = vigil.contest
    if contest is None or contest.waiting or seconds - contest.opened < SURE_AFTER:
        return ()
    share = weights(contest)
    about = _leading(contest)
    own = [place for place, rival in enumerate(contest.rivals) if KINDS[rival.kind].about == about]
    if about is None or share[own].sum() < TAKEN_FROM:
        return ()
    return contest.rivals[max(own, key=lambda place: float(share[place]))].deeds


def after(vigil: Vigil, log: CookLog) -> Vigil:
    """Return the vigil after entries: what was told of the time of a contest ends it, a no ends the rivals it denies."""
    contest = vigil.contest
    if contest is None:
        return vigil
    left = tuple(
        rival for rival in contest.rivals if not _ruled_out(KINDS[rival.kind].about, rival.deeds[0].seconds, log)
    )
    if len(left) < len(contest.rivals):
        denied = contest.asking is not None and not any(contest.asking in rival.deeds for rival in left)
        return replace(
            vigil, contest=replace(contest, rivals=left, asking=None if denied else contest.asking) if left else None
        )
    if log.revised is not None and log.revised >= contest.begun:
        return replace(vigil, contest=None)
    return vigil


MIXED_FROM: Final = 0.1
"""A rival lighter than this moves no outlook by as much as its own width."""


def mixed(  # noqa: PLR0917  a fork of the cook
    vigil: Vigil,
    plain: Ahead,
    seconds: float,
    minutes: Array,
    log: CookLog,
    setup: Setup,
    plan: tuple[Deed, ...] = (),
) -> Ahead:
    """Return an outlook mixed with those of the rivals by their weights: what each changes is added to it."""
    contest = vigil.contest
    if contest is None or contest.waiting:
        return plain
    heavy = [(r, w) for r, w in zip(contest.rivals, weights(contest).tolist(), strict=True) if w > MIXED_FROM]
    if not heavy:
        return plain
    mean, shown = lookahead.middle(contest.plain, seconds, minutes, log, setup, plan)
    gaps, share = [np.zeros((2, minutes.size))], [1.0 - sum(weight for _, weight in heavy)]
    for rival, weight in heavy:
        there = lookahead.middle(rival.box, seconds, minutes, believed(log, rival.deeds), setup, plan)
        gaps.append(np.array(there) - np.array([mean, shown]))
        share.append(weight)
    middle = np.tensordot(np.array(share), np.array(gaps), axes=1)
    spread = np.tensordot(np.array(share), (np.array(gaps) - middle) ** 2, axes=1)[0]
    return Ahead(plain.mean + middle[0], np.sqrt(plain.spread**2 + spread), plain.shown + middle[1])


# --- a contest -----------------------------------------------------------------------------------


def _opened(
    checkpoints: tuple[GreyBox, ...], seconds: float, log: CookLog, setup: Setup, *, warmer: bool
) -> Contest | None:
    waiting = tuple(
        (name, seconds - age)
        for name, kind in KINDS.items()
        if kind.warmer is warmer
        for age in kind.ages
        if not _ruled_out(kind.about, seconds - age, log)
    )
    waiting = tuple((name, at) for name, at in waiting if deeds_of(name, at, log, setup))
    begun = [box for box in checkpoints if box.seconds <= seconds - OLDEST]
    if not waiting or not (begun or checkpoints):
        return None
    box = begun[-1] if begun else checkpoints[0]
    waiting = tuple(sorted((one for one in waiting if one[1] >= box.seconds), key=lambda one: one[1]))
    return Contest(
        opened=seconds, warmer=warmer, begun=box.seconds, plain=box, base=box, heard=box.seconds, waiting=waiting
    )


ANSWERS: Final = {
    "intake": "damper",
    "cook": "door",
    "firebox": "door",
    "look": "door",
    "split": "split",
    "shut": "door",
}
"""What a no is about that rules out a kind."""


def denials(name: str, log: CookLog) -> int:
    """Return how often the cook has denied what a kind is about: each makes it less likely."""
    return sum(denied.about == ANSWERS[KINDS[name].about] for denied in log.denied)


def _ruled_out(about: str, seconds: float, log: CookLog) -> bool:
    return any(denied.about == ANSWERS[about] and abs(denied.seconds - seconds) < NO_AGAIN for denied in log.denied)


def deeds_of(name: str, seconds: float, log: CookLog, setup: Setup) -> tuple[Deed, ...]:
    """Return the deeds of a kind at a time; none where it could not have been done."""
    now = controls_at(log, seconds, setup)
    mark = 1.0 / setup.damper_marks
    kind, _, how = name.partition("-")
    if kind == "intake":
        steps = {"down-1": -1.0, "down-2": -2.0, "up-1": 1.0, "up-2": 2.0}
        wanted = 0.0 if how == "shut" else now.intake + steps[how] * mark
        stands = round(min(1.0, max(0.0, wanted)), 4)
        if abs(stands - now.intake) < 0.6 * mark or (how != "shut" and abs(stands - wanted) > 0.4 * mark):
            return ()
        return (Deed(seconds=seconds, entry=Damper(time=NO_TIME, damper=DamperName.INTAKE, open=stands)),)
    if kind == "split":
        return (Deed(seconds=seconds, entry=Split(time=NO_TIME)),)
    if kind == "door":
        open_now = [
            door for door, wide in ((DoorName.COOK, now.cook_door), (DoorName.FIREBOX, now.firebox_door)) if wide
        ]
        return tuple(Deed(seconds=seconds, entry=Door(time=NO_TIME, door=door, open=False)) for door in open_now)
    door = DoorName(kind)
    if now.cook_door if door is DoorName.COOK else now.firebox_door:
        return ()
    opened = Deed(seconds=seconds, entry=Door(time=NO_TIME, door=door, open=True))
    shut = Deed(seconds=seconds + LOOK, entry=Door(time=NO_TIME, door=door, open=False))
    return (opened, shut) if how == "look" else (opened,)


LOOK: Final = 60.0
"""A look takes about a minute. [s]"""


def _heard(contest: Contest, rows: Array, log: CookLog, setup: Setup) -> Contest:
    rows = thinned(rows, contest.heard)
    if not rows.size:
        return contest
    plain, explained = run(contest.plain, rows, log, setup)
    rivals = []
    for rival in contest.rivals:
        box, own = run(rival.box, rows, believed(log, rival.deeds), setup)
        rivals.append(replace(rival, box=box, gain=rival.gain + own - explained))
    return replace(
        contest,
        plain=plain,
        explained=contest.explained + explained,
        rivals=tuple(rivals),
        heard=float(rows[-1, 0]),
    )


def _tried(contest: Contest, past: Array, log: CookLog, setup: Setup) -> Contest:
    """Return the contest with the next of the waiting histories run up to the present."""
    waiting, rivals, base, based = list(contest.waiting), list(contest.rivals), contest.base, contest.based
    rows = thinned(past[(past[:, 0] > base.seconds) & (past[:, 0] <= contest.heard)], base.seconds)
    left = AT_ONCE
    while waiting and left > 0:
        name, seconds = waiting.pop(0)
        before = rows[rows[:, 0] <= seconds]
        base, own = run(base, before, log, setup)
        based += own
        rows = rows[before.shape[0] :]
        deeds = deeds_of(name, seconds, log, setup)
        box, own = run(base, rows, believed(log, deeds), setup)
        no = denials(name, log)
        rivals.append(
            Rival(
                kind=name,
                deeds=deeds,
                box=box,
                odds=KINDS[name].odds - float(np.log1p(no)),
                share=SHARE / (1.0 + DENIED * no),
                gain=own - (contest.explained - based),
            )
        )
        left -= rows.shape[0]
    return replace(contest, waiting=tuple(waiting), rivals=tuple(rivals), base=base, based=based)


def thinned(rows: Array, since: float) -> Array:
    """Return about one reading a minute, the first no sooner than a minute after `since`."""
    kept: list[int] = []
    for place, when in enumerate(rows[:, 0].tolist()):
        if when - since >= EVERY - 1.0:
            kept.append(place)
            since = when
    thin: Array = rows[kept]
    return thin


def run(box: GreyBox, rows: Array, log: CookLog, setup: Setup) -> tuple[GreyBox, float]:
    """Return the belief after readings (when, value, variance), and their log likelihood under it, Student-t."""
    total = 0.0
    for when, value, variance in rows.tolist():
        box = greybox.advance(box, when, log, setup)
        spread = (float(box.cov[At.PROBE, At.PROBE]) + variance) * max(1.0, box.surprise)
        gap = value - float(box.mean[At.PROBE])
        total -= 0.5 * np.log(spread) + 0.5 * (greybox.NU + 1.0) * np.log1p(gap**2 / (greybox.NU * spread))
        box = replace(greybox.correct(box, At.PROBE, value, variance), surprise=box.surprise)
    return box, float(total)


def _leading(contest: Contest) -> str | None:
    """Return the question that the heaviest group of rivals belongs to."""
    share = weights(contest)
    groups: dict[str, float] = {}
    for rival, weight in zip(contest.rivals, share.tolist(), strict=True):
        about = KINDS[rival.kind].about
        groups[about] = groups.get(about, 0.0) + weight
    return max(groups, key=lambda about: groups[about], default=None)


ASKABLE: Final = frozenset({"intake", "cook", "firebox", "split"})
"""What is worth a question. A look that is over, or a door that was shut, changes nothing that is still to come."""


def _asking(contest: Contest) -> Deed | None:
    """Return what the cook is to be asked about; the same deed as before while it is still likely.

    He is asked once it is likely that something was done, of what there is to ask about, and about what is
    likeliest of it: a no leaves the question to the next.
    """
    about = _leading(contest)
    if about not in ASKABLE:
        return None
    share = weights(contest)
    kinds = [KINDS[rival.kind].about for rival in contest.rivals]
    likely = float(sum(weight for kind, weight in zip(kinds, share.tolist(), strict=True) if kind in ASKABLE))
    own = [place for place, kind in enumerate(kinds) if kind == about]
    before = contest.asking
    if before is not None and any(before in rival.deeds for rival in contest.rivals):
        return before if likely > 0.5 * ASKED_FROM else None
    if likely < ASKED_FROM:
        return None
    return contest.rivals[max(own, key=lambda place: float(share[place]))].deeds[0]
