"""Which probes can be believed, and what they read: short stories of single probes."""

import math
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec
import numpy as np
import pytest

from firebox.cooklog import CookLog, enter
from firebox.estimate.lagfilter import correct, predict, start
from firebox.estimate.probes import ProbeTrack, describe, hear, lead, settle
from firebox.estimate.track import WANDER
from firebox.records import Door, DoorName, Entry, Health, Spritz, Status
from firebox.setup import Probe, Role, Setup, role_of

START = datetime(2026, 5, 2, 22, 0, tzinfo=UTC)
SETUP = Setup(time=START)


class Bench:
    """Probes that are read each so many seconds; values are functions of the time since the bench began."""

    def __init__(self, *names: str, every: float = 1.0, setup: Setup = SETUP, lag: float | None = None) -> None:
        self.every = every
        self.setup = setup
        self.seconds = 0.0
        self.tracks = {n: ProbeTrack(name=n, role=role_of(n, setup), lag_seconds=lag) for n in names or ("grate",)}
        self.log = CookLog()
        self.cell: dict[str, float] = {}
        self.rng = np.random.Generator(np.random.Philox(key=7))
        self.seen: list[tuple[float, str, Health]] = []

    def run(self, minutes: float, **probe: Any) -> None:
        """Let probes read numbers, functions of the seconds since this call, statuses, or nothing (None)."""
        begin = self.seconds
        end = begin + 60.0 * minutes
        due = 10.0 * (begin // 10.0) + 10.0
        while self.seconds + self.every <= end + 1e-6:
            self.seconds += self.every
            while due < self.seconds:
                self.settle(due)
                due += 10.0
            for name, course in probe.items():
                value = course(self.seconds - begin) if callable(course) else course
                if value is None:
                    continue
                good = not isinstance(value, Status)
                self.tracks[name] = hear(
                    self.tracks[name], self.seconds, float(value) if good else None, Status.GOOD if good else value
                )
                self.note()
        self.settle(due)

    def settle(self, seconds: float) -> None:
        self.tracks, self.cell = settle(self.tracks, seconds, self.log, self.setup)
        self.note()

    def note(self) -> None:
        for name, track in self.tracks.items():
            last = next((health for _, n, health in reversed(self.seen) if n == name), Health.WAITING)
            if track.health is not last:
                self.seen.append((self.seconds, name, track.health))

    def enter(self, entry: Entry) -> None:
        self.log = enter(self.log, entry, self.seconds, START)

    def noisy(self, celsius: Any, sd: float = 0.3, step: float = 0.1) -> Callable[[float], float]:
        """A course with noise, rounded to a resolution."""

        def read(seconds: float) -> float:
            true: float = celsius(seconds) if callable(celsius) else celsius
            return step * round((true + sd * float(self.rng.standard_normal())) / step)

        return read

    @property
    def grate(self) -> ProbeTrack:
        return self.tracks["grate"]

    def healths(self, name: str = "grate") -> list[Health]:
        return [health for _, n, health in self.seen if n == name]


# --- temperature ---------------------------------------------------------------------------------


def test_a_probe_that_was_never_heard_waits_and_has_no_temperature() -> None:
    bench = Bench()
    bench.settle(1e5)
    assert bench.grate.health is Health.WAITING
    assert bench.grate.celsius is None
    assert bench.cell == {}


@pytest.mark.parametrize("every", [1.0, 10.0, 17.0, 60.0])
def test_a_ramp_is_followed_without_the_lag_of_the_sensor(every: float) -> None:
    """In the long run a lagging sensor reads a ramp late by lag times slope; the filter must give it back."""
    slope, lag = 90.0 / 3600.0, 60.0
    bench = Bench(every=every, lag=lag)
    bench.run(40, grate=lambda s: 100.0 + slope * (s - lag))
    assert bench.grate.celsius == pytest.approx(100.0 + slope * bench.seconds, abs=0.3)
    assert bench.grate.drift_per_hour == pytest.approx(90.0, rel=0.1)


def test_a_lagging_probe_tells_of_an_opened_door_before_its_reading_gets_there() -> None:
    bench = Bench(lag=60.0)
    bench.run(15, grate=bench.noisy(121.0, 0.2))
    bench.run(1, grate=bench.noisy(lambda s: 81.0 + 40.0 * math.exp(-s / 60.0), 0.2))
    celsius = bench.grate.celsius
    assert celsius is not None
    reading = bench.grate.last_celsius
    assert reading is not None
    assert celsius < reading - 5.0
    assert celsius == pytest.approx(81.0, abs=10.0)


def test_noise_is_learned_from_the_readings() -> None:
    for sd in (0.15, 0.5, 2.0):
        bench = Bench()
        bench.run(20, grate=bench.noisy(lambda s: 121.0 + 8.0 * math.sin(s / 600.0), sd, 0.01))
        assert bench.grate.noise == pytest.approx(sd, rel=0.2)


def test_a_coarse_probe_is_never_taken_for_finer_than_its_steps() -> None:
    bench = Bench()
    bench.run(20, grate=bench.noisy(lambda s: 121.0 + s / 200.0, 0.01, 1.0))
    assert bench.grate.noise is not None
    assert bench.grate.noise >= 0.99 / math.sqrt(12.0)


def test_spikes_move_nothing() -> None:
    bench = Bench()
    bench.run(10, grate=bench.noisy(121.0))
    bench.run(10, grate=lambda s: 300.0 if s % 60.0 < 2.0 else 121.0)
    assert bench.grate.celsius == pytest.approx(121.0, abs=0.5)
    assert bench.healths() == [Health.GOOD]


def test_a_lone_spike_of_a_slow_probe_moves_nothing() -> None:
    bench = Bench(every=10.0)
    bench.run(10, grate=bench.noisy(121.0))
    bench.run(1 / 6, grate=160.0)
    assert bench.grate.celsius == pytest.approx(121.0, abs=1.0)
    bench.run(1, grate=bench.noisy(121.0))
    assert bench.grate.celsius == pytest.approx(121.0, abs=1.0)


@pytest.mark.parametrize("every", [2.0, 5.0, 10.0])
def test_wild_readings_now_and_then_reach_neither_the_cell_nor_the_health(every: float) -> None:
    bench = Bench("ambient", every=every)
    cells = []
    for _ in range(30):
        bench.run(3, ambient=bench.noisy(18.0, 0.15))
        bench.run(every / 60.0, ambient=-50.0)
        cells += list(bench.cell.values())
    assert bench.healths("ambient") == [Health.GOOD]
    assert all(abs(celsius - 18.0) < 1.0 for celsius in cells)


@pytest.mark.parametrize("every", [1.0, 10.0])
def test_a_genuine_step_is_taken_after_a_few_readings(every: float) -> None:
    bench = Bench(every=every, lag=20.0)
    bench.run(10, grate=bench.noisy(121.0))
    bench.run(3, grate=bench.noisy(lambda s: 100.0 + 21.0 * math.exp(-s / 20.0)))
    assert bench.grate.celsius == pytest.approx(100.0, abs=2.0)
    assert bench.healths() == [Health.GOOD]


def test_the_cell_is_the_raw_middle_of_what_trusted_probes_read() -> None:
    bench = Bench("grate", "flat")
    bench.run(1, grate=lambda s: 120.0 + (s % 10.0 == 5.0) * 20.0, flat=60.0)
    assert bench.cell == {"grate": 120.0, "flat": 60.0}
    bench.run(0.5, grate=120.0, flat=Status.OPEN)
    assert bench.cell == {"grate": 120.0}


def test_the_filter_agrees_with_an_independent_one() -> None:
    """filterpy's general Kalman filter, given the same matrices, must give the same answer (to rounding)."""
    kalman = pytest.importorskip("filterpy.kalman")
    wander, lag, noise = WANDER[Role.GRATE], 50.0, 0.25
    belief = start(0.0, 120.0, noise, wander, lag)
    other = kalman.KalmanFilter(dim_x=3, dim_z=1)
    p00, p01, p02, p11, p12, p22 = belief.cov
    other.x = np.array([belief.value, belief.slope, belief.element])
    other.P = np.array([[p00, p01, p02], [p01, p11, p12], [p02, p12, p22]])
    other.H = np.array([[0.0, 0.0, 1.0]])
    other.R = np.array([[noise]])
    seconds = 0.0
    for place, dt in enumerate([10.0, 10.0, 3.0, 60.0, 1.0, 25.0] * 5):
        seconds += dt
        reading = 120.0 + 0.02 * seconds + math.sin(place)
        a = math.exp(-dt / lag)
        c = dt - lag * (1.0 - a)
        q00 = wander.level * dt + wander.slope * dt**3 / 3.0
        q01, q11, g = wander.slope * dt**2 / 2.0, wander.slope * dt, c / dt
        other.F = np.array([[1.0, dt, 0.0], [0.0, 1.0, 0.0], [1.0 - a, c, a]])
        other.Q = np.array([[q00, q01, g * q00], [q01, q11, g * q01], [g * q00, g * q01, g * g * q00]])
        other.predict()
        other.update(reading)
        belief = correct(predict(belief, seconds, wander, lag), reading, noise)
        mine = np.array([belief.value, belief.slope, belief.element])
        assert np.allclose(mine, other.x.ravel(), rtol=1e-9, atol=1e-9)
        assert np.isclose(belief.cov[3], other.P[1, 1], rtol=1e-6)


# --- faults --------------------------------------------------------------------------------------


@pytest.mark.parametrize("every", [1.0, 5.0, 10.0, 30.0])
@pytest.mark.parametrize("status", [Status.OPEN, Status.SHORTED, Status.FAILED])
def test_a_fault_that_lasts_is_the_health_within_half_a_minute(every: float, status: Status) -> None:
    bench = Bench(every=every)
    bench.run(10, grate=bench.noisy(121.0))
    begin = bench.seconds + every
    bench.run(2, grate=status)
    at, _, health = next(row for row in bench.seen if row[2] is not Health.GOOD)
    assert health == status.value
    assert 4.0 <= at - begin <= 30.0
    assert bench.grate.celsius is None
    assert bench.grate.drift_per_hour is None
    assert bench.cell == {}


def test_a_single_bad_reading_is_no_fault() -> None:
    bench = Bench()
    bench.run(10, grate=bench.noisy(121.0))
    bench.run(5, grate=lambda s: Status.OPEN if s % 10.0 == 3.0 else 121.0)
    assert bench.healths() == [Health.GOOD]


def test_a_recovered_probe_is_welcomed_without_a_jump() -> None:
    bench = Bench()
    bench.run(20, grate=bench.noisy(lambda s: 90.0 + s / 60.0))
    bench.run(5, grate=Status.OPEN)
    bench.run(1, grate=bench.noisy(130.0))
    assert bench.healths() == [Health.GOOD, Health.OPEN, Health.GOOD]
    assert bench.grate.celsius == pytest.approx(130.0, abs=1.5)


def test_a_probe_that_flickers_between_open_and_good_stays_open() -> None:
    bench = Bench()
    bench.run(5, grate=bench.noisy(121.0))
    bench.run(1, grate=Status.OPEN)
    bench.run(5, grate=lambda s: 121.0 if s % 4.0 == 0.0 else Status.OPEN)
    assert bench.grate.health is Health.OPEN


# --- silence -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("every", "limit"), [(1.0, 60.0), (10.0, 60.0), (60.0, 210.0)])
def test_silence_is_a_minute_or_a_few_of_the_probes_own_intervals(every: float, limit: float) -> None:
    bench = Bench(every=every)
    bench.run(20, grate=bench.noisy(121.0))
    last = bench.seconds
    bench.every = 1.0
    bench.run(8, grate=None)
    at = next(at for at, _, health in bench.seen if health is Health.SILENT)
    assert limit <= at - last <= limit + 11.0
    assert bench.grate.celsius is None


@pytest.mark.parametrize("every", [120.0, 600.0])
def test_a_very_slow_probe_is_not_called_silent_between_its_readings(every: float) -> None:
    bench = Bench(every=every)
    bench.run(240, grate=bench.noisy(121.0))
    bench.seen.clear()
    bench.run(240, grate=bench.noisy(121.0))
    assert Health.SILENT not in bench.healths()


# --- stuck ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("every", [1.0, 10.0])
def test_a_probe_whose_noise_stops_is_stuck_after_ten_minutes(every: float) -> None:
    bench = Bench(every=every)
    bench.run(20, grate=bench.noisy(121.0))
    begin = bench.seconds
    bench.run(12, grate=121.0)
    at = next(at for at, _, health in bench.seen if health is Health.STUCK)
    assert 590.0 <= at - begin <= 640.0
    assert bench.grate.celsius is None


def test_a_probe_that_stands_still_while_its_twin_moves_is_stuck() -> None:
    bench = Bench("grate", "grate2")
    bench.run(5, grate=121.0, grate2=124.0)
    bench.run(15, grate=lambda s: 121.0 + s / 90.0, grate2=124.0)
    assert bench.healths("grate2")[-1] is Health.STUCK
    assert bench.healths("grate") == [Health.GOOD]


def test_a_coarse_steady_probe_is_not_stuck() -> None:
    bench = Bench("grate", "flat")
    bench.run(60, grate=121.0, flat=bench.noisy(70.0, 0.02, 0.5))
    assert bench.healths("grate") == [Health.GOOD]
    assert bench.healths("flat") == [Health.GOOD]


def test_a_meat_probe_put_into_cold_meat_is_not_stuck() -> None:
    bench = Bench("flat")
    bench.run(20, flat=bench.noisy(20.0, 0.5))
    bench.run(2, flat=bench.noisy(lambda s: 4.0 + 16.0 * math.exp(-s / 15.0), 0.02))
    bench.run(40, flat=bench.noisy(4.0, 0.005))
    assert bench.tracks["flat"].health is Health.GOOD


def test_a_stuck_probe_that_moves_again_is_trusted_after_a_while() -> None:
    bench = Bench()
    bench.run(20, grate=bench.noisy(121.0))
    bench.run(12, grate=121.0)
    bench.run(3, grate=bench.noisy(119.0))
    assert bench.healths() == [Health.GOOD, Health.STUCK, Health.GOOD]
    assert bench.grate.celsius == pytest.approx(119.0, abs=1.0)


# --- implausible ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "celsius"),
    [("grate", 700.0), ("grate", -60.0), ("flat", 140.0), ("ambient", 90.0), ("firebox", 1500.0), ("stack", 1000.0)],
)
def test_what_cannot_be_where_a_probe_hangs_is_no_temperature(name: str, celsius: float) -> None:
    bench = Bench(name)
    bench.run(2, **{name: celsius})
    assert bench.tracks[name].health is Health.IMPLAUSIBLE
    assert bench.tracks[name].celsius is None
    assert bench.cell == {}


