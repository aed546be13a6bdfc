"""Food-safety clocks: time in the growth range, killing, holding and cooling, by what the probe has read and nothing else.

No forecast and no model of the meat can move them. What they say names its source and defers to the rules of the place: a
probe shows one spot, and these clocks take it for the coldest.
"""

from typing import Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from firebox.meat import safety_tables as tables

GROWTH_CELSIUS: Final = (10.0, 54.4)
"""50-130 degF; come-up range of the FSIS cooking guideline of 2021 (from memory). Above 53.3 degC the hardiest of the usual
ones dies off (low-temperature beef holding study, abstract)."""

GROWTH_HOURS: Final = 6.0
"""More than that between the two needs support, for the toxin of Staphylococcus aureus (same, from memory)."""

LOG_TARGET: Final = 6.5
"""FSIS, beef."""

HOT_CELSIUS: Final = 57.2
"""135 degF; FDA Food Code 3-501.16: hold hot food there or above. USDA's advice to consumers is 60 degC (140 degF)."""

CONSUMER_HOT_CELSIUS: Final = 60.0

ROOM_CELSIUS: Final = 21.1
ROOM_HOURS: Final = 2.0
COLD_CELSIUS: Final = 5.0
COLD_HOURS: Final = 6.0
"""FDA Food Code 3-501.14: from 135 to 70 degF within 2 h, and to 41 degF within 6 h in all."""

OUT_HOURS: Final = 2.0
"""USDA's advice to consumers: no more than two hours between 4.4 and 60 degC (one hour in air above 32 degC)."""

DEFER: Final = "The rules of the place come first, and a calibrated thermometer in the coldest part."


class Clocks(Struct, frozen=True, kw_only=True):
    """What the clocks of one piece of meat show.

    Attributes
    ----------
    growth : float
        Time in the growth range on the way up. [s] A probe that is not trusted lets it run on.
    log : float
        Decimal reductions of Salmonella counted so far (beef table's law). [-]
    poultry_seconds : float
        Time at 73.9 degC or above. [s]
    safe_at : float or None
        When the target was reached. [s]
    below : float or None
        Since when the meat stands below hot holding, after it was safe. [s]
    room, cold : float or None
        When, since then, it passed 21.1 and 5 degC. [s]
    lowest : float or None
        The newest reading that was trusted. [degC]
    came_up : bool
        It has been above the growth range.
    unseen : bool
        The probe came out of it after it was safe: nobody saw how it cooled.
    """

    growth: float = 0.0
    log: float = 0.0
    poultry_seconds: float = 0.0
    safe_at: float | None = None
    below: float | None = None
    room: float | None = None
    cold: float | None = None
    lowest: float | None = None
    came_up: bool = False
    unseen: bool = False


class Statement(Struct, frozen=True, kw_only=True):
    """Something the clocks say: in words, by which source, and whether it cannot wait."""

    text: str
    source: str
    urgent: bool = False


def tick(clocks: Clocks, seconds: float, lasted: float, celsius: float | None, *, poultry: bool) -> Clocks:
    """Return the clocks after some time at a temperature.

    Parameters
    ----------
    clocks : Clocks
    seconds : float
        Now. [s]
    lasted : float
        Time since the last tick. [s]
    celsius : float or None
        What the probe reads; None: not trusted. Then the growth clock runs on, and nothing counts as killing. [degC]
    poultry : bool
    """
    growing = celsius is None or GROWTH_CELSIUS[0] <= celsius < GROWTH_CELSIUS[1]
    if growing and not clocks.came_up and (celsius is not None or clocks.lowest is not None):
        clocks = replace(clocks, growth=clocks.growth + lasted)
    if celsius is None:
        return clocks
    clocks = replace(
        clocks,
        lowest=celsius,
        came_up=clocks.came_up or celsius >= GROWTH_CELSIUS[1],
        log=clocks.log + lasted * tables.kill_rate(celsius),
        poultry_seconds=clocks.poultry_seconds + lasted * (celsius >= tables.POULTRY_CELSIUS),
    )
    reached = clocks.poultry_seconds >= tables.POULTRY_SECONDS if poultry else clocks.log >= LOG_TARGET
    if clocks.safe_at is None:
        return replace(clocks, safe_at=seconds) if reached else clocks
    return _cooling(clocks, seconds, celsius)


def out(clocks: Clocks, seconds: float, lasted: float, *, poultry: bool) -> Clocks:
    """Return the clocks after some time with the probe out of the meat: as `tick` has it for a probe that is not trusted.

    From then on no cooling was seen, until the meat is found hot again.
    """
    clocks = tick(clocks, seconds, lasted, None, poultry=poultry)
    return clocks if clocks.safe_at is None else replace(clocks, unseen=True, below=None, room=None, cold=None)


def _cooling(clocks: Clocks, seconds: float, celsius: float) -> Clocks:
    if celsius >= HOT_CELSIUS:
        return replace(clocks, below=None, room=None, cold=None, unseen=False)
    below = seconds if clocks.below is None else clocks.below
    room = seconds if clocks.room is None and celsius <= ROOM_CELSIUS else clocks.room
    cold = seconds if clocks.cold is None and celsius <= COLD_CELSIUS else clocks.cold
    return replace(clocks, below=below, room=room, cold=cold)


