"""What chips that measure thermocouples have in common: two temperatures, and numbers in two's complement."""

from typing import Final

from drivers.bench import failed
from drivers.lines import Heard, Sample
from firebox.records import Status
from firebox.thermo.thermocouple import RANGES, Couple

CHIP: Final = (-40.0, 125.0)
"""Where the chips are said to work (their datasheets, from memory). [degC]"""


def signed(word: int, bits: int) -> int:
    """Return a number in two's complement.

    Examples
    --------
    >>> signed(0b11111111111111, 14), signed(0x0190, 16)
    (-1, 400)
    """
    return word - (1 << bits) if word >> (bits - 1) & 1 else word


def hear_both(probe: str, celsius: float, couple: Couple, junction: str | None, junction_celsius: float) -> Heard:
    """Return a thermocouple's temperature and, where it is wanted, that of its chip.

    What no thermocouple of its letter can show has failed; so has everything of a chip that is hotter or colder than
    it works.
    """
    if _chip_problem(junction_celsius):
        return failed([name for name in (probe, junction) if name is not None], _chip_problem(junction_celsius))
    low, high = RANGES[couple]
    if not low <= celsius <= high:
        why = f"{celsius:.0f} C is outside {low:g} to {high:g} C, where type {couple} is"
        return hear_fault(probe, Status.FAILED, junction, junction_celsius, why)
    own = () if junction is None else (Sample(junction, junction_celsius),)
    return Heard((Sample(probe, celsius), *own))


def hear_fault(probe: str, status: Status, junction: str | None, junction_celsius: float, why: str = "") -> Heard:
    """Return a thermocouple with a fault, and its chip's temperature, which is mostly none the worse for it."""
    own = Heard()
    if junction is not None:
        problem = _chip_problem(junction_celsius)
        own = failed([junction], problem) if problem else Heard((Sample(junction, junction_celsius),))
    told = (f"{probe}: {why}",) if why else ()
    return Heard((Sample(probe, None, status), *own.samples), told + own.problems)


def _chip_problem(celsius: float) -> str:
    low, high = CHIP
    if low <= celsius <= high:
        return ""
    return f"the chip says it is at {celsius:.0f} C; it works from {low:g} to {high:g} C"
