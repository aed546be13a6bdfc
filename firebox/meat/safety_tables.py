"""Published time-temperature figures for meat. Facts only; the rules of the place decide.

Temperatures are the published Fahrenheit ones, since the tables are made in them.
"""

from typing import Final

from firebox.errors import RangeError

FSIS_BEEF: Final[tuple[tuple[int, int, int], ...]] = (
    (130, 6720, 7260), (131, 5340, 5820), (132, 4260, 4620), (133, 3360, 3720), (134, 2700, 2820), (135, 2160, 2220),
    (136, 1680, 1920), (137, 1380, 1440), (138, 1080, 1140), (139, 900, 900), (140, 720, 720), (141, 540, 600),
    (142, 480, 480), (143, 360, 360), (144, 300, 300), (145, 240, 240), (146, 169, 182), (147, 134, 144),
    (148, 107, 115), (149, 85, 91), (150, 67, 72), (151, 54, 58), (152, 43, 46), (153, 34, 37), (154, 27, 29),
    (155, 22, 23), (156, 17, 19), (157, 14, 15), (158, 0, 0),
)  # fmt: skip
"""degF, seconds for a 6.5-log, seconds for a 7-log reduction of Salmonella; USDA FSIS, time-temperature table for cooked
beef, roast beef and cooked corned beef (Appendix A, June 1999). From 158 degF on the reduction counts as instantaneous.
Not for poultry."""

FOOD_CODE_ROASTS: Final[tuple[tuple[int, int], ...]] = (
    (130, 6720), (131, 5340), (133, 3360), (135, 2160), (136, 1680), (138, 1080), (140, 720), (142, 480), (144, 300),
    (145, 240), (147, 134), (149, 85), (151, 54), (153, 34), (155, 22), (157, 14), (158, 0),
)  # fmt: skip
"""degF, seconds that all parts have to be held there; FDA Food Code 3-401.11(B), whole meat roasts."""

D_60_MINUTES: Final = 1.736
Z_KELVIN: Final = 5.568
"""The law log10(D) that the beef table follows: fitted to its rows but 139-145 degF, which are rounded up."""

COUNT_FROM_CELSIUS: Final = 57.0
"""Nothing below counts as killing: the table starts at 54.4, but a study of roast beef found its times too short there
(McMinn et al., Meat and Muscle Biology)."""

POULTRY_CELSIUS: Final = 73.9
"""165 degF, at once; FDA Food Code 3-401.11(A)(3) of 2017 (older editions: for 15 s, as is counted here)."""

POULTRY_SECONDS: Final = 15.0

LARGE_ROAST_KG: Final = 4.5359
"""10 lb."""


def _fahrenheit(celsius: float) -> float:
    return celsius * 1.8 + 32.0


def seconds_for_beef(celsius: float, *, log: float = 6.5) -> float | None:
    """Return how long all parts of whole beef must be held at a temperature; None where the table has none.

    Parameters
    ----------
    celsius : float
        The lowest temperature in the meat; between two rows the colder one counts. [degC]
    log : float
        Reduction of Salmonella, 6.5 or 7.

    Raises
    ------
    RangeError
        The table has no column for that reduction.

    Examples
    --------
    >>> seconds_for_beef(62.8), seconds_for_beef(50.0)
    (240.0, None)
    """
    if log not in (6.5, 7.0):
        raise RangeError(f"no column for a {log:g}-log reduction; 6.5 or 7 would be right")
    column = 1 if log == 6.5 else 2
    reached = [row for row in FSIS_BEEF if row[0] <= _fahrenheit(celsius) + 0.05]
    return float(reached[-1][column]) if reached else None


def seconds_for_roast(celsius: float) -> float | None:
    """Return how long all parts of a whole meat roast must be held at a temperature by the Food Code; None: not enough.

    Examples
    --------
    >>> seconds_for_roast(60.0)
    720.0
    """
    reached = [row for row in FOOD_CODE_ROASTS if row[0] <= _fahrenheit(celsius) + 0.05]
    return float(reached[-1][1]) if reached else None


def least_oven_celsius(kg: float, *, still_dry: bool = True) -> float:
    """Return the oven temperature that the Food Code's roast rows ask for. [degC]

    Parameters
    ----------
    kg : float
        Weight of the roast. [kg]
    still_dry : bool
        Still air; otherwise moving air (convection). Above 90 % relative humidity for an hour, 121 degC or less will do.

    Examples
    --------
    >>> round(least_oven_celsius(5.5)), round(least_oven_celsius(3.0)), round(least_oven_celsius(3.0, still_dry=False))
    (121, 177, 163)
    """
    if kg >= LARGE_ROAST_KG:
        return (250.0 - 32.0) / 1.8
    return ((350.0 if still_dry else 325.0) - 32.0) / 1.8


def kill_rate(celsius: float) -> float:
    """Return the decimal reductions of Salmonella in beef per second at a temperature. [1/s]

    A gauge: the law that the published table follows, counting nothing below 57 degC.

    Examples
    --------
    >>> round(12 * 60 * kill_rate(60.0), 2)
    6.91
    """
    if celsius < COUNT_FROM_CELSIUS:
        return 0.0
    return float(10.0 ** ((min(celsius, 90.0) - 60.0) / Z_KELVIN) / (60.0 * D_60_MINUTES))
