"""Conditions of the watch's own eyes: probes that fail, readings that stay away, parts in trouble."""

from collections.abc import Iterator
from typing import Final

from firebox.cooklog import CookLog
from firebox.estimate.plausible import LOOSE, SWAPPED
from firebox.estimate.probes import describe
from firebox.estimate.track import ProbeTrack
from firebox.estimate.trust import become, silence_limit
from firebox.records import Health, MeatOn, Priority
from firebox.setup import Role
from firebox.warn.catalogue import NOISY, REVERSED, member
from firebox.warn.remembered import Situation
from firebox.warn.view import Finding, View

NOTHING_YET_SECONDS: Final = 120.0
"""Configured probes should have spoken by then. [s]"""

EXPLAINED_BEFORE: Final = 120.0
EXPLAINED_AFTER: Final = 30.0
"""A probe last heard so long before, or after, a source was reported away, went with it. [s]"""

CHECKING_SECONDS: Final = 1200.0
"""A probe at the grate that is being checked leaves the watch blind for so long before that is told. [s] An ice point
and a boiling point take five minutes each."""

_NO_FAULT: Final = frozenset({Health.GOOD, Health.WAITING, Health.SILENT, Health.CHECKED})
"""Silence is judged anew, by who listens."""

_DEAD: Final = frozenset({Health.OPEN, Health.SHORTED, Health.FAILED, Health.SILENT})


# --- probes --------------------------------------------------------------------------------------


def readings_stale(view: View) -> Finding | None:
    """Tell that no probe is heard at all."""
    now, since = view.now, view.course.watching_since
    heard = [track.last_heard for track in now.tracks.values() if track.last_heard is not None]
    if not heard:
        if now.setup.probes and now.seconds - since > NOTHING_YET_SECONDS:
            return Finding(text="Nothing has been heard from any probe yet.", priority=Priority.MEDIUM)
        return None
    limit = min(silence_limit(track) for track in now.tracks.values() if track.last_heard is not None)
    newest = max(heard)
    if now.seconds - max(newest, since) < limit or _explained(view, newest):
        return None
    only = next(iter(now.tracks)) if len(now.tracks) == 1 else None
    return Finding(text="Nothing is heard from any probe.", probe=only)


def blind(view: View) -> Finding | None:
    """Tell that no grate probe can be trusted, where no single fault already tells it."""
    now = view.now
    if now.lead is not None:
        return None
    grates = [track for track in now.tracks.values() if track.role is Role.GRATE]
    heard = [track.last_heard for track in grates if track.last_heard is not None]
    if all(track.last_heard is None for track in now.tracks.values()):
        return None  # that nothing is heard at all is an alarm of its own
    if heard and _explained(view, max(heard)):
        return None
    if any(view.live(member(f"probe-{_family(track)}", track.name)) for track in grates):
        return None
    if any(track.health is Health.CHECKED and now.seconds - track.since < CHECKING_SECONDS for track in grates):
        return None
    text = "No probe at the grate can be trusted." if heard else "No probe at the grate has been heard."
    return Finding(text=text, priority=None if heard or view.said.lit is not None else Priority.MEDIUM)


def probe_faults(view: View) -> Iterator[tuple[str, Finding]]:
    for name, known in view.now.tracks.items():
        track = known
        silent = _silent_to_us(view, track)
        if track.health in _NO_FAULT and not silent:
            continue
        if silent and track.health is not Health.SILENT:
            track = become(track, Health.SILENT, view.now.seconds)
        if track.role is Role.MEAT and _off_the_grate(view.now.log, name, view.now.seconds):
            continue
        text = describe(track, view.now.seconds)
        yield (
            member(f"probe-{_family(track)}", name),
            Finding(text=f"Probe {text}.", probe=name, priority=_fault_priority(view.now, track)),
        )


def _family(track: ProbeTrack) -> str:
    """Return the word under which a probe's fault stands in the catalogue."""
    if track.health is Health.IMPLAUSIBLE and SWAPPED in track.why:
        return REVERSED
    return NOISY if track.health is Health.IMPLAUSIBLE and LOOSE in track.why else str(track.health)


def _silent_to_us(view: View, track: ProbeTrack) -> bool:
    """Tell whether a probe is silent while somebody listens, and not merely gone with its source."""
    heard = track.last_heard
    if heard is None or view.now.seconds - max(heard, view.course.watching_since) < silence_limit(track):
        return False
    return not _explained(view, heard)


def _explained(view: View, last_heard: float) -> bool:
    """Tell whether a source that was reported away took a probe with it."""
    return any(
        key.startswith("source ") and since - EXPLAINED_BEFORE <= last_heard <= since + EXPLAINED_AFTER
        for key, since in view.course.troubles
    )


def _took_the_grate(view: View) -> bool:
    """Tell whether the watch is blind because a source went away."""
    heard = [track.last_heard for track in view.now.tracks.values() if track.role is Role.GRATE]
    return view.now.lead is None and any(at is not None and _explained(view, at) for at in heard)


def _fault_priority(now: Situation, track: ProbeTrack) -> Priority:
    """Return how much a probe matters: the last eye at the grate most, a probe beside the fire least."""
    if track.role is Role.GRATE:
        return Priority.HIGH if now.lead is None else Priority.MEDIUM
    return Priority.MEDIUM if track.role is Role.MEAT and track.health in _DEAD else Priority.LOW


def _off_the_grate(log: CookLog, name: str, seconds: float) -> bool:
    """Tell whether the meat on this probe was taken off, as far as logged."""
    for deed in reversed(log.deeds):
        if deed.seconds <= seconds and isinstance(deed.entry, MeatOn) and deed.entry.probe in (None, name):
            return not deed.entry.on
    return False


# --- the program's own parts ---------------------------------------------------------------------


_OF_THE_MACHINE: Final = {"disk": "disk-low", "power": "power-low", "heat": "overheating"}
"""What a trouble is about -> its alarm."""


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith('.') else '.'}"


def troubles(view: View) -> Iterator[tuple[str, Finding]]:
    for trouble in view.now.troubles:
        if trouble.what == "journal":
            yield "journal-trouble", Finding(text=f"The journal is in trouble: {trouble.text}")
        elif trouble.what == "source":
            priority = Priority.HIGH if _took_the_grate(view) else Priority.MEDIUM
            yield (
                member("source-away", trouble.name),
                Finding(text=f"The probe source {trouble.name} is away: {trouble.text}", priority=priority),
            )
        elif trouble.what in _OF_THE_MACHINE:
            yield _OF_THE_MACHINE[trouble.what], Finding(text=_sentence(trouble.text))
        elif trouble.what == "outlet":
            yield (
                member("link-lost", trouble.name),
                Finding(text=f"The link {trouble.name} is lost: {trouble.text}"),
            )
        elif trouble.what == "notice":
            yield (
                member("notice-failed", trouble.name),
                Finding(text=f"Nobody is called by {trouble.name}: {trouble.text}"),
            )
        else:
            yield (
                member("part-trouble", trouble.name),
                Finding(text=f"Trouble with the {trouble.what} ({trouble.name}): {trouble.text}"),
            )
