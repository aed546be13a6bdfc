"""Notices through a loudspeaker: a sound that the program makes, played by ALSA's own player."""

import asyncio
from asyncio.subprocess import DEVNULL, PIPE, Process
from typing import Final

from drivers.tones import PATTERNS, wav
from firebox.errors import NoticeError, printable
from firebox.records import Notice, Occasion
from firebox.ways import SoundOptions

PLAYER: Final = "aplay"

SPARE_SECONDS: Final = 5.0
"""How much longer than its sound the player may take: a loudspeaker that wakes up, a Pi that is busy."""


class SoundWay:
    """A `firebox.ports.Announcer` that plays the sound of a notice's urgency.

    Parameters
    ----------
    options : SoundOptions
    spare_seconds : float
        How much longer than its sound the player may take. [s]
    """

    def __init__(self, options: SoundOptions, *, spare_seconds: float = SPARE_SECONDS) -> None:
        self._options = options
        self._spare = spare_seconds

    @property
    def name(self) -> str:
        return self._options.name

    async def announce(self, notice: Notice) -> None:
        """Play a notice; that an alarm is over is silence.

        Raises
        ------
        NoticeError
            There is no player, or it did not play.
        """
        if notice.occasion is Occasion.OVER:
            return
        device = self._options.device
        command = [PLAYER, "-q", "-t", "wav", *(["-D", device] if device else []), "-"]
        try:
            player = await asyncio.create_subprocess_exec(*command, stdin=PIPE, stdout=DEVNULL, stderr=PIPE)
        except OSError as error:
            raise NoticeError(
                f"{PLAYER} cannot be run ({error.strerror}); it comes with the package alsa-utils"
            ) from error
        await self._play(player, wav(notice.priority, notice.loudness), PATTERNS[notice.priority].seconds)

    async def _play(self, player: Process, sound: bytes, seconds: float) -> None:
        try:
            async with asyncio.timeout(seconds + self._spare):
                _, told = await player.communicate(sound)
        except TimeoutError as error:
            raise NoticeError(
                f"{PLAYER} did not come to an end within {seconds + self._spare:.0f} s; is the loudspeaker there?"
            ) from error
        finally:
            if player.returncode is None:
                player.kill()
                await player.wait()
        if player.returncode != 0:
            lines = told.decode(errors="replace").strip().splitlines() or ["it did not say why"]
            raise NoticeError(printable(f"{PLAYER} ended with status {player.returncode}: {lines[0][:200]}"))

    async def close(self) -> None:
        """Nothing is held between two sounds."""
