"""What the cook did to one piece of meat and wants of it: read from the cook log, by the name of its probe. Pure."""

from msgspec import Struct

from firebox.cooklog import CookLog, Deed
from firebox.meat.places import Material, Rest
from firebox.records import Feel, Hush, MeatOn, Serving, Spritz, Turn, Weigh, Wrap

Handled = MeatOn | Wrap | Spritz | Feel | Turn
"""What changes the meat, or what is thought of it."""

ROOM_CELSIUS = 20.0
OVEN_CELSIUS = 63.0
"""What a holding oven is taken to stand at where nothing is told: just above USDA's 60 degC (140 degF)."""


class Lies(Struct, frozen=True):
    """Where a piece lies: on the grate or where it rests, in air of `celsius` (None: the pit's), wrapped in what."""

    rest: Rest
    material: Material
    celsius: float | None


ON_THE_GRATE = Lies("grate", "none", None)


def is_about(entry: Handled | Weigh | Hush | Serving, name: str) -> bool:
    """Tell whether an entry is about a piece; one that names none is about all."""
    return entry.probe in (None, name)


def handled(log: CookLog, name: str, since: float, seconds: float) -> tuple[Deed, ...]:
    """Return what was done to a piece from `since` to `seconds`, in order."""
    return tuple(
        deed
        for deed in log.deeds
        if since <= deed.seconds <= seconds and isinstance(deed.entry, Handled) and is_about(deed.entry, name)
    )


def on_at(log: CookLog, name: str, seconds: float) -> float | None:
    """Return when a piece last went on; None where that was never told. [s]"""
    found = [
        deed.seconds for deed in handled(log, name, 0.0, seconds) if isinstance(deed.entry, MeatOn) and deed.entry.on
    ]
    return found[-1] if found else None


def rest_celsius(rest: str, told: float | None) -> float:
    """Return the air of a resting place: as told, or the usual one. [degC]"""
    if told is not None:
        return told
    return OVEN_CELSIUS if rest == "oven" else ROOM_CELSIUS


def lies(deeds: tuple[Deed, ...]) -> Lies:
    """Return where a piece lies after what was done to it."""
    found = ON_THE_GRATE
    for deed in deeds:
        entry = deed.entry
        if isinstance(entry, Wrap):
            found = Lies(found.rest, entry.material, found.celsius)
        elif isinstance(entry, MeatOn) and entry.on:
            found = Lies("grate", found.material, None)
        elif isinstance(entry, MeatOn):
            rest = entry.rest or "counter"
            found = Lies(rest, found.material, rest_celsius(rest, entry.celsius))
    return found


def serving(log: CookLog, name: str) -> Serving | None:
    """Return what a piece is planned for; None where that was never told."""
    found = [deed.entry for deed in log.deeds if isinstance(deed.entry, Serving) and is_about(deed.entry, name)]
    return found[-1] if found else None


def weighed(log: CookLog, name: str, when: str) -> float | None:
    """Return what a piece weighed, going "in" or coming "out"; None where it was not weighed. [kg]"""
    found = [
        deed.entry.kg
        for deed in log.deeds
        if isinstance(deed.entry, Weigh) and deed.entry.when == when and deed.entry.probe == name
    ]
    return found[-1] if found else None


def hushed(log: CookLog, name: str) -> frozenset[str]:
    """Return the kinds of care prompts that the cook wants to hear no more of."""
    quiet: set[str] = set()
    for deed in log.deeds:
        if isinstance(deed.entry, Hush) and is_about(deed.entry, name):
            quiet = quiet | {deed.entry.care} if deed.entry.on else quiet - {deed.entry.care}
    return frozenset(quiet)