def test_a_grease_fire_at_the_grate_is_still_a_temperature() -> None:
    bench = Bench()
    bench.run(20, grate=bench.noisy(121.0))
    bench.run(5, grate=bench.noisy(lambda s: min(121.0 + s, 400.0)))
    assert bench.grate.health is Health.GOOD


def test_a_probe_pulled_from_the_pit_is_doubted() -> None:
    bench = Bench(lag=20.0)
    bench.run(20, grate=bench.noisy(260.0))
    bench.run(2, grate=bench.noisy(lambda s: 15.0 + 245.0 * math.exp(-s / 20.0)))
    assert Health.CHECKED in bench.healths()


def test_a_loose_contact_is_doubted() -> None:
    bench = Bench()
    bench.run(10, grate=bench.noisy(121.0))
    bench.run(20, grate=bench.noisy(121.0, 15.0))
    assert bench.grate.health is Health.IMPLAUSIBLE
    assert "jumps about" in describe(bench.grate, bench.seconds)


def test_swapped_wires_are_seen_as_the_pit_comes_up() -> None:
    bench = Bench("grate", "grate2", "ambient")
    up = {"grate": lambda s: 15.0 + s / 30.0, "grate2": lambda s: 15.0 - s / 30.0}
    bench.run(20, ambient=15.0, **up)
    assert bench.tracks["grate2"].health is Health.IMPLAUSIBLE
    assert "swapped" in describe(bench.tracks["grate2"], bench.seconds)
    assert bench.tracks["grate"].health is Health.GOOD


