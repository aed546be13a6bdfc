"""How the cook wants to read the dashboard."""

from typing import Annotated, Final, Literal

from msgspec import Meta, Struct

from firebox.units import Degrees, Mass

THEMES: Final = ("dusk", "day", "night", "contrast")
"""Names of the themes, in the order in which a key steps through them."""


class Preferences(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The cook's units and the look of the screen; every part but `ascii` can be changed at a key."""

    degrees: Degrees = Degrees.F
    hours: Literal[12, 24] = 24
    mass: Mass = Mass.KG
    theme: Literal["dusk", "day", "night", "contrast"] = "dusk"
    ascii: bool = False
    """Draw with ASCII alone; the dashboard also does so by itself where the terminal's encoding knows no more."""
    history_hours: Annotated[int, Meta(ge=1, le=16)] = 2
    """How far back the chart looks at first."""
