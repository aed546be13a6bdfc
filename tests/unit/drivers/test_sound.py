"""The sounds: pitch and harmonics by their spectrum, rhythm by their envelope, and the player that plays them."""

import asyncio
import io
import itertools
import time
import wave
from datetime import UTC, datetime

import numpy as np
import pytest
from numpy.typing import NDArray

from drivers.fakes.player import FakePlayer
from drivers.sound import SoundWay
from drivers.tones import PATTERNS, RATE, wav
from firebox.errors import NoticeError
from firebox.records import Notice, Occasion, Priority
from firebox.ways import SoundOptions

ORDER = (Priority.LOW, Priority.MEDIUM, Priority.HIGH, Priority.CRITICAL)


def heard(sound: bytes) -> NDArray[np.float64]:
    """Return the samples of a WAV file, full scale 1."""
    with wave.open(io.BytesIO(sound)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767.0


def pulses(samples: NDArray[np.float64]) -> list[tuple[float, float]]:
    """Return (seconds of sound, seconds of silence after it), by the envelope over 4 ms."""
    width = round(0.004 * RATE)
    frames = samples[: len(samples) // width * width].reshape(-1, width)
    loud = np.max(np.abs(frames), axis=1) > 0.1 * np.max(np.abs(samples))
    runs = [(on, 0.004 * len(list(group))) for on, group in itertools.groupby(loud)]
    assert runs[0][0]
    lengths = [seconds for _, seconds in runs] + ([0.0] if runs[-1][0] else [])
    return list(zip(lengths[0::2], lengths[1::2], strict=True))


def levels(samples: NDArray[np.float64]) -> tuple[float, dict[int, float]]:
    """Return the fundamental in Hz and harmonic -> level in dB against it, of the longest pulse.

    A Hann window over 100 ms: lines are 4 bins of 10 Hz wide, harmonics 900 Hz apart.
    """
    on = max(pulses(samples))[0]
    begin = next(
        round(at * RATE)
        for at, length in zip(
            np.cumsum([0.0, *map(sum, pulses(samples))]), [p[0] for p in pulses(samples)], strict=False
        )
        if length == on
    )
    part = samples[begin + round(0.005 * RATE) :][: round(0.1 * RATE)]
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), 8 * len(part)))
    hertz = np.fft.rfftfreq(8 * len(part), 1 / RATE)
    low = (hertz > 100) & (hertz < 800)
    fundamental = float(hertz[low][np.argmax(spectrum[low])])
    found = {}
    for number in range(1, 8):
        near = np.abs(hertz - number * fundamental) < 30
        found[number] = 20 * np.log10(np.max(spectrum[near]) / np.max(spectrum[low]))
    return fundamental, found


@pytest.mark.parametrize("priority", ORDER)
def test_every_sound_is_a_low_square_wave(priority):
    fundamental, level = levels(heard(wav(priority, 1.0)))
    assert 468.0 <= fundamental <= 572.0  # 520 Hz +-10 %: NFPA 72, sleeping areas
    assert level[3] == pytest.approx(20 * np.log10(1 / 3), abs=1.0)  # of a square wave; 1 dB for window and edges
    assert level[5] == pytest.approx(20 * np.log10(1 / 5), abs=1.0)
    assert all(level[even] < -30.0 for even in (2, 4, 6))
    # IEC 60601-1-8: at least four components between 300 and 4000 Hz within 15 dB of the fundamental, itself one.
    within = [number for number in level if level[number] > -15.0 and 300.0 <= number * fundamental <= 4000.0]
    assert len(within) >= 4


@pytest.mark.parametrize("priority", ORDER)
def test_the_rhythm_is_that_of_the_pattern(priority):
    found = pulses(heard(wav(priority, 1.0)))
    pattern = PATTERNS[priority].pulses
    assert len(found) == len(pattern)
    for (on, gap), wanted in zip(found, pattern, strict=True):
        assert on == pytest.approx(wanted.on, abs=0.012)  # envelope frames of 4 ms, edges of 8 ms
        assert gap == pytest.approx(wanted.gap, abs=0.012)


