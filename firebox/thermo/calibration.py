"""Offset and gain of a probe from an ice bath and boiling water, with what is not known about them.

A correction is `true = gain * shown + offset`. It is made between 0 and 100 degC and not stretched far: beyond
`RANGE` it stays what it is at the edge. A deviation larger than wire and amplifier may have is a fault and refused.
"""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from msgspec import Struct

from firebox.errors import RangeError
from firebox.thermo import boiling

RANGE: Final = (-20.0, 150.0)
"""Where a correction made between ice and steam is worked out anew for each temperature. [degC]"""

ABSURD_KELVIN: Final = 5.0
"""A larger deviation is a fault. [K]; the sum of 2.5 K of a type K of class 2 (IEC 60584-1:2013) and some 2 K of a cold
junction, rounded up."""

A_FAULT: Final = (
    "a fault and no matter for a correction: swapped or wrong wires, another type than is set, a wet plug, or the tip not "
    "in the bath"
)
"""What a deviation of more is, and what to look for."""

ABSURD_GAIN: Final = 0.03
"""A gain further from 1 is a fault. [-]; four times the 0.75 % of a type K of class 2 (IEC 60584-1:2013)."""

APART_KELVIN: Final = 50.0
"""Two checks less far apart say nothing of a gain. [K]; common sense."""

SLOPE_UNCERTAINTY: Final = 0.0075 / math.sqrt(3.0)
"""What is not known of the gain after one check alone. [-]; the 0.75 % of a type K of class 2, taken as evenly spread
(JCGM 100:2008, 4.3.7)."""

ICE_UNCERTAINTY: Final = 0.3 / math.sqrt(3.0)
"""Of a slush made in a kitchen. [K]; within 0.1 to 0.3 K, from memory, the larger taken as evenly spread."""

BOIL_UNCERTAINTY: Final = 0.3 / math.sqrt(3.0)
"""Of a tip in a rolling boil, some centimetres deep. [K]; judged as good as the slush, no source."""

PRESSURE_UNCERTAINTY: Final = 200.0
"""Of a barometer in the house. [Pa]; common practice."""

WEATHER_PASCAL: Final = 2000.0 / math.sqrt(3.0)
"""By how much the weather moves the pressure off that of the altitude. [Pa]; 20 hPa either way, taken as evenly
spread."""

DUE: Final = timedelta(days=180)
"""After which a check is to be repeated: twice a year, as between two seasons; common practice."""


class Reference(Struct, frozen=True, kw_only=True):
    """A temperature that is known, with its standard uncertainty."""

    celsius: float
    uncertainty: float
    """[K]"""


ICE: Final = Reference(celsius=0.0, uncertainty=ICE_UNCERTAINTY)
"""Melting ice."""


def boiling_by_pressure(pascal: float) -> Reference:
    """Return the boiling point at a pressure that was measured where the pot stands.

    Raises
    ------
    RangeError
        There is no such air pressure where somebody cooks.

    Examples
    --------
    >>> round(boiling_by_pressure(95_000.0).celsius, 3), round(boiling_by_pressure(95_000.0).uncertainty, 2)
    (98.178, 0.18)
    """
    return _boiling(pascal, PRESSURE_UNCERTAINTY)


def boiling_by_altitude(metres: float) -> Reference:
    """Return the boiling point on an average day at an altitude.

    Raises
    ------
    RangeError
        Nobody cooks there.

    Examples
    --------
    >>> round(boiling_by_altitude(1000.0).celsius, 2), round(boiling_by_altitude(1000.0).uncertainty, 2)
    (96.65, 0.37)
    """
    return _boiling(boiling.standard_pascal(metres), WEATHER_PASCAL)


def _boiling(pascal: float, uncertain_pascal: float) -> Reference:
    uncertainty = math.hypot(BOIL_UNCERTAINTY, boiling.KELVIN_A_PASCAL * uncertain_pascal)
    return Reference(celsius=boiling.celsius(pascal), uncertainty=uncertainty)


# --- reading -------------------------------------------------------------------------------------

STEADY_SECONDS: Final = 60.0
"""Over which a probe has to stand still; longer than the lag of any probe that fits in a cup."""

STEADY_SAMPLES: Final = 12
"""Fewest samples in that time: one every five seconds."""

STEADY_KELVIN: Final = 0.15
"""By which the second half of that time may differ from the first. [K]"""

STEADY_NOISE: Final = 0.5
"""Standard deviation above which a probe is too restless to be checked. [K]; twice the step of the coarsest chip."""

STEP_UNCERTAINTY: Final = 0.25 / math.sqrt(12.0)
"""Of a reading in steps of a quarter degree, those of the coarsest chip. [K]"""


