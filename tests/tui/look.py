"""Shows the dashboard over the invented cook, running on: `python tests/tui/look.py --rate 20 --theme night`."""

import argparse
import sys
import time
from collections.abc import Sequence
from datetime import UTC
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from firebox.ports import Kind
from firebox.records import AlarmState, Priority, Record
from tests.tui.canned import CannedLink, alarm, answers, history, instant, readings
from tui.app import Dashboard
from tui.preferences import Preferences


class RunningLink(CannedLink):
    """Goes on with the cook at `rate`; an alarm comes after `alarm_after` real seconds."""

    def __init__(self, begin: float, *, kind: Kind, rate: float, alarm_after: float, every: float) -> None:
        super().__init__(history(begin), kind=kind, rate=rate)
        self._begin, self._at, self._start = begin, begin, time.monotonic()
        self._alarm_after, self._alarmed, self._every = alarm_after, False, every

    def news(self) -> Sequence[Record]:
        real = time.monotonic() - self._start
        seconds = self._begin + real * self.rate
        if seconds - self._at >= self._every * self.rate:
            self._at = seconds
            self.tell(*readings(seconds), *answers(seconds))
        if real > self._alarm_after and not self._alarmed:
            self._alarmed = True
            self.tell(alarm(seconds=seconds), alarm("probe-silent-firebox", seconds=seconds, priority=Priority.LOW,
                            state=AlarmState.UNACKNOWLEDGED, text="The probe firebox is silent."))  # fmt: skip
        return super().news()


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--rate", type=float, default=1.0)
    parser.add_argument("--kind", default="live", choices=[kind.value for kind in Kind])
    parser.add_argument("--theme", default="dusk")
    parser.add_argument("--ascii", action="store_true")
    parser.add_argument("--begin", type=float, default=4.6 * 3600.0)
    parser.add_argument("--alarm-after", type=float, default=1e9)
    told = parser.parse_args()
    link = RunningLink(told.begin, kind=Kind(told.kind), rate=told.rate, alarm_after=told.alarm_after, every=1.0)
    preferences = Preferences(theme=told.theme, ascii=told.ascii)
    wall = None if told.kind != "live" else lambda: link_time(link)
    Dashboard(
        link, preferences, zone=UTC, revive=lambda: setattr(link, "alive", True), **({"wall": wall} if wall else {})
    ).run()


def link_time(link: RunningLink):
    return instant(link._at)


if __name__ == "__main__":
    main()
