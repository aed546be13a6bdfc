"""A night of practice, two minutes a second, through the real keeper to a real web server: nothing lost, nothing invented."""

import os
import signal
import subprocess
import sys
import time
from collections import defaultdict
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from drivers.fakes.player import FakePlayer
from drivers.fakes.web_hook import WebHook
from firebox.journal import history
from firebox.journal.schema import open_reading
from firebox.records import Alarm, AlarmState, Notice, Occasion, Priority, Record
from firebox.wiring import DEMO_SCENE

pytest.importorskip("apprise", reason='needs apprise: pip install "firebox[test]"')
pytestmark = [pytest.mark.e2e, pytest.mark.slow, pytest.mark.timeout(240)]

ROOT = Path(__file__).parents[2]
RATE = 120
SECONDS = 75
"""Two and a half hours of the night, in which the demo's scene has its alarms."""

PIT = f"""
[[sources]]
kind = "practice"
scenario = "{DEMO_SCENE}"
[[notices.to]]
kind = "push"
name = "friend"
from_priority = "medium"
url_env = "FRIEND"
[[notices.to]]
kind = "sound"
name = "bedroom"
from_priority = "high"
repeat_minutes = 10
"""

UNDER_WAY = timedelta(seconds=6 * RATE)
"""How long a notice may be on its way, in the night's own time: six real seconds, on a machine that is busy otherwise."""


def kept(folder: Path, hook: WebHook, player: FakePlayer) -> list[Record]:
    """Return everything in the journal after some hours of a night."""
    (folder / "config").mkdir()
    (folder / "config" / "north.toml").write_text(PIT)
    process = subprocess.Popen(
        [sys.executable, "-m", "firebox", "keep", "--rate", str(RATE)],
        env={
            **os.environ,
            "FIREBOX_HOME": str(folder),
            "FRIEND": f"json://{hook.place}/t0ken",
            "PATH": player.path(),
            "PYTHONPATH": str(ROOT),
        },
    )
    time.sleep(SECONDS)
    process.send_signal(signal.SIGTERM)
    assert process.wait(30) == 0
    with closing(open_reading(folder / "state" / "north.sqlite")) as connection:
        return [record for _, record in history.records(connection, 0, ways="all")]


def spells(records: list[Record], least: Priority) -> list[tuple[str, datetime, datetime]]:
    """Return (alarm, from, to) of the times in which an alarm of at least a priority stood unacknowledged."""
    begun: dict[str, datetime] = {}
    found = []
    end = max(record.time for record in records)
    for record in records:
        if not isinstance(record, Alarm) or list(Priority).index(record.priority) < list(Priority).index(least):
            continue
        if record.state is AlarmState.UNACKNOWLEDGED:
            begun.setdefault(record.alarm, record.time)
        elif record.alarm in begun:
            found.append((record.alarm, begun.pop(record.alarm), record.time))
    return found + [(alarm, since, end) for alarm, since in begun.items()]


def test_every_alarm_of_a_night_reaches_who_is_to_hear_of_it_and_nothing_else_does(tmp_path):
    hook, player = WebHook(), FakePlayer(tmp_path / "player")
    hook.start()
    records = kept(tmp_path, hook, player)
    hook.stop()
    notices = [record for record in records if isinstance(record, Notice)]
    assert all(notice.problem is None for notice in notices)
    told = defaultdict(list)
    for notice in notices:
        for alarm in notice.alarms:
            if notice.occasion is not Occasion.OVER:
                told[notice.way, alarm].append(notice.time)
    for way, least in (("friend", Priority.MEDIUM), ("bedroom", Priority.HIGH)):
        stood = spells(records, least)
        lasting = [one for one in stood if one[2] - one[1] > UNDER_WAY]
        assert lasting, "a night without an alarm that lasts shows nothing"
        for alarm, since, _ in lasting:
            assert any(since <= at <= since + UNDER_WAY for at in told[way, alarm]), (way, alarm)
        for (by, alarm), times in told.items():
            for at in times if by == way else ():
                assert any(one == alarm and since <= at <= until + UNDER_WAY for one, since, until in stood), (
                    by,
                    alarm,
                )
    assert len(hook.posted) >= len([notice for notice in notices if notice.way == "friend"])
    assert all("practice, no real fire" in body["title"] for _, body in hook.posted)
    assert player.played