def test_meat_does_not_cool_in_a_hot_pit() -> None:
    bench = Bench("grate", "flat")
    bench.run(15, grate=bench.noisy(121.0), flat=bench.noisy(70.0, 0.05))
    bench.run(15, grate=bench.noisy(121.0), flat=bench.noisy(lambda s: 70.0 - s / 100.0, 0.05))
    assert bench.tracks["flat"].health is Health.IMPLAUSIBLE


@pytest.mark.parametrize("entry", [Spritz, Door])
def test_meat_may_cool_a_little_when_the_cook_was_at_it(entry: Any) -> None:
    bench = Bench("grate", "flat")
    bench.run(15, grate=bench.noisy(121.0), flat=bench.noisy(70.0, 0.05))
    now = START + timedelta(seconds=bench.seconds)
    bench.enter(Spritz(time=now) if entry is Spritz else Door(time=now, door=DoorName.COOK, open=True))
    bench.run(12, grate=bench.noisy(121.0), flat=bench.noisy(lambda s: 70.0 - s / 100.0, 0.05))
    assert bench.tracks["flat"].health is Health.GOOD


# --- disagreeing ---------------------------------------------------------------------------------


def test_two_grate_probes_that_are_merely_apart_agree() -> None:
    bench = Bench("grate", "grate2")
    wave = {
        "grate": lambda s: 121.0 + 8.0 * math.sin(s / 600.0),
        "grate2": lambda s: 160.0 + 9.0 * math.sin(s / 600.0),
    }
    bench.run(120, **{name: bench.noisy(course) for name, course in wave.items()})
    assert bench.healths("grate") == bench.healths("grate2") == [Health.GOOD]


