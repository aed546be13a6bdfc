"""The sounds of the alarms, as pulses and as WAV files: pure functions.

What wakes a sleeper is a low square wave, not a high whistle: 520 Hz +-10 % (NFPA 72, sleeping areas) woke 4 to 12 times
as many of those who are hard to wake (Bruck & Thomas, IAFSS). So every urgency has its pitch within those limits, and
is told from the others by rhythm: more pulses, faster, with shorter gaps as it grows more urgent (Edworthy, Loxley &
Dennis 1991, from memory). Three even pulses (ISO 8201: leave the building) and groups of four (carbon monoxide) mean
something else all over the world, and no pattern here resembles them.
"""

import io
import wave
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from firebox.records import Priority

RATE: Final = 44_100
"""Samples a second."""

HARMONICS: Final[Mapping[int, float]] = MappingProxyType({1: 1.0, 3: 1 / 3, 5: 1 / 5, 7: 0.185, 9: 1 / 9, 11: 1 / 11})
"""Number -> amplitude: a square wave up to its eleventh harmonic. The seventh is a quarter stronger (a square wave has
1/7), so that four components lie within 15 dB between 300 and 4000 Hz (IEC 60601-1-8), the fundamental counted."""

RISE: Final = 0.008
"""How long a pulse takes to come and to go, so that it does not click. [s]"""

PEAK: Final = 0.95
"""Of full scale, at loudness 1."""


class Pulse(Struct, frozen=True):
    """Sound, and silence after it. [s]"""

    on: float
    gap: float


class Pattern(Struct, frozen=True, kw_only=True):
    """How one urgency sounds."""

    hertz: float
    pulses: tuple[Pulse, ...]

    @property
    def seconds(self) -> float:
        """From the first pulse to the end of the last silence."""
        return sum(pulse.on + pulse.gap for pulse in self.pulses)


PATTERNS: Final[Mapping[Priority, Pattern]] = MappingProxyType(
    {
        Priority.LOW: Pattern(hertz=470.0, pulses=(Pulse(0.5, 0.35), Pulse(0.25, 0.1))),
        Priority.MEDIUM: Pattern(hertz=495.0, pulses=(*(Pulse(0.36, 0.10), Pulse(0.12, 0.22)) * 2, Pulse(0.36, 0.1))),
        Priority.HIGH: Pattern(hertz=520.0, pulses=tuple(Pulse(0.15, 0.16 - 0.014 * n) for n in range(9))),
        Priority.CRITICAL: Pattern(
            hertz=560.0, pulses=(*(Pulse(0.11, 0.05),) * 8, Pulse(0.45, 0.08), *(Pulse(0.11, 0.05),) * 8, Pulse(0.45, 0.08))
        ),
    }
)  # fmt: skip
"""Two, the second shorter; long and short in turn; nine that hurry; two rattles with a long blast behind each."""


def samples(pattern: Pattern, loudness: float) -> NDArray[np.float64]:
    """Return a pattern as sound pressure over time.

    Parameters
    ----------
    pattern : Pattern
    loudness : float
        Share of full amplitude. [-, 0..1]

    Returns
    -------
    ndarray, shape (n,)
        Between -1 and 1, `RATE` a second.
    """
    parts: list[NDArray[np.float64]] = []
    for pulse in pattern.pulses:
        parts += [_tone(pattern.hertz, pulse.on), np.zeros(round(pulse.gap * RATE))]
    return PEAK * min(1.0, max(0.0, loudness)) * np.concatenate(parts)


def _tone(hertz: float, seconds: float) -> NDArray[np.float64]:
    """Return one pulse, with a peak of 1."""
    count = round(seconds * RATE)
    phase = 2.0 * np.pi * hertz * np.arange(count) / RATE
    shape = np.sum([share * np.sin(number * phase) for number, share in HARMONICS.items()], axis=0)
    edge = np.minimum(1.0, np.arange(count) / (RISE * RATE))
    tone: NDArray[np.float64] = shape * edge * edge[::-1] / np.max(np.abs(shape))
    return tone


def wav(priority: Priority, loudness: float) -> bytes:
    """Return the sound of an urgency as a WAV file: one channel, 16 bits.

    Examples
    --------
    >>> wav(Priority.HIGH, 1.0)[:4]
    b'RIFF'
    """
    file = io.BytesIO()
    with wave.open(file, "wb") as sink:
        sink.setnchannels(1)
        sink.setsampwidth(2)
        sink.setframerate(RATE)
        sink.writeframes(np.round(32_767 * samples(PATTERNS[priority], loudness)).astype("<i2").tobytes())
    return file.getvalue()
