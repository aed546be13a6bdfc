"""The sounds played by ALSA's own player, on its device that takes everything and gives no sound."""

import shutil
from datetime import UTC, datetime

import pytest

from drivers.sound import SoundWay
from drivers.tones import PATTERNS
from firebox.errors import NoticeError
from firebox.records import Notice, Occasion, Priority
from firebox.ways import SoundOptions

pytestmark = [
    pytest.mark.e2e,
    pytest.mark.skipif(shutil.which("aplay") is None, reason="needs aplay: apt install alsa-utils"),
]


def notice(priority: Priority) -> Notice:
    time = datetime(2026, 5, 2, tzinfo=UTC)
    return Notice(time=time, way="sound", occasion=Occasion.RAISED, priority=priority, title="t", text="x")


@pytest.mark.parametrize("priority", PATTERNS)
async def test_it_plays_every_urgency(priority):
    await SoundWay(SoundOptions(device="null")).announce(notice(priority))


async def test_a_device_that_is_not_there_is_an_error_that_says_so():
    with pytest.raises(NoticeError, match="no-such-device"):
        await SoundWay(SoundOptions(device="no-such-device")).announce(notice(Priority.HIGH))