def test_a_probe_that_changes_apart_from_its_twin_is_doubted_after_five_minutes() -> None:
    bench = Bench("grate", "grate2")
    bench.run(20, grate=bench.noisy(121.0), grate2=bench.noisy(124.0))
    begin = bench.seconds
    bench.run(15, grate=bench.noisy(121.0), grate2=bench.noisy(lambda s: 124.0 - min(30.0, s / 4.0)))
    at = next(at for at, _, health in bench.seen if health is Health.DISAGREEING)
    assert 300.0 <= at - begin <= 480.0
    assert bench.tracks["grate2"].health is Health.DISAGREEING
    assert "grate" in describe(bench.tracks["grate2"], bench.seconds)


def test_of_three_grate_probes_the_odd_one_is_doubted_even_when_it_leads() -> None:
    bench = Bench("grate", "grate2", "grate3")
    others = {"grate2": bench.noisy(124.0), "grate3": bench.noisy(118.0)}
    bench.run(20, grate=bench.noisy(121.0), **others)
    bench.run(15, grate=bench.noisy(lambda s: 121.0 - min(30.0, s / 4.0)), **others)
    assert bench.tracks["grate"].health is Health.DISAGREEING
    assert lead(bench.tracks, SETUP) == "grate2"


# --- the lead ------------------------------------------------------------------------------------


