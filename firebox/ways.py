"""What the owner tells of the ways in which people are called when there is an alarm.

Data only, as in `firebox.links`; the ways are told apart by `kind`. Without any, alarms are on the dashboard only.
"""

import re
from typing import Annotated, Final

from msgspec import Meta, Struct

from firebox.records import Name, Priority

Minutes = Annotated[float, Meta(ge=0, le=24 * 60)]
Hours = Annotated[str, Meta(min_length=1, max_length=40)]

_HOURS: Final = re.compile(r"([01]\d|2[0-3]):([0-5]\d)\s*-\s*([01]\d|2[0-3]):([0-5]\d)")

DAY: Final = 24 * 60
"""Minutes."""


class QuietHours(Struct, frozen=True):
    """A part of every day, from a minute up to another, by the machine's local time; it may go over midnight.

    Examples
    --------
    >>> night = quiet_hours("22:00-06:00")
    >>> night.hold(23 * 60), night.hold(6 * 60), night.hold(12 * 60)
    (True, False, False)
    """

    begin: int
    end: int

    def hold(self, minute: int) -> bool:
        """Tell whether a minute of the day lies within."""
        return (minute - self.begin) % DAY < (self.end - self.begin) % DAY


def quiet_hours(text: str) -> QuietHours:
    """Return the quiet hours that a text means.

    Raises
    ------
    ValueError
        It is not two times of day, or twice the same one.
    """
    found = _HOURS.fullmatch(text.strip())
    if found is None or found[1] + found[2] == found[3] + found[4]:
        raise ValueError(f'quiet: "{text[:40]}" is not two times of day; "22:00-06:00" would be right')
    return QuietHours(60 * int(found[1]) + int(found[2]), 60 * int(found[3]) + int(found[4]))


class Way(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What all ways have in common.

    Attributes
    ----------
    from_priority : Priority
        Alarms below this are not told in this way.
    after_minutes : float
        How long an alarm has to stand without anybody acknowledging it before this way is used: 0 for the cook,
        more for the next person.
    repeat_minutes : float or None
        Minutes between two calls while nobody acknowledges; None: as urgent as the alarm.
    quiet : str or None
        Hours of the day, "22:00-06:00", in which this way is used for critical alarms only. What was held back is
        told afterwards if it still stands.
    """

    from_priority: Priority = Priority.MEDIUM
    after_minutes: Minutes = 0.0
    repeat_minutes: Annotated[float, Meta(gt=0, le=24 * 60)] | None = None
    quiet: Hours | None = None

    def __post_init__(self) -> None:
        """Refuse quiet hours that are none (ValueError)."""
        if self.quiet is not None:
            quiet_hours(self.quiet)


class SoundOptions(Way, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="sound"):
    """A loudspeaker on the computer, through ALSA."""

    name: Name = "sound"
    device: Annotated[str, Meta(min_length=1, max_length=200)] | None = None
    """As ALSA calls it, e.g. "plughw:1,0"; `aplay -L` lists them. None: the system's default."""


class GpioOptions(Way, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="gpio"):
    """A sounder on a pin of the computer, behind a transistor. It only makes noise: nothing else belongs on that pin."""

    name: Name = "sounder"
    pin: Annotated[int, Meta(ge=2, le=27)]
    """By its GPIO number, not its place on the header; 0 and 1 are for the board's own memory."""
    active_high: bool = True
    """Whether the sounder sounds when the pin is high."""


class PushOptions(Way, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="push"):
    """A message service, e-mail or webhook, by an address of the Apprise library.

    The address holds a secret, so it is never here: `url_file` names a file that holds it (first line), `url_env` an
    environment variable; exactly one of them.
    """

    name: Name = "push"
    url_file: Annotated[str, Meta(min_length=1, max_length=4096)] | None = None
    url_env: Annotated[str, Meta(min_length=1, max_length=128)] | None = None

    def __post_init__(self) -> None:
        """Refuse no address, and two (ValueError)."""
        super().__post_init__()
        if (self.url_file is None) == (self.url_env is None):
            raise ValueError("an address is wanted: url_file, a file that only you can read, or url_env; one of them")


WayOptions = SoundOptions | GpioOptions | PushOptions
"""Any way to call somebody."""
