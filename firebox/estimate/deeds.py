"""What the cook's doings mean to the grey box: wood in, dampers and doors moved."""

from typing import Final

import numpy as np
from msgspec import Struct

from firebox.cooklog import CookLog, Deed
from firebox.estimate.model import SIZE, At, Controls, Pit
from firebox.records import Damper, DamperName, Door, DoorName, Entry, Lit, Rake, Split
from firebox.setup import Setup

FUEL: Final = [At.FRESH, At.WARM, At.FLAMING, At.COAL]

FORGOTTEN: Final = 600.0
"""A door that was left open longer than this without a word was shut and not logged. [s] Common practice: a look or a
spritz takes one or two minutes."""

SOON: Final = 60.0
"""A door that stands open is taken to be shut within a minute. [s]"""

WEIGHED: Final = 0.15
"""Relative SD of a split's logged weight: a cook tells sizes, seldom kilograms."""

GUESSED: Final = 0.4
"""Relative SD of a split of which no weight was told."""


class Deeds(Struct, frozen=True):
    """Shift of the mean and added doubt (SD), each of shape (SIZE,), and whether the gas starts afresh."""

    shift: np.ndarray
    doubt: np.ndarray
    forget: bool = False


def done(entry: Entry, pit: Pit, setup: Setup) -> Deeds:
    """Return what one deed changes in the belief."""
    shift, doubt = np.zeros(SIZE), np.zeros(SIZE)
    match entry:
        case Split():
            kg = dry_kg(entry, pit, setup)
            shift[At.FRESH] = kg
            doubt[At.FRESH] = kg * (WEIGHED if entry.kg else GUESSED)
        case Lit():
            kg = entry.kg / (1.0 + setup.wood.moisture) if entry.kg else 2.0 * pit.usual_kg
            # Kindling flames within a minute or two, the rest has yet to catch. Many light on glowing charcoal that is
            # counted with the wood or is not: coals are a seventh of it, give or take as much.
            for row, share in ((At.FRESH, 0.45), (At.FLAMING, 0.35), (At.COAL, 0.15)):
                shift[row] = share * kg
                doubt[row] = share * kg * (0.3 if entry.kg else 0.6) * (2.5 if row is At.COAL else 1.0)
        case Rake() | Damper():
            doubt[At.VIGOUR] = 0.1
        case Door():
            return Deeds(shift, doubt, forget=True)
        case _:
            pass
    return Deeds(shift, doubt)


def dry_kg(split: Split, pit: Pit, setup: Setup) -> float:
    """Return a split's dry mass; one of unknown weight is a usual one. [kg]"""
    if not split.kg:
        return pit.usual_kg
    moisture = setup.wood.moisture if split.moisture is None else split.moisture
    return split.kg / (1.0 + moisture)


def controls_at(log: CookLog, seconds: float, setup: Setup) -> Controls:
    """Return how dampers and doors stand as far as told; dampers never told are taken as intake half, stack full."""
    intake, stack = setup.intake_open, setup.stack_open
    opened = dict.fromkeys(DoorName, -1e9)
    since = 1e9
    for deed in log.deeds:
        if deed.seconds > seconds:
            break
        entry = deed.entry
        if isinstance(entry, Split):
            since = seconds - deed.seconds
        elif isinstance(entry, Door):
            opened[entry.door] = deed.seconds if entry.open else -1e9
        elif isinstance(entry, Damper) and entry.damper is DamperName.INTAKE:
            intake = entry.open
        elif isinstance(entry, Damper):
            stack = entry.open
    return Controls(
        0.5 if intake is None else intake,
        1.0 if stack is None else stack,
        seconds - opened[DoorName.COOK] < FORGOTTEN,
        seconds - opened[DoorName.FIREBOX] < FORGOTTEN,
        since,
    )


def later(controls: Controls, deed: Deed, *, dt: float) -> Controls:
    """Return the controls `dt` seconds after a planned deed."""
    intake, stack, since = controls.intake, controls.stack, controls.since + dt
    cook, box = controls.cook_door, controls.firebox_door
    entry = deed.entry
    if isinstance(entry, Split):
        since = dt
    elif isinstance(entry, Damper) and entry.damper is DamperName.INTAKE:
        intake = entry.open
    elif isinstance(entry, Damper):
        stack = entry.open
    elif isinstance(entry, Door) and entry.door is DoorName.COOK:
        cook = entry.open
    elif isinstance(entry, Door):
        box = entry.open
    return Controls(intake, stack, cook, box, since)
