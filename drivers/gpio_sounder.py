"""Notices through a sounder on a pin of the computer, by the gpiozero library. It makes noise and does nothing else."""

import asyncio
from typing import Any

from drivers.tones import PATTERNS
from firebox.errors import NoticeError
from firebox.records import Notice, Occasion
from firebox.ways import GpioOptions


class GpioSounder:
    """A `firebox.ports.Announcer` that switches a sounder on and off in the rhythm of a notice's urgency.

    The pin is taken with the first notice and held, off, until `close`.

    Parameters
    ----------
    options : GpioOptions
    """

    def __init__(self, options: GpioOptions) -> None:
        self._options = options
        self._pin: Any = None  # gpiozero has no types

    @property
    def name(self) -> str:
        return self._options.name

    async def announce(self, notice: Notice) -> None:
        """Sound a notice; that an alarm is over is silence. A sounder has one loudness.

        Raises
        ------
        NoticeError
            The pin cannot be had, or the library is not there.
        """
        if notice.occasion is Occasion.OVER:
            return
        pin = self._taken()
        try:
            for pulse in PATTERNS[notice.priority].pulses:
                pin.on()
                await asyncio.sleep(pulse.on)
                pin.off()
                await asyncio.sleep(pulse.gap)
        finally:
            pin.off()

    def _taken(self) -> Any:  # as `_pin`
        if self._pin is not None:
            return self._pin
        try:
            from gpiozero import DigitalOutputDevice  # noqa: PLC0415  an extra, loaded where a sounder is used

            self._pin = DigitalOutputDevice(
                self._options.pin, active_high=self._options.active_high, initial_value=False
            )
        except ImportError as error:
            raise NoticeError('gpiozero is not installed: pip install "firebox[pi]"') from error
        except Exception as error:  # the library lets through whatever the system's pins raise
            raise NoticeError(f"GPIO {self._options.pin} cannot be used: {type(error).__name__}: {error}") from error
        return self._pin

    async def close(self) -> None:
        """Be silent and let the pin go."""
        pin, self._pin = self._pin, None
        if pin is not None:
            pin.off()
            pin.close()
