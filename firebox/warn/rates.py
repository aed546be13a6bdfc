"""How many alarms a cook was given, and how many that should be: the figures of EEMUA 191 and ISA-18.2.

The published figures are for an operator who does nothing else, and are averages over a month. A cook who sleeps beside
the pit bears far fewer; `A_NIGHT` is the project's own aim. Both are told, so that nobody takes the one for the other.

Sources
-------
EEMUA 191, "Alarm systems: a guide to design, management and procurement": one alarm in ten minutes is acceptable on
average, ten in ten minutes are a flood, priorities about 80 / 15 / 5 % (verified in two copies of its table); two in
ten minutes manageable, a flood ends under five, in under 1 % of the time, stale after 24 h, no more than five of them
(from memory). ANSI/ISA-18.2: six alarms an hour acceptable, twelve the most that can be managed (verified); chattering
is three times or more within a minute (verified).
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from statistics import median
from typing import Final

from msgspec import Struct

from firebox.records import Alarm, AlarmState, Priority
from firebox.warn.states import LIVE

ACCEPTABLE_PER_HOUR: Final = 6.0
MANAGEABLE_PER_HOUR: Final = 12.0
PERIOD: Final = timedelta(minutes=10)
FLOOD: Final = 10
FLOOD_ENDS: Final = 5
FLOOD_SHARE: Final = 0.01
CHATTERING: Final = 3
CHATTERING_WITHIN: Final = timedelta(minutes=1)
STALE: Final = timedelta(hours=24)
MOST_STALE: Final = 5
SPREAD: Final = {Priority.LOW: 0.80, Priority.MEDIUM: 0.15, Priority.HIGH: 0.05}
"""Shares of the priorities, high together with critical."""

A_NIGHT: Final = 1.0
"""Alarms in twelve hours of a cook that goes well: the project's own aim, no source."""


class Stood(Struct, frozen=True, kw_only=True):
    """One alarm over a cook.

    Attributes
    ----------
    times : int
        How often it was raised.
    minutes : float
        How long it stood, in all. [min]
    longest : float
        How long it stood at a stretch. [min]
    answered : float or None
        Median time until it was acknowledged [min]; None: it never was.
    chattered : bool
        It came three times or more within a minute.
    """

    alarm: str
    priority: Priority
    times: int
    minutes: float
    longest: float
    answered: float | None
    chattered: bool


class Rates(Struct, frozen=True, kw_only=True):
    """The alarms of a cook in numbers.

    Attributes
    ----------
    hours : float
        How long the cook was watched. [h]
    raised : int
        How often an alarm was raised; an alarm that only got other words or a higher priority is not raised anew.
    busiest : int
        Most within ten minutes.
    busiest_at : datetime or None
        When these ten minutes began.
    flood_minutes : float
        Time in floods: from ten in ten minutes until fewer than five. [min]
    standing : float
        How many stood at once, on average over the time.
    most_standing : int
    put_aside : int
        How often one was shelved, suppressed or taken out of service.
    alarms : tuple of Stood
        The one raised most often first.
    priorities : dict of str to int
        How often each priority was raised.
    """

    hours: float
    raised: int
    busiest: int
    busiest_at: datetime | None
    flood_minutes: float
    standing: float
    most_standing: int
    put_aside: int
    alarms: tuple[Stood, ...]
    priorities: dict[str, int]

    @property
    def per_hour(self) -> float:
        """Alarms an hour, on average."""
        return self.raised / self.hours if self.hours > 0.0 else 0.0

    @property
    def per_night(self) -> float:
        """Alarms in twelve hours, on average."""
        return 12.0 * self.per_hour

    @property
    def chattering(self) -> tuple[str, ...]:
        """Return the alarms that chattered."""
        return tuple(one.alarm for one in self.alarms if one.chattered)

    @property
    def stale(self) -> tuple[str, ...]:
        """Return the alarms that stood for a day or longer at a stretch."""
        return tuple(one.alarm for one in self.alarms if one.longest >= STALE.total_seconds() / 60.0)


