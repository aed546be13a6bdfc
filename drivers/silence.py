"""The alarm of a second device: nobody seems to watch the pit. Pure; time comes in with every call."""

from datetime import datetime
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from firebox.records import Alarm, AlarmState, Priority

ALARM: Final = "keeper-silent"

SILENT_SECONDS: Final = 30.0
"""Three heartbeats that did not come: one may be lost on the way, and a keeper restarts within ten seconds."""

OVER: Final = "The keeper of the pit is heard again."
FIRST: Final = "Look at the pit yourself; then at the power and the network of the computer that keeps it."


class Silence(Struct, frozen=True, kw_only=True):
    """What is known of the keeper's signs of life. [s]

    Attributes
    ----------
    heard : float
        When it was last heard, or since when it is listened for.
    gone : bool
        It said good-bye, or the broker says that it is gone.
    state : AlarmState
        Of this device's own alarm.
    """

    heard: float
    gone: bool = False
    state: AlarmState = AlarmState.NORMAL

    def is_silent(self, seconds: float) -> bool:
        """Tell whether nobody seems to watch."""
        return self.gone or seconds - self.heard > SILENT_SECONDS


def look(silence: Silence, seconds: float, time: datetime, why: str | None) -> tuple[Silence, Alarm | None]:
    """Return the silence after a look at the clock, and the alarm where it changed.

    Parameters
    ----------
    silence : Silence
    seconds : float
        Now. [s]
    time : datetime
        Now, for the alarm.
    why : str or None
        What else is known, e.g. that the broker cannot be reached.
    """
    live = silence.state in {AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED}
    silent = silence.is_silent(seconds)
    if silent == live:
        return silence, None
    if silent:
        state = AlarmState.UNACKNOWLEDGED
    else:
        acknowledged = silence.state is AlarmState.ACKNOWLEDGED
        state = AlarmState.NORMAL if acknowledged else AlarmState.RETURNED
    said = "The keeper has ended." if silence.gone else f"The keeper has been silent for {SILENT_SECONDS:.0f} s."
    text = f"Nobody watches the pit. {said}{f' {why}' if why else ''}"
    return replace(silence, state=state), _alarm(state, time, text if silent else OVER)


def acknowledge(silence: Silence, time: datetime) -> tuple[Silence, Alarm | None]:
    """Return the silence after the cook has acknowledged its alarm, and the alarm where that changed it."""
    after = {AlarmState.UNACKNOWLEDGED: AlarmState.ACKNOWLEDGED, AlarmState.RETURNED: AlarmState.NORMAL}
    state = after.get(silence.state)
    if state is None:
        return silence, None
    text = "Nobody watches the pit." if state is AlarmState.ACKNOWLEDGED else OVER
    return replace(silence, state=state), _alarm(state, time, text)


def _alarm(state: AlarmState, time: datetime, text: str) -> Alarm:
    live = state in {AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED}
    first = FIRST if live else "Nothing needs doing."
    return Alarm(time=time, alarm=ALARM, state=state, priority=Priority.CRITICAL, text=text, first=first)
