"""The forecaster under test, fed as the program would feed it."""

import time
from collections.abc import Sequence
from datetime import timedelta
from typing import Final

from msgspec import Struct

from firebox import watch
from firebox.cooklog import CookLog, enter
from firebox.estimate import pitfilter, probes
from firebox.estimate.forecast import Forecast
from firebox.estimate.probes import ProbeTrack
from firebox.records import Entry, Reading, Record, Tick
from firebox.setup import Setup, role_of

GRID: Final = 10.0


class Run(Struct, frozen=True, kw_only=True):
    """What came of a cook: a forecast for each instant asked for, and what it cost."""

    quantiles: tuple[tuple[tuple[float, ...], ...] | None, ...]
    seconds: float
    advances: int
    asked: int
    leads: tuple[str | None, ...] = ()
    """Which probe each forecast is about, where that was noted."""


def through_watch(records: Sequence[Record], origins: Sequence[float], *, every: float = 300.0) -> Run:
    """Feed a cook to the reducer, with a tick each `every` seconds and at each origin.

    The answers are the reducer's own forecasts, with all their levels.
    """
    began = time.process_time()
    epoch = records[0].time
    state = watch.begin(Setup(time=epoch))
    found: list[tuple[tuple[float, ...], ...] | None] = []
    asked = sorted(set(origins) | {every * n for n in range(1, int(max(origins) // every) + 1)})
    place, wanted = 0, set(origins)
    ticks = 0
    for moment in asked:
        while place < len(records) and (records[place].time - epoch).total_seconds() <= moment:
            state = watch.step(state, records[place]).state
            place += 1
        state = watch.step(state, Tick(time=epoch + timedelta(seconds=moment))).state
        ticks += 1
        if moment in wanted:
            found.append(_rows(state.forecast))
    advances = int(max(origins) // GRID)
    return Run(quantiles=tuple(found), seconds=time.process_time() - began, advances=advances, asked=ticks)


def through_filter(records: Sequence[Record], origins: Sequence[float], *, setup: Setup | None = None) -> Run:
    """Feed a cook to probes and estimate alone: no alarms, no advice, a forecast at each origin only. Quicker."""
    began = time.process_time()
    epoch = records[0].time
    setup = setup or Setup(time=epoch)
    log, tracks, estimate = CookLog(), dict[str, ProbeTrack](), pitfilter.begin(setup)
    found: list[tuple[tuple[float, ...], ...] | None] = []
    leads: list[str | None] = []
    wanted, place, lead, done, advances = set(origins), 0, None, 0, 0
    while done * GRID < max(origins):
        done += 1
        seconds = done * GRID
        while place < len(records) and (records[place].time - epoch).total_seconds() <= seconds:
            record = records[place]
            place += 1
            when = (record.time - epoch).total_seconds()
            if isinstance(record, Reading):
                track = tracks.get(record.probe) or ProbeTrack(name=record.probe, role=role_of(record.probe, setup))
                tracks[record.probe] = probes.hear(track, when, record.celsius, record.status)
            elif isinstance(record, Entry):
                revised = log.revised
                log = enter(log, record, when, epoch)
                if revised is not None and log.revised is not None:
                    log = _earlier(log, revised)
        tracks, cell = probes.settle(tracks, seconds, log, setup)
        lead = probes.lead(tracks, setup)
        estimate = pitfilter.advance(estimate, seconds, cell, log, setup, lead)
        advances += 1
        if log.revised is not None:
            log = _settled(log)
        if seconds in wanted:
            found.append(_rows(pitfilter.foresee(estimate, seconds, log, setup)))
            leads.append(estimate.lead)
    spent = time.process_time() - began
    return Run(quantiles=tuple(found), seconds=spent, advances=advances, asked=len(origins), leads=tuple(leads))


def _rows(forecast: Forecast | None) -> tuple[tuple[float, ...], ...] | None:
    return None if forecast is None else forecast.quantiles


def _earlier(log: CookLog, seconds: float) -> CookLog:
    return log if log.revised is not None and log.revised <= seconds else _with_revised(log, seconds)


def _settled(log: CookLog) -> CookLog:
    return _with_revised(log, None)


def _with_revised(log: CookLog, revised: float | None) -> CookLog:
    return CookLog(deeds=log.deeds, undone=log.undone, undos=log.undos, revised=revised, changes=log.changes)
