"""One cook by the clock: what its journal holds, laid out so that figures can be read off."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from firebox.cooklog import CookLog, Deed, Doing, enter
from firebox.estimate.forecast import NOTHING_MORE
from firebox.records import (
    Acknowledge,
    Alarm,
    AlarmState,
    Awake,
    Clock,
    Damper,
    DamperName,
    Door,
    DoorName,
    Entry,
    Fire,
    Health,
    Meat,
    Move,
    Note,
    Notice,
    Outlook,
    Picture,
    ProbeHealth,
    Reading,
    Record,
    Resumed,
    Service,
    Shelve,
    Sleep,
    Status,
    Target,
    Undo,
)
from firebox.review.series import GRID, Series, despiked, on_grid
from firebox.setup import Role, Round, Setup, role_of

LONGEST_GAP: Final = 120.0
"""Seconds between two readings of a probe that still make one line."""

LONGEST_COOK: Final = 14 * 86_400.0
"""Seconds that are laid out; a journal that ran on for longer is cut there."""

UNTRUSTED: Final = frozenset(Health) - {Health.GOOD, Health.WAITING}


class Span(Struct, frozen=True, kw_only=True):
    """From `start` to `end`. [s]"""

    start: float
    end: float

    def touches(self, start: float, end: float) -> bool:
        """Tell whether it shares an instant with another span."""
        return self.start <= end and self.end >= start


class Chronicle(Struct, frozen=True, kw_only=True):
    """A cook, its instants in seconds since its first record.

    Attributes
    ----------
    setup : Setup
        The newest one.
    epoch : datetime
        The instant of second 0, as the clock was reckoned in the end.
    end : float
        When its last record was made. [s]
    pit, target, band : ndarray, shape (n,)
        On the grid: the leading probe (NaN: no trusted probe was heard), what it was to hold, and the half width. [degC, K]
    probes : dict of str to ndarray, shape (n,)
        Every probe that was heard, also while it was not trusted; single readings that stand out are left out. [degC]
    outlooks : tuple of (float, Outlook)
        Those that promise what comes if nothing more is done.
    untrusted : dict of str to tuple of Span
        When a probe was not trusted.
    told : tuple of (float, Entry)
        What the cook did with alarms.
    """

    setup: Setup
    epoch: datetime
    end: float
    pit: NDArray[np.float64]
    target: NDArray[np.float64]
    band: NDArray[np.float64]
    probes: dict[str, NDArray[np.float64]]
    log: CookLog
    outlooks: tuple[tuple[float, Outlook], ...] = ()
    moves: tuple[tuple[float, Move], ...] = ()
    fires: tuple[tuple[float, Fire], ...] = ()
    meats: dict[str, tuple[tuple[float, Meat], ...]] = {}
    alarms: tuple[tuple[float, Alarm], ...] = ()
    notices: tuple[tuple[float, Notice], ...] = ()
    healths: tuple[tuple[float, ProbeHealth], ...] = ()
    untrusted: dict[str, tuple[Span, ...]] = {}
    notes: tuple[tuple[float, str], ...] = ()
    resumed: tuple[Span, ...] = ()
    told: tuple[tuple[float, Entry], ...] = ()

    def instant(self, seconds: float) -> datetime:
        """Return the instant of so many seconds into the cook, by its last reckoning of time."""
        return self.epoch + timedelta(seconds=seconds)

    def deeds(self, *kinds: type[Doing]) -> tuple[Deed, ...]:
        """Return what the cook did, of some kinds."""
        return tuple(deed for deed in self.log.deeds if isinstance(deed.entry, kinds))

    def grates(self) -> tuple[str, ...]:
        """Return the names of the probes at the grate, the leading one first as a rule."""
        order = {probe.name: place for place, probe in enumerate(self.setup.probes)}
        names = [name for name in self.probes if role_of(name, self.setup) is Role.GRATE]
        return tuple(sorted(names, key=lambda name: (order.get(name, len(order)), name)))

    def doors(self, door: DoorName) -> tuple[Span, ...]:
        """Return when a door stood open, as far as logged."""
        spans: list[Span] = []
        opened: float | None = None
        for deed in self.deeds(Door):
            assert isinstance(deed.entry, Door)
            if deed.entry.door is not door:
                continue
            if deed.entry.open and opened is None:
                opened = deed.seconds
            elif not deed.entry.open and opened is not None:
                spans.append(Span(start=opened, end=deed.seconds))
                opened = None
        if opened is not None:
            spans.append(Span(start=opened, end=self.end))
        return tuple(spans)

    def sleeps(self) -> tuple[Span, ...]:
        """Return when the cook slept, as far as told."""
        spans: list[Span] = []
        since: float | None = None
        for deed in self.deeds(Sleep, Awake):
            if isinstance(deed.entry, Sleep):
                since = deed.seconds if since is None else since
            elif since is not None:
                spans.append(Span(start=since, end=deed.seconds))
                since = None
        return tuple(spans if since is None else [*spans, Span(start=since, end=self.end)])

    def damper_moves(self, damper: DamperName) -> tuple[tuple[float, float | None, float], ...]:
        """Return (seconds, from, to) of every logged move of a damper; from None: it was not known."""
        stood = self.setup.intake_open if damper is DamperName.INTAKE else self.setup.stack_open
        found = []
        for deed in self.deeds(Damper):
            if isinstance(deed.entry, Damper) and deed.entry.damper is damper:
                found.append((deed.seconds, stood, deed.entry.open))
                stood = deed.entry.open
        return tuple(found)


class _Heard:
    """What is gathered while the records go by."""

    def __init__(self) -> None:
        self.setup: Setup | None = None
        self.epoch: datetime | None = None
        self.seconds = 0.0
        self.log = CookLog()
        self.readings: dict[str, tuple[list[float], list[float]]] = {}
        self.answers: dict[type[Record], list[tuple[float, Record]]] = {}
        self.notes: list[tuple[float, str, str | None]] = []
        self.undos: list[tuple[str | None, str]] = []
        self.resumed: list[Span] = []
        self.told: list[tuple[float, Entry]] = []
        self.stood: dict[DamperName, float] = {}
        self.standing: set[str] = set()

    def take(self, record: Record) -> None:
        if isinstance(record, Setup) and record.round is not None and self.epoch is None:
            self.setup, self.epoch = record, record.round.began
            return
        if self.setup is not None and self.setup.round is not None and self.goes_before(record, self.setup.round):
            return
        if self.epoch is None:
            self.epoch = record.time
        self.seconds = max(self.seconds, (record.time - self.epoch).total_seconds())
        match record:
            case Reading():
                if record.status is Status.GOOD and record.celsius is not None:
                    times, values = self.readings.setdefault(record.probe, ([], []))
                    times.append(self.seconds)
                    values.append(record.celsius)
            case Setup():
                self.setup = record
            case Clock():
                self.epoch += record.to - record.time
            case Entry():
                self._enter(record)
            case _:
                self.answers.setdefault(type(record), []).append((self.seconds, record))

    def goes_before(self, record: Record, practised: Round) -> bool:
        """Tell whether a record is of the time before a round; of that time only what still stands is kept in mind."""
        early = record.time < practised.began
        if early and isinstance(record, Damper):
            self.stood[record.damper] = record.open
        if not isinstance(record, Alarm):
            return early
        early = record.time <= practised.began
        is_up = record.state in {AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED}
        if early and is_up:
            self.standing.add(record.alarm)
        was_standing = record.alarm in self.standing
        if not is_up:
            self.standing.discard(record.alarm)
        return early or was_standing

    def _enter(self, entry: Entry) -> None:
        match entry:
            case Note():
                self.notes.append((self.seconds, entry.text, entry.id))
            case Picture():
                self.notes.append((self.seconds, f"Picture: {entry.file}", entry.id))
            case Resumed():
                gap = Span(start=max(0.0, self.seconds - entry.gap_seconds), end=self.seconds)
                self.resumed.append(gap)
            case Acknowledge() | Shelve() | Service():
                self.told.append((self.seconds, entry))
            case _:
                if isinstance(entry, Undo):
                    self.undos.append((entry.id, entry.of))
                self.log = enter(self.log, entry, self.seconds, self.epoch)

    def of(self, kind: type[Record]) -> tuple[tuple[float, Record], ...]:
        return tuple(self.answers.get(kind, ()))


def chronicle(records: Iterable[Record]) -> Chronicle:
    """Return a cook laid out by the clock.

    Parameters
    ----------
    records : iterable of Record
        In and out, in the order of the journal; readings may be thinned to one a probe every ten seconds. What is older than
        a practice round's beginning is not the player's and left out.
    """
    heard = _Heard()
    for record in records:
        heard.take(record)
    assert heard.epoch is not None, "a cook has at least its setup"
    setup = heard.setup or Setup(time=heard.epoch)
    setup = replace(
        setup,
        intake_open=heard.stood.get(DamperName.INTAKE, setup.intake_open),
        stack_open=heard.stood.get(DamperName.STACK, setup.stack_open),
    )
    end = min(heard.seconds, LONGEST_COOK)
    length = int(end // GRID) + 1
    probes = {
        name: despiked(on_grid(np.array(times), np.array(values), length, LONGEST_GAP))
        for name, (times, values) in heard.readings.items()
    }
    healths = tuple((at, record) for at, record in heard.of(ProbeHealth) if isinstance(record, ProbeHealth))
    outlooks = tuple((at, record) for at, record in heard.of(Outlook) if isinstance(record, Outlook))
    untrusted = _untrusted(healths, heard.seconds)
    target, band = _targets(heard.log, setup, length)
    undone = _undone(heard.undos)
    meats: dict[str, list[tuple[float, Meat]]] = {}
    for at, record in heard.of(Meat):
        if isinstance(record, Meat):
            meats.setdefault(record.probe, []).append((at, record))
    return Chronicle(
        setup=setup,
        epoch=heard.epoch,
        end=end,
        pit=_pit(probes, untrusted, outlooks, setup, length),
        target=target,
        band=band,
        probes=probes,
        log=heard.log,
        outlooks=tuple((at, one) for at, one in outlooks if one.assumes == NOTHING_MORE),
        moves=tuple((at, one) for at, one in heard.of(Move) if isinstance(one, Move)),
        fires=tuple((at, one) for at, one in heard.of(Fire) if isinstance(one, Fire)),
        meats={name: tuple(found) for name, found in meats.items()},
        alarms=tuple((at, one) for at, one in heard.of(Alarm) if isinstance(one, Alarm)),
        notices=tuple((at, one) for at, one in heard.of(Notice) if isinstance(one, Notice)),
        healths=healths,
        untrusted=untrusted,
        notes=tuple((at, text) for at, text, named in heard.notes if named is None or named not in undone),
        resumed=tuple(heard.resumed),
        told=tuple(heard.told),
    )


def _undone(undos: list[tuple[str | None, str]]) -> frozenset[str]:
    """Return the ids of what was taken back and not brought back."""
    gone: set[str] = set()
    for named, of in reversed(undos):
        if named is None or named not in gone:
            gone.add(of)
    return frozenset(gone)


def _untrusted(healths: Iterable[tuple[float, ProbeHealth]], end: float) -> dict[str, tuple[Span, ...]]:
    since: dict[str, float] = {}
    found: dict[str, list[Span]] = {}
    for at, record in healths:
        if record.health in UNTRUSTED:
            since.setdefault(record.probe, at)
        elif record.probe in since:
            found.setdefault(record.probe, []).append(Span(start=since.pop(record.probe), end=at))
    for name, start in since.items():
        found.setdefault(name, []).append(Span(start=start, end=end))
    return {name: tuple(spans) for name, spans in found.items()}


def _targets(log: CookLog, setup: Setup, length: int) -> tuple[Series, Series]:
    target, band = np.full(length, setup.target_celsius), np.full(length, setup.band)
    for deed in log.deeds:
        if isinstance(deed.entry, Target):
            first = int(np.ceil(deed.seconds / GRID))
            target[first:], band[first:] = log.target(deed.seconds, setup)
    return target, band


def _pit(
    probes: dict[str, Series],
    untrusted: dict[str, tuple[Span, ...]],
    outlooks: Iterable[tuple[float, Outlook]],
    setup: Setup,
    length: int,
) -> Series:
    """Return the pit as the watch saw it: the probe that led, else the first trusted one at the grate."""
    at = GRID * np.arange(length)
    order = {probe.name: rank for rank, probe in enumerate(setup.probes)}
    grates = sorted(
        (name for name in probes if role_of(name, setup) is Role.GRATE),
        key=lambda name: (order.get(name, len(order)), name),
    )
    trusted: dict[str, Series] = {}
    pit = np.full(length, np.nan)
    for name in grates:
        trusted[name] = probes[name].copy()
        for span in untrusted.get(name, ()):
            trusted[name][(at >= span.start) & (at <= span.end)] = np.nan
        pit = np.where(np.isnan(pit), trusted[name], pit)
    told = [(seconds, outlook.probe) for seconds, outlook in outlooks if outlook.probe in trusted]
    if told:
        newest = np.searchsorted(np.array([seconds for seconds, _ in told]), at, side="right") - 1
        names = np.array([name for _, name in told])[np.maximum(newest, 0)]
        for name in sorted({name for _, name in told}):
            leads = (names == name) & (newest >= 0) & np.isfinite(trusted[name])
            pit = np.where(leads, trusted[name], pit)
    return pit
