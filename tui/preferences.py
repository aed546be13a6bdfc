"""How the cook wants to read the dashboard."""

from collections.abc import Callable
from typing import Annotated, Final, Literal

from msgspec import Meta, Struct
from msgspec.structs import replace

from firebox.units import Degrees, Mass

ThemeName = Literal["dusk", "day", "night", "contrast"]

THEMES: Final[tuple[ThemeName, ...]] = ("dusk", "day", "night", "contrast")
"""Names of the themes, in the order in which a key steps through them."""


class Preferences(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The cook's units and the look of the screen; every part but `ascii` can be changed at a key."""

    degrees: Degrees = Degrees.F
    hours: Literal[12, 24] = 24
    mass: Mass = Mass.KG
    theme: ThemeName = "dusk"
    ascii: bool = False
    """Draw with ASCII alone; the dashboard also does so by itself where the terminal's encoding knows no more."""
    history_hours: Annotated[int, Meta(ge=1, le=16)] = 2
    """How far back the chart looks at first."""


HISTORY_HOURS: Final = (1, 2, 4, 8, 16)


def _scale(preferences: Preferences) -> tuple[Preferences, str]:
    degrees = Degrees.C if preferences.degrees is Degrees.F else Degrees.F
    return replace(preferences, degrees=degrees), f"degrees {degrees}"


def _hours(preferences: Preferences) -> tuple[Preferences, str]:
    hours: Literal[12, 24] = 12 if preferences.hours == 24 else 24
    return replace(preferences, hours=hours), f"clock of {hours} hours"


def _weight(preferences: Preferences) -> tuple[Preferences, str]:
    mass = Mass.LB if preferences.mass is Mass.KG else Mass.KG
    return replace(preferences, mass=mass), f"weights in {mass}"


def _theme(preferences: Preferences) -> tuple[Preferences, str]:
    theme = THEMES[(THEMES.index(preferences.theme) + 1) % len(THEMES)]
    return replace(preferences, theme=theme), f"theme {theme}"


def _longer(preferences: Preferences) -> tuple[Preferences, str]:
    return _look_back(
        preferences, next((h for h in HISTORY_HOURS if h > preferences.history_hours), HISTORY_HOURS[-1])
    )


def _shorter(preferences: Preferences) -> tuple[Preferences, str]:
    shorter = [hours for hours in HISTORY_HOURS if hours < preferences.history_hours]
    return _look_back(preferences, shorter[-1] if shorter else HISTORY_HOURS[0])


def _look_back(preferences: Preferences, hours: int) -> tuple[Preferences, str]:
    return replace(preferences, history_hours=hours), f"the chart looks {hours} h back"


LOOKS: Final[dict[str, Callable[[Preferences], tuple[Preferences, str]]]] = {
    "degrees": _scale,
    "hours": _hours,
    "mass": _weight,
    "theme": _theme,
    "longer": _longer,
    "shorter": _shorter,
}
"""Word in a key's action -> the preferences after it, and the words that answer it."""