class Figure(Struct, frozen=True, kw_only=True):
    """One number beside what it should be.

    Attributes
    ----------
    name, value, limit, source : str
        In words, for a table.
    good : bool
    """

    name: str
    value: str
    limit: str
    good: bool
    source: str


def rates(alarms: Iterable[Alarm], begin: datetime, end: datetime) -> Rates:
    """Return the alarms of a cook in numbers.

    Parameters
    ----------
    alarms : iterable of Alarm
        All records of alarms of the cook, in order.
    begin, end : datetime
        Between which the cook was watched.

    Notes
    -----
    Raised is an alarm that becomes unacknowledged from any state in which it was not before the cook's eyes: coming
    back from the shelf counts, asking again for an acknowledgement does not.
    """
    raised: list[Alarm] = []
    aside = 0
    spans: dict[str, list[tuple[datetime, datetime]]] = defaultdict(list)
    answers: dict[str, list[float]] = defaultdict(list)
    since: dict[str, datetime] = {}
    states: dict[str, AlarmState] = {}
    for alarm in alarms:
        name, before = alarm.alarm, states.get(alarm.alarm, AlarmState.NORMAL)
        states[name] = alarm.state
        if alarm.state in LIVE and before not in LIVE:
            since[name] = alarm.time
            if alarm.state is AlarmState.UNACKNOWLEDGED:
                raised.append(alarm)
        elif alarm.state is AlarmState.ACKNOWLEDGED and before is AlarmState.UNACKNOWLEDGED:
            answers[name].append((alarm.time - since[name]).total_seconds() / 60.0)
        if alarm.state not in LIVE and before in LIVE:
            spans[name].append((since.pop(name), alarm.time))
        aside += alarm.state is not before and alarm.state in _ASIDE
    for name, start in since.items():
        spans[name].append((start, max(end, start)))
    busiest, busiest_at = _busiest([alarm.time for alarm in raised])
    standing, most = _standing([span for each in spans.values() for span in each], begin, end)
    return Rates(
        hours=max(0.0, (end - begin).total_seconds() / 3600.0),
        raised=len(raised),
        busiest=busiest,
        busiest_at=busiest_at,
        flood_minutes=_flood_minutes([alarm.time for alarm in raised]),
        standing=standing,
        most_standing=most,
        put_aside=aside,
        alarms=_stood(raised, spans, answers),
        priorities=dict(Counter(str(alarm.priority) for alarm in raised)),
    )


def figures(told: Rates) -> tuple[Figure, ...]:
    """Return the numbers of a cook beside the published ones, and the project's own aim first."""
    of_time = told.flood_minutes / (60.0 * told.hours) if told.hours > 0.0 else 0.0
    urgent = sum(told.priorities.get(str(p), 0) for p in (Priority.HIGH, Priority.CRITICAL))
    return (
        Figure(
            name="alarms in 12 h",
            value=f"{told.per_night:.1f}",
            limit=f"at most {A_NIGHT:.0f} where all goes well",
            good=told.per_night <= A_NIGHT,
            source="own aim",
        ),
        Figure(
            name="alarms an hour, on average",
            value=f"{told.per_hour:.1f}",
            limit=f"{ACCEPTABLE_PER_HOUR:.0f} acceptable, {MANAGEABLE_PER_HOUR:.0f} at most",
            good=told.per_hour <= ACCEPTABLE_PER_HOUR,
            source="ISA-18.2",
        ),
        Figure(
            name="most in 10 min",
            value=str(told.busiest),
            limit=f"under {FLOOD}",
            good=told.busiest < FLOOD,
            source="EEMUA 191",
        ),
        Figure(
            name="share of the time in floods",
            value=f"{100.0 * of_time:.1f} %",
            limit=f"under {100.0 * FLOOD_SHARE:.0f} %",
            good=of_time < FLOOD_SHARE,
            source="EEMUA 191, from memory",
        ),
        Figure(
            name="standing at once, on average",
            value=f"{told.standing:.2f} (most {told.most_standing})",
            limit=f"under {FLOOD}",
            good=told.standing < FLOOD,
            source="EEMUA 191, from memory",
        ),
        Figure(
            name="chattering",
            value=", ".join(told.chattering) or "none",
            limit="none",
            good=not told.chattering,
            source=f"EEMUA 191: {CHATTERING} times in a minute",
        ),
        Figure(
            name="stale",
            value=", ".join(told.stale) or "none",
            limit=f"at most {MOST_STALE}, of {STALE.total_seconds() / 3600.0:.0f} h",
            good=len(told.stale) <= MOST_STALE,
            source="EEMUA 191, from memory",
        ),
        Figure(
            name="of high or critical priority",
            value=f"{urgent} of {told.raised}",
            limit=f"about {100.0 * SPREAD[Priority.HIGH]:.0f} % over many cooks",
            good=urgent <= max(1.0, SPREAD[Priority.HIGH] * told.raised),
            source="EEMUA 191",
        ),
    )


