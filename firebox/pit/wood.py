"""Wood as fuel: moisture, heating value, air demand."""

from typing import Final

LHV_DRY: Final = 18.2e6
STOICHIOMETRIC_AIR: Final = 6.0