@pytest.mark.parametrize("priority", ORDER)
def test_no_sound_can_be_taken_for_leave_the_building_or_for_carbon_monoxide(priority):
    """ISO 8201: three pulses of 0.5 s, 0.5 s apart. Carbon monoxide: groups of four pulses of 0.1 s."""
    twice = np.concatenate([heard(wav(priority, 1.0)), np.zeros(5 * RATE), heard(wav(priority, 1.0))])
    groups: list[list[float]] = [[]]
    for on, gap in pulses(twice):
        groups[-1].append(on)
        if gap > 0.3:  # both patterns part their groups by more than this
            groups.append([])
    for group in filter(None, groups):
        even = max(group) - min(group) < 0.05
        assert not (even and len(group) in {3, 4})
    assert not any(on == pytest.approx(0.5, abs=0.05) == gap for on, gap in pulses(twice))


def test_more_urgent_is_faster_denser_and_higher():
    found = [heard(wav(priority, 1.0)) for priority in ORDER]
    rates = [len(pulses(samples)) / (len(samples) / RATE) for samples in found]
    assert rates == sorted(rates)
    assert all(later > 1.2 * earlier for earlier, later in itertools.pairwise(rates))
    counts = [len(pulses(samples)) for samples in found]
    assert counts == sorted(set(counts))
    pitches = [levels(samples)[0] for samples in found]
    assert pitches == sorted(pitches)


def test_the_loudness_is_the_share_of_full_amplitude():
    full, half = (np.max(np.abs(heard(wav(Priority.HIGH, share)))) for share in (1.0, 0.5))
    assert half == pytest.approx(full / 2, rel=0.01)
    assert 0.9 < full < 1.0


@pytest.mark.parametrize("priority", ORDER)
def test_a_sound_is_short_enough_for_the_next_alarm_to_be_heard(priority):
    assert PATTERNS[priority].seconds <= 4.0


# --- the player ----------------------------------------------------------------------------------


@pytest.fixture
def player(tmp_path, monkeypatch):
    player = FakePlayer(tmp_path / "player")
    monkeypatch.setenv("PATH", player.path())
    return player


def notice(occasion: Occasion = Occasion.RAISED, priority: Priority = Priority.HIGH) -> Notice:
    return Notice(
        time=datetime(2026, 5, 2, tzinfo=UTC), way="sound", occasion=occasion, priority=priority, title="t", text="x"
    )


async def test_a_notice_is_played_on_the_device_that_is_wanted(player):
    await SoundWay(SoundOptions(device="plughw:1,0")).announce(notice())
    (played,) = player.played
    assert played.arguments == ("-q", "-t", "wav", "-D", "plughw:1,0", "-")
    assert played.sound == wav(Priority.HIGH, 1.0)
    await SoundWay(SoundOptions()).announce(notice())
    assert "-D" not in player.played[1].arguments


async def test_that_an_alarm_is_over_is_silence(player):
    await SoundWay(SoundOptions()).announce(notice(Occasion.OVER))
    assert player.played == []


async def test_a_player_that_fails_says_why(player):
    player.fail("aplay: main:831: audio open error: No such device\nmore")
    with pytest.raises(NoticeError, match=r"status 1: aplay: main:831: audio open error: No such device$"):
        await SoundWay(SoundOptions()).announce(notice())


async def test_a_player_that_hangs_is_ended(player):
    player.hang()
    began = time.monotonic()
    with pytest.raises(NoticeError, match="did not come to an end"):
        await SoundWay(SoundOptions(), spare_seconds=-1.5).announce(notice(priority=Priority.HIGH))
    assert time.monotonic() - began < 5.0


async def test_a_player_is_ended_when_the_watch_ends(player):
    player.hang()
    task = asyncio.create_task(SoundWay(SoundOptions()).announce(notice()))
    await asyncio.sleep(0.1)
    task.cancel()
    with pytest.raises(asyncio.CancelledError):
        await task


async def test_without_a_player_it_says_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(NoticeError, match="alsa-utils"):
        await SoundWay(SoundOptions()).announce(notice())
