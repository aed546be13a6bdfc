"""What every record is, and the ranges that its values keep to."""

from datetime import datetime
from typing import Annotated

from msgspec import Meta, Struct

Instant = Annotated[datetime, Meta(tz=True)]
Fraction = Annotated[float, Meta(ge=0, le=1)]
Kg = Annotated[float, Meta(ge=0, le=100)]
Name = Annotated[str, Meta(min_length=1, max_length=64)]
Celsius = Annotated[float, Meta(ge=-273.15, le=3000)]
"""Above 3000 degC nothing that a pit holds is solid: such a number is no temperature."""


class Record(Struct, frozen=True, kw_only=True, tag_field="type"):
    """Anything that happens at an instant."""

    time: Instant