_ASIDE: Final = frozenset({AlarmState.SHELVED, AlarmState.SUPPRESSED, AlarmState.OUT_OF_SERVICE})


def _busiest(times: Sequence[datetime]) -> tuple[int, datetime | None]:
    """Return the most within ten minutes, and when these began."""
    most, at, first = 0, None, 0
    for place, time in enumerate(times):
        while time - times[first] >= PERIOD:
            first += 1
        if place - first + 1 > most:
            most, at = place - first + 1, times[first]
    return most, at


def _flood_minutes(times: Sequence[datetime]) -> float:
    """Return how long floods lasted: from the tenth in ten minutes until the last ten minutes hold fewer than five."""
    minutes, began = 0.0, None
    for place, time in enumerate(times):
        inside = [one for one in times[: place + 1] if time - one < PERIOD]
        if began is None and len(inside) >= FLOOD:
            began = time
        elif began is not None and len(inside) < FLOOD_ENDS:
            minutes += (min(time, times[place - 1] + PERIOD) - began).total_seconds() / 60.0
            began = None
    if began is not None:
        minutes += (times[-1] + PERIOD - began).total_seconds() / 60.0
    return minutes


def _standing(spans: list[tuple[datetime, datetime]], begin: datetime, end: datetime) -> tuple[float, int]:
    """Return how many stood at once: on average, and at most."""
    watched = (end - begin).total_seconds()
    total = sum((till - since).total_seconds() for since, till in spans)
    steps = sorted([(since, 1) for since, _ in spans] + [(till, -1) for _, till in spans])
    now = most = 0
    for _, change in steps:
        now += change
        most = max(most, now)
    return (total / watched if watched > 0.0 else 0.0), most


def _stood(
    raised: list[Alarm], spans: dict[str, list[tuple[datetime, datetime]]], answers: dict[str, list[float]]
) -> tuple[Stood, ...]:
    times: dict[str, list[Alarm]] = defaultdict(list)
    for alarm in raised:
        times[alarm.alarm].append(alarm)
    out = []
    for name, each in times.items():
        lasted = [(till - since).total_seconds() / 60.0 for since, till in spans[name]]
        when = [alarm.time for alarm in each]
        close = [later - sooner for sooner, later in zip(when, when[CHATTERING - 1 :], strict=False)]
        out.append(
            Stood(
                alarm=name,
                priority=max((alarm.priority for alarm in each), key=list(Priority).index),
                times=len(each),
                minutes=sum(lasted),
                longest=max(lasted),
                answered=median(answers[name]) if answers[name] else None,
                chattered=any(span < CHATTERING_WITHIN for span in close),
            )
        )
    return tuple(sorted(out, key=lambda one: (-one.times, -one.minutes, one.alarm)))
