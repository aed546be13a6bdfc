"""Simulated hands and their probes."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from firebox.practice.build import sized
from firebox.practice.cooks import GOOD_LOG, SLOPPY_LOG, Hand, Logging, Plan, Style
from firebox.practice.fire import Fire
from firebox.practice.gauges import Gauge, Panel
from firebox.practice.weather import SKIES, Weather
from firebox.records import Damper, Entry, Lit, Split, Status

EPOCH = datetime(2026, 1, 1, tzinfo=UTC)
BUILD = sized("pit", 950.0, 6.35, insulated=True)


def cook(style: Style, logging: Logging, hours: float, seed: int = 3) -> tuple[list[float], list[Entry], int]:
    """Return the temperatures, the entries, and how many splits truly went on."""
    fire = Fire(BUILD, Weather(SKIES["calm"], seed))
    hand = Hand(style, logging, Plan(split_kg=BUILD.usual_split_kg), seed, EPOCH)
    panel = Panel((Gauge(name="grate"),), fire, seed)
    hand.light(fire)
    seen, entries, laid, wood = [], list[Entry](), 0, 0.0
    while fire.seconds < hours * 3600.0:
        fire.run(10.0)
        panel.follow(fire)
        wood = fire.wood_left()
        hand.look(fire, panel.felt("grate"))
        laid += fire.wood_left() > wood + 0.2
        seen.append(panel.felt("grate"))
        entries.extend(hand.entries(fire.seconds))
    return seen, entries, laid


@pytest.mark.parametrize("style", list(Style))
def test_every_hand_holds_the_pit_near_its_target(style: Style) -> None:
    seen, entries, _ = cook(style, GOOD_LOG, 6.0)
    settled = seen[720:]
    # a hand that goes by the clock alone holds badly, and is meant to
    assert abs(float(np.mean(settled)) - 121.0) < (18.0 if style is Style.CLOCKWORK else 8.0)
    assert any(isinstance(entry, Lit) for entry in entries)
    splits = [entry for entry in entries if isinstance(entry, Split)]
    assert 6 <= len(splits) <= 24


def test_coming_up_to_heat_takes_half_an_hour_to_an_hour_and_a_quarter() -> None:
    seen, _, _ = cook(Style.SKILFUL, GOOD_LOG, 2.0)
    minutes = next(i for i, value in enumerate(seen) if value > 111.0) / 6.0
    assert 25.0 < minutes < 80.0


def test_entries_come_in_the_order_of_time_and_not_before_the_deed() -> None:
    _, entries, _ = cook(Style.REACTIVE, SLOPPY_LOG, 4.0)
    times = [entry.time for entry in entries]
    assert times == sorted(times)
    assert all(entry.at is None or entry.at < entry.time for entry in entries)


def test_a_good_log_misses_nothing() -> None:
    _, entries, laid = cook(Style.REACTIVE, GOOD_LOG, 5.0)
    assert abs(sum(isinstance(entry, Split) for entry in entries) - laid) <= 1


def test_a_sloppy_log_misses_about_a_third() -> None:
    written = happened = 0
    for seed in range(4):
        _, entries, laid = cook(Style.REACTIVE, SLOPPY_LOG, 5.0, seed)
        written += sum(isinstance(entry, Split) for entry in entries)
        happened += laid
    # about 45 splits: a share of 2/3 has a standard error of 7 %
    assert 0.45 < written / happened < 0.88


def test_a_hand_that_is_held_touches_nothing() -> None:
    fire = Fire(BUILD, Weather(SKIES["calm"], 1))
    hand = Hand(Style.SKILFUL, GOOD_LOG, Plan(split_kg=1.4), 1, EPOCH)
    hand.light(fire)
    hand.entries(1e9)
    hand.held_until = 3600.0
    for _ in range(350):
        fire.run(10.0)
        hand.look(fire, 60.0)
    assert hand.entries(1e9) == []


def test_the_dampers_are_written_down_at_the_start() -> None:
    fire = Fire(BUILD, Weather(SKIES["calm"], 1))
    hand = Hand(Style.SKILFUL, SLOPPY_LOG, Plan(split_kg=1.4), 1, EPOCH)
    hand.light(fire)
    assert sum(isinstance(entry, Damper) for entry in hand.entries(1e9)) == 2


# --- probes ----------------------------------------------------------------------------------------


def panel_of(gauge: Gauge) -> tuple[Panel, Fire]:
    fire = Fire(BUILD, Weather(SKIES["calm"], 1))
    return Panel((gauge,), fire, 1), fire


def test_a_probe_follows_with_its_lag() -> None:
    panel, fire = panel_of(Gauge(name="grate", lag=60.0))
    start = panel.felt("grate")
    fire.chamber.gas = [400.0] * 3
    fire.chamber.shell = [400.0] * 3
    fire.chamber.racks = 400.0
    fire.seconds += 60.0
    panel.follow(fire)
    # a step shows by 63.2 % after one time constant
    assert (panel.felt("grate") - start) / (400.0 - 273.15 - start) == pytest.approx(0.632, abs=0.01)


def test_a_probe_reads_in_its_own_steps() -> None:
    panel, _ = panel_of(Gauge(name="grate", step=0.25, noise=1.0, gaps=0.0))
    for _ in range(200):
        sample = panel.sample(panel.gauges[0])
        assert sample is not None
        assert sample.celsius is not None
        assert sample.celsius * 4.0 == pytest.approx(round(sample.celsius * 4.0))


def test_spikes_and_gaps_come_as_often_as_asked() -> None:
    panel, _ = panel_of(Gauge(name="grate", spikes=0.02, gaps=0.05, noise=0.1))
    samples = [panel.sample(panel.gauges[0]) for _ in range(4000)]
    heard = [s.celsius for s in samples if s is not None and s.celsius is not None]
    middle = float(np.median(heard))
    # 4000 draws: standard errors of 0.35 % and 0.22 %
    assert 0.035 < samples.count(None) / 4000 < 0.065
    assert 0.012 < sum(abs(value - middle) > 10.0 for value in heard) / 4000 < 0.028


def test_a_loose_plug_is_no_temperature() -> None:
    panel, _ = panel_of(Gauge(name="grate"))
    panel.loose["grate"] = Status.OPEN
    sample = panel.sample(panel.gauges[0])
    assert sample is not None
    assert sample.celsius is None
    assert sample.status is Status.OPEN


def test_a_late_entry_says_when_it_happened() -> None:
    _, entries, _ = cook(Style.REACTIVE, Logging(late=600.0), 3.0)
    late = [entry for entry in entries if entry.at is not None]
    assert late
    assert all(entry.time - entry.at > timedelta(seconds=50) for entry in late if entry.at is not None)
