"""The energy account of a practice fire: what came in, what left, what is stored."""

from msgspec import Struct


class Account(Struct):
    """Energy since the fire was laid. [J]

    Attributes
    ----------
    burnt : float
        Set free by burning volatiles, char and grease (net heat, plus what pyrolysis had taken up).
    laid : float
        Brought in as warmth with wood, meat and water.
    outside : float
        Lost through steel and insulation to air and rain.
    flue : float
        Carried off by gas through stack, leaks and doors.
    steam : float
        Taken up by water that evaporated from wood, pan and meat.
    pyrolysis : float
        Taken up by volatiles that left unburnt.
    stored_at_start : float
    """

    burnt: float = 0.0
    laid: float = 0.0
    outside: float = 0.0
    flue: float = 0.0
    steam: float = 0.0
    pyrolysis: float = 0.0
    stored_at_start: float = 0.0

    def imbalance(self, stored: float) -> float:
        """Return what the account fails to explain as a share of the heat burnt, given what is `stored` now. [-]"""
        income = self.burnt + self.laid + self.stored_at_start
        spent = self.outside + self.flue + self.steam + self.pyrolysis + stored
        return (income - spent) / self.burnt if self.burnt > 0.0 else 0.0
