"""What the alarms of a cook were worth: how soon before the limit was truly crossed, or raised for nothing."""

from collections.abc import Iterable, Sequence
from statistics import median
from typing import Final

from msgspec import Struct

from firebox.practice.faults import FIRE
from firebox.records import Alarm, Reading
from firebox.setup import LIMIT_KELVIN, Role, role_of
from firebox.warn.states import LIVE
from tests.benchmarks.alarm_cooks import EVERY, LID_SECONDS, START, Played

HOT: Final = frozenset({"pit-too-hot", "flare", "rising-fast", "running-away"})
COLD: Final = frozenset({"pit-too-cold", "fire-dying", "door-ajar", "split-stalled", "ash-choking", "smouldering"})

COMES_TRUE: Final = 3600.0
"""An alarm was for nothing when its limit is not crossed within this. [s]"""

LATE: Final = 300.0
"""An alarm later than this after the crossing counts as missed. [s]"""

OUTSIDE: Final = 0.03
"""A cook that stands outside its limits for more of its time is no normal one. [-]"""


class Raised(Struct, frozen=True):
    """An alarm came before the cook's eyes, or was there until `over`. [s]"""

    seconds: float
    alarm: str
    over: float


def raised(alarms: Iterable[tuple[float, Alarm]], end: float) -> list[Raised]:
    """Return every time that an alarm came to stand, with how long it did."""
    since: dict[str, float] = {}
    out: list[Raised] = []
    for seconds, alarm in alarms:
        if alarm.state in LIVE:
            since.setdefault(alarm.alarm, seconds)
        elif alarm.alarm in since:
            out.append(Raised(since.pop(alarm.alarm), alarm.alarm, seconds))
    out += [Raised(seconds, name, end) for name, seconds in since.items()]
    return sorted(out, key=lambda one: one.seconds)


class Lead(Struct, frozen=True, kw_only=True):
    """How a fault was told: minutes before the crossing and after its beginning; None: not at all."""

    name: str
    lead: float | None
    delay: float | None
    took: float
    by: str


def lead(played: Played, alarms: Sequence[Raised]) -> Lead:
    """Return how a fault was told. What stood already when it began counts from there."""
    assert played.began is not None
    rises = FIRE[played.case.fault].rises
    side = HOT if rises else COLD
    crossed = next(when for when, over in played.crossed if over is rises)
    told = [
        (max(one.seconds, played.began), one.alarm)
        for one in alarms
        if one.alarm in side and one.over > played.began and one.seconds <= crossed + LATE
    ]
    took = (crossed - played.began) / 60.0
    if not told:
        return Lead(name=played.case.name, lead=None, delay=None, took=took, by="")
    seconds, by = min(told)
    return Lead(
        name=played.case.name,
        lead=(crossed - seconds) / 60.0,
        delay=(seconds - played.began) / 60.0,
        took=took,
        by=by,
    )


def vain(played: Played, alarms: Sequence[Raised]) -> list[Raised]:
    """Return the alarms about the pit's heat whose limit was not crossed within an hour."""
    return [
        one
        for one in alarms
        if (one.alarm in HOT and not _comes(played, one.seconds, above=True))
        or (one.alarm in COLD and not _comes(played, one.seconds, above=False))
    ]


def _comes(played: Played, seconds: float, *, above: bool) -> bool:
    first, last = max(0, int((seconds - LATE) / EVERY)), int((seconds + COMES_TRUE) / EVERY)
    beyond = 0
    for celsius, since in zip(played.truth[first:last], played.shut[first:last], strict=True):
        off = celsius - played.target
        beyond += (off > LIMIT_KELVIN if above else off < -LIMIT_KELVIN) and since > LID_SECONDS
    return beyond >= 6


def is_normal(played: Played) -> bool:
    """Tell whether a cook keeps within its limits nearly all the time, lids left out."""
    up = next((n for n, celsius in enumerate(played.truth) if celsius > played.target - 8.0), len(played.truth))
    pairs = list(zip(played.truth, played.shut, strict=True))[up + 180 :]
    outside = sum(abs(celsius - played.target) > LIMIT_KELVIN and since > LID_SECONDS for celsius, since in pairs)
    return outside <= OUTSIDE * max(1, len(pairs))


# --- yardsticks ------------------------------------------------------------------------------------


def levels(played: Played) -> list[tuple[float, float]]:
    """Return (seconds, middle of the last three readings) of the leading probe."""
    last: list[float] = []
    out: list[tuple[float, float]] = []
    for record in played.records:
        if isinstance(record, Reading) and record.celsius is not None and record.probe == "grate":
            assert role_of(record.probe) is Role.GRATE
            last = [*last[-2:], record.celsius]
            if len(last) == 3:
                out.append(((record.time - START).total_seconds(), median(last)))
    return out


def fixed(played: Played, kelvin: float = 20.0, lasting: float = 60.0) -> list[Raised]:
    """Return the alarms of a limit at target +- `kelvin` that has to be passed for a minute."""
    return _held(
        played, [(t, c - played.target > kelvin, played.target - c > kelvin) for t, c in levels(played)], lasting
    )


def slope(played: Played, minutes: float = 20.0, lasting: float = 60.0) -> list[Raised]:
    """Return the alarms of a slope over five minutes drawn on for `minutes`."""
    series = levels(played)
    rows = []
    for place, (t, c) in enumerate(series):
        then = series[max(0, place - 30)]
        ahead = c - played.target + (c - then[1]) / max(1.0, (t - then[0])) * 60.0 * minutes
        rows.append((t, ahead > LIMIT_KELVIN, ahead < -LIMIT_KELVIN))
    return _held(played, rows, lasting)


def _held(played: Played, rows: list[tuple[float, bool, bool]], lasting: float) -> list[Raised]:
    up = next((n * EVERY for n, celsius in enumerate(played.truth, 1) if celsius > played.target - 8.0), 0.0)
    out: list[Raised] = []
    for name, column in (("pit-too-hot", 1), ("pit-too-cold", 2)):
        since: float | None = None
        standing: float | None = None
        for row in rows:
            if row[0] < up + 1800.0:
                continue
            holds = row[column]
            since = (row[0] if since is None else since) if holds else None
            if standing is None and since is not None and row[0] - since >= lasting:
                standing = row[0]
            if standing is not None and not holds:
                out.append(Raised(standing, name, row[0]))
                standing = None
        if standing is not None:
            out.append(Raised(standing, name, rows[-1][0]))
    return sorted(out, key=lambda one: one.seconds)