def test_the_lead_is_the_first_trusted_grate_probe_as_configured_then_by_name() -> None:
    probes = (Probe(name="right", role=Role.GRATE), Probe(name="left", role=Role.GRATE))
    bench = Bench("left", "right", "flat", setup=Setup(time=START, probes=probes))
    assert lead(bench.tracks, bench.setup) is None
    bench.run(1, left=121.0, right=122.0, flat=60.0)
    assert lead(bench.tracks, bench.setup) == "right"
    bench.run(1, left=121.0, right=Status.OPEN, flat=60.0)
    assert lead(bench.tracks, bench.setup) == "left"
    bench.run(1, left=Status.OPEN, right=Status.OPEN, flat=60.0)
    assert lead(bench.tracks, bench.setup) is None
    unnamed = Bench("grate2", "grate")
    unnamed.run(1, grate=121.0, grate2=122.0)
    assert lead(unnamed.tracks, SETUP) == "grate"


# --- the track as a value ------------------------------------------------------------------------


def test_a_track_survives_being_written_down_and_goes_on_alike() -> None:
    bench = Bench("grate", "flat")
    bench.run(12, grate=bench.noisy(121.0), flat=bench.noisy(60.0))
    frozen = msgspec.msgpack.encode(bench.tracks)
    thawed = msgspec.msgpack.decode(frozen, type=dict[str, ProbeTrack])
    assert thawed == bench.tracks
    later = bench.seconds + 3.0
    on = {name: hear(track, later, 99.0, Status.GOOD) for name, track in bench.tracks.items()}
    again = {name: hear(track, later, 99.0, Status.GOOD) for name, track in thawed.items()}
    assert settle(on, later + 7.0, bench.log, SETUP) == settle(again, later + 7.0, bench.log, SETUP)


def test_every_health_has_words() -> None:
    for health in Health:
        track = ProbeTrack(name="left", role=Role.GRATE, health=health, last_heard=5.0, why="reads oddly")
        text = describe(track, 700.0)
        assert text.startswith("left: ")
        assert len(text) > len("left: ")