def statements(clocks: Clocks, seconds: float, *, poultry: bool, resting: bool = False) -> tuple[Statement, ...]:
    """Return what is to be said of a piece of meat, the urgent first.

    Parameters
    ----------
    clocks : Clocks
    seconds : float
        Now. [s]
    poultry : bool
    resting : bool
        It is off the grate.
    """
    said = [
        *(_raw(clocks, poultry=poultry) if resting else []),
        *_growth(clocks),
        *_killing(clocks, poultry=poultry),
        *_holding(clocks, seconds),
    ]
    return tuple(sorted(said, key=lambda one: not one.urgent))


NEAR_HOURS: Final = 1.0
"""So long before the growth clock is up it is told as urgent."""


def unsafe(clocks: Clocks, *, resting: bool = False) -> Literal["near", "long", "raw"] | None:
    """Tell whether meat is near the end of the growth clock, beyond it, or off the heat without being cooked."""
    hours = clocks.growth / 3600.0
    if hours > GROWTH_HOURS:
        return "long"
    if resting and clocks.safe_at is None:
        return "raw"
    return "near" if hours > GROWTH_HOURS - NEAR_HOURS and not clocks.came_up else None


def _raw(clocks: Clocks, *, poultry: bool) -> list[Statement]:
    """Return what is to be said of meat that is off the heat and was never hot enough for long enough."""
    if clocks.safe_at is not None:
        return []
    what, source = (
        ("73.9 C (165 F)", "FDA Food Code 3-401.11, poultry")
        if poultry
        else ("the heat and time of the table", "USDA FSIS time-temperature table for beef")
    )
    text = f"NOT COOKED: its probe has not met {what}. Put it back on the heat; do not eat or keep it so. {DEFER}"
    return [Statement(text=text, source=source, urgent=True)]


def _growth(clocks: Clocks) -> list[Statement]:
    hours = clocks.growth / 3600.0
    if hours < 0.5 or (clocks.came_up and hours <= GROWTH_HOURS):
        return []
    source = "FSIS cooking guideline 2021, come-up time"
    if hours > GROWTH_HOURS:
        text = f"{hours:.1f} h between 10 and 54 C (50-130 F) at the probe; more than {GROWTH_HOURS:g} h is too long"
        return [Statement(text=f"{text}. {DEFER}", source=source, urgent=True)]
    text = f"{hours:.1f} h of at most {GROWTH_HOURS:g} between 10 and 54 C (50-130 F) at the probe"
    return [Statement(text=text, source=source, urgent=hours > GROWTH_HOURS - NEAR_HOURS)]


def _killing(clocks: Clocks, *, poultry: bool) -> list[Statement]:
    if poultry:
        source = "FDA Food Code 3-401.11, poultry"
        if clocks.safe_at is not None:
            return [
                Statement(text=f"the probe has read 73.9 C (165 F). Probe other places too. {DEFER}", source=source)
            ]
        return [Statement(text="poultry is safe from 73.9 C (165 F) in its coldest part", source=source)]
    source = "USDA FSIS time-temperature table for beef; below 57 C (135 F) not counted"
    if clocks.safe_at is not None:
        text = f"heat and time at the probe meet the table for whole muscle. Pierced or injected meat needs more. {DEFER}"
        return [Statement(text=text, source=source)]
    if clocks.log > 0.0:
        text = f"{clocks.log:.1f} of {LOG_TARGET} decimal reductions counted at the probe{_asked(clocks.lowest)}"
        return [Statement(text=text, source=f"{source}; FDA Food Code 3-401.11(B)")]
    return []


def _asked(celsius: float | None) -> str:
    """Return what the tables ask of meat held at a temperature, in words; nothing where they have no row for it."""
    if celsius is None:
        return ""
    asked = [tables.seconds_for_beef(celsius), tables.seconds_for_roast(celsius)]
    known = [seconds for seconds in asked if seconds is not None]
    if not known:
        return ""
    return f"; at {celsius:.0f} C ({1.8 * celsius + 32.0:.0f} F) the tables ask for {max(known) / 60.0:.0f} min in all parts"


def _holding(clocks: Clocks, seconds: float) -> list[Statement]:
    if clocks.unseen:
        text = (
            "the probe has been out of the meat: how hot it is, or how fast it cooled, is not known. Put the probe back, or "
            f"serve or cool the meat within {OUT_HOURS:g} h of coming below 60 C (140 F). {DEFER}"
        )
        return [Statement(text=text, source="USDA two-hour advice")]
    if clocks.below is None:
        return []
    hours = (seconds - clocks.below) / 3600.0
    cooled = f"cool to 21 C (70 F) within {ROOM_HOURS:g} h and to 5 C (41 F) within {COLD_HOURS:g} h in all"
    source = "FDA Food Code 3-501.14 and 3-501.16"
    room = ((clocks.room or seconds) - clocks.below) / 3600.0
    cold = ((clocks.cold or seconds) - clocks.below) / 3600.0
    if room > ROOM_HOURS or cold > COLD_HOURS:
        text = f"below 57 C (135 F) since {hours:.1f} h and not cooled in time ({cooled}): do not keep it. {DEFER}"
        return [Statement(text=text, source=source, urgent=True)]
    if clocks.cold is not None:
        return [Statement(text="cooled in time; keep it at 5 C (41 F) or below", source=source)]
    limit = f"57 C (135 F), to consumers USDA says {CONSUMER_HOT_CELSIUS:.0f} C (140 F)"
    text = f"below hot holding, {limit}, since {60.0 * hours:.0f} min: serve within {OUT_HOURS:g} h, or {cooled}"
    return [Statement(text=text, source=f"{source}; USDA two-hour advice", urgent=clocks.room is None)]
