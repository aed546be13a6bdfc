"""Which conditions hold: pure predicates on the situation, each with its reason, gathered in one look.

Every predicate returns a `Finding` while its condition holds and None while it does not. The limits themselves depend
on no model; what is foretold does, and has a rule without a model behind it.

============  =============================================================
module        conditions of
============  =============================================================
`hot`         the pit's heat: too hot, flaring, rising fast, running away
`cold`        the pit's cold: too cold, dying, ajar, stalled, choked
`meat`        the meat
`faults`      probes, sources, links, and the machine
this one      doors as logged, and the watch itself
============  =============================================================
"""

from collections.abc import Callable
from typing import Final

from firebox.warn.catalogue import Hush
from firebox.warn.cold import ash_choking, door_ajar, fire_dying, pit_too_cold, smouldering, split_stalled
from firebox.warn.faults import blind, probe_faults, readings_stale, troubles
from firebox.warn.hot import flare, pit_too_hot, rising_fast, running_away
from firebox.warn.meat import eased, meat_findings
from firebox.warn.said import Said
from firebox.warn.sleep import wake_up
from firebox.warn.view import Finding, View

DOOR_SECONDS: Final = 240.0
"""A door open for longer than this was forgotten. [s]"""

DOOR_EXCUSE_SECONDS: Final = 900.0
DOOR_RECOVERY_SECONDS: Final = 300.0
"""An open door excuses a cold pit for a quarter of an hour, a closed one for five minutes: the air is back at the
temperature of the steel by then. [s]"""

RESUMED_GAP: Final = 60.0
RESUMED_SECONDS: Final = 600.0
"""A gap longer than a minute is told, for ten minutes. [s]"""

CLOCK_SECONDS: Final = 60.0
CLOCK_TOLD_SECONDS: Final = 600.0
"""A clock that was set by more than a minute is told, for ten minutes. [s]"""


def survey(view: View) -> dict[str, Finding]:
    """Return every condition that holds: alarm id -> finding."""
    found = dict(probe_faults(view))
    found.update(troubles(view))
    found.update(meat_findings(view))
    for alarm, condition in _SINGLE.items():
        finding = condition(view)
        if finding is not None:
            found[alarm] = finding
    return eased(view, found)


def hushes(view: View) -> frozenset[Hush]:
    """Return the reasons for suppression by design that hold now."""
    reasons = []
    if view.said.let_out:
        reasons.append(Hush.LET_OUT)
    if not view.course.up:
        reasons.append(Hush.NOT_UP)
    if view.course.coming_down:
        reasons.append(Hush.NEW_TARGET)
    if door_excuses(view.said, view.now.seconds):
        reasons.append(Hush.DOOR)
    return frozenset(reasons)


def door_excuses(said: Said, seconds: float) -> bool:
    """Tell whether a door explains a cold pit: open, but not for ever, or closed a few minutes ago."""
    for door in said.doors:
        if door.open_since is not None and seconds - door.open_since < DOOR_EXCUSE_SECONDS:
            return True
        if (
            door.open_since is None
            and door.closed_at is not None
            and seconds - door.closed_at < DOOR_RECOVERY_SECONDS
        ):
            return True
    return False


# --- doors and the watch -------------------------------------------------------------------------


def door_left_open(view: View) -> Finding | None:
    """Tell of a door that was opened and, as far as logged, forgotten."""
    words = [
        f"the {door.door} door"
        for door in view.said.doors
        if door.open_since is not None and view.now.seconds - door.open_since > DOOR_SECONDS
    ]
    if not words:
        return None
    verb = "have" if len(words) > 1 else "has"
    return Finding(text=f"{' and '.join(words)} {verb} been open for over four minutes.".capitalize())


def watch_resumed(view: View) -> Finding | None:
    """Tell that nobody watched for a while."""
    at, resumed = view.course.resumed_at, view.now.resumed
    if at is None or resumed is None or resumed.gap_seconds <= RESUMED_GAP:
        return None
    if view.now.seconds - at > RESUMED_SECONDS:
        return None
    minutes = max(1, round(resumed.gap_seconds / 60.0))
    return Finding(text=f"The watch was interrupted; nobody watched for about {minutes} min.")


def clock_jumped(view: View) -> Finding | None:
    """Tell that the clock of the machine was set."""
    clock, at = view.now.clock, view.course.clock_at
    if clock is None or at is None or view.now.seconds - at > CLOCK_TOLD_SECONDS:
        return None
    shift = (clock.to - clock.time).total_seconds()
    if abs(shift) <= CLOCK_SECONDS:
        return None
    way = "forward" if shift > 0.0 else "back"
    return Finding(text=f"The clock of the computer was set {way} by {_lasting(abs(shift))}.")


def _lasting(seconds: float) -> str:
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 120 else f"{seconds / 3600.0:.0f} h"


_SINGLE: Final[dict[str, Callable[[View], Finding | None]]] = {
    "readings-stale": readings_stale,
    "blind": blind,
    "pit-too-hot": pit_too_hot,
    "flare": flare,
    "rising-fast": rising_fast,
    "running-away": running_away,
    "pit-too-cold": pit_too_cold,
    "door-ajar": door_ajar,
    "split-stalled": split_stalled,
    "ash-choking": ash_choking,
    "fire-dying": fire_dying,
    "smouldering": smouldering,
    "door-left-open": door_left_open,
    "wake-up": wake_up,
    "watch-resumed": watch_resumed,
    "clock-jumped": clock_jumped,
}