def steady(samples: Sequence[tuple[float, float]]) -> Reference | None:
    """Return what a probe shows once it stands still; None while it does not.

    Parameters
    ----------
    samples : sequence of (seconds, celsius)
        In order; only the last `STEADY_SECONDS` count.

    Examples
    --------
    >>> round(steady([(float(second), 0.8) for second in range(61)]).celsius, 3)
    0.8
    >>> steady([(float(second), 20.0 - second / 10) for second in range(61)]) is None
    True
    """
    if not samples or samples[-1][0] - samples[0][0] < STEADY_SECONDS:
        return None
    end = samples[-1][0]
    late = [celsius for seconds, celsius in samples if end - STEADY_SECONDS / 2 < seconds]
    early = [c for seconds, c in samples if end - STEADY_SECONDS <= seconds <= end - STEADY_SECONDS / 2]
    both = early + late
    if min(len(early), len(late)) < STEADY_SAMPLES / 2:
        return None
    mean = math.fsum(both) / len(both)
    noise = math.sqrt(math.fsum((celsius - mean) ** 2 for celsius in both) / (len(both) - 1))
    if abs(math.fsum(late) / len(late) - math.fsum(early) / len(early)) > STEADY_KELVIN or noise > STEADY_NOISE:
        return None
    return Reference(celsius=mean, uncertainty=math.hypot(STEP_UNCERTAINTY, noise / math.sqrt(STEADY_SAMPLES)))


# --- correcting ----------------------------------------------------------------------------------


class Check(Struct, frozen=True, kw_only=True):
    """What a probe showed at a temperature that is known."""

    known: Reference
    shown: Reference

    @property
    def deviation(self) -> float:
        """By how much the probe shows too much. [K]"""
        return self.shown.celsius - self.known.celsius

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty of the deviation. [K]"""
        return math.hypot(self.known.uncertainty, self.shown.uncertainty)


class Correction(Struct, frozen=True, kw_only=True):
    """What makes the truth of what a probe shows, and the one or two checks it was made from, coldest first."""

    gain: float
    offset: float
    """[K]"""
    checks: tuple[Check, ...]

    def correct(self, shown: float) -> float:
        """Return the temperature behind what the probe shows. [degC]

        Examples
        --------
        >>> ice = Check(known=ICE, shown=Reference(celsius=0.8, uncertainty=0.1))
        >>> boil = Check(known=boiling_by_pressure(95_000.0), shown=Reference(celsius=98.9, uncertainty=0.1))
        >>> round(correction(ice, boil).correct(121.0), 3)
        120.296
        """
        low, high = RANGE
        edge = min(max(shown, low), high)
        return shown + self.gain * edge + self.offset - edge

    def uncertainty(self, celsius: float) -> float:
        """Return the standard uncertainty of a corrected temperature. [K]

        Notes
        -----
        Of two checks at t0 and t1 it is u0 (1 - s) and u1 s with s = (t - t0) / (t1 - t0), added as squares; of one
        check alone its own, and `SLOPE_UNCERTAINTY` for each kelvin away from it (JCGM 100:2008, 5.1.2). What the probe
        does beyond, it does to both.
        """
        first = self.checks[0]
        away = celsius - first.known.celsius
        if len(self.checks) == 1:
            return math.hypot(first.uncertainty, SLOPE_UNCERTAINTY * away)
        second = self.checks[1]
        part = away / (second.known.celsius - first.known.celsius)
        return math.hypot(first.uncertainty * (1.0 - part), second.uncertainty * part)


def correction(*checks: Check) -> Correction:
    """Return the correction that one or two checks give.

    Parameters
    ----------
    checks : Check
        One gives an offset, two an offset and a gain.

    Raises
    ------
    RangeError
        No check or more than two; two that are too near each other; or a deviation that is a fault and no matter for a
        correction. The message says what to look for.
    """
    if not 1 <= len(checks) <= 2:
        raise RangeError(f"{len(checks)} checks; one or two make a correction")
    ordered = tuple(sorted(checks, key=lambda check: check.known.celsius))
    for check in ordered:
        _refuse_fault(check)
    first = ordered[0]
    if len(ordered) == 1:
        return Correction(gain=1.0, offset=-first.deviation, checks=ordered)
    second = ordered[1]
    apart = second.known.celsius - first.known.celsius
    if apart < APART_KELVIN:
        raise RangeError(f"the two checks are {apart:.0f} K apart; at least {APART_KELVIN:.0f} K tell of a gain")
    gain = apart / (second.shown.celsius - first.shown.celsius)
    if abs(gain - 1.0) > ABSURD_GAIN:
        raise RangeError(
            f"between the two checks the probe moves by {100 / gain:.1f} % of what it should, which is a fault and no "
            "matter for a correction; look whether its type is set right and which wire leads to it"
        )
    return Correction(gain=gain, offset=first.known.celsius - gain * first.shown.celsius, checks=ordered)


def _refuse_fault(check: Check) -> None:
    if not abs(check.deviation) <= ABSURD_KELVIN:
        raise RangeError(
            f"at {check.known.celsius:.1f} C the probe shows {check.shown.celsius:.1f} C, {abs(check.deviation):.1f} K "
            f"off; more than {ABSURD_KELVIN:.0f} K is {A_FAULT}"
        )


def is_due(checked: datetime, now: datetime) -> bool:
    """Tell whether a check is old enough to be repeated.

    Examples
    --------
    >>> from datetime import UTC
    >>> is_due(datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 6, 1, tzinfo=UTC))
    False
    """
    return now - checked >= DUE
