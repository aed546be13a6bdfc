"""The cooks that the forecast benchmark plays: records as a watch would hear them, and what would have come.

The truth of a forecast made at an instant is a branch: the pit is copied at that instant, nobody touches the copy any
more, the weather is the same, and a perfect probe hangs where the leading one does, with its offset. A door that stands
open at the instant is shut a minute later in the branch, since nobody leaves one open for an hour. A second branch has
the mean wind instead of the true one: what a forecaster could do that knew the pit, and only the wind not.

=========  ==============================================================================================
practice   the fire that people practise on: every piece of wood, oxygen, three zones of gas and steel
strange    no balance of heat at all: humps cut from random kernels, slack, leaps
layered    walls in layers and a bed of coals with a temperature of its own, as the estimate's unit tests use
=========  ==============================================================================================

Cooks are kept under the system's temporary directory, named by a hash of the sources that make them.
"""

import copy
import hashlib
import pickle
import tempfile
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from firebox.practice.build import draw
from firebox.practice.cooks import GOOD_LOG, SLOPPY_LOG, Hand, Plan, Style
from firebox.practice.fire import Fire
from firebox.practice.gauges import Gauge, Panel, true_celsius
from firebox.practice.weather import SKIES, Weather
from firebox.records import Damper, DamperName, Door, DoorName, Entry, Lit, Pit, Reading, Record, Split, Target
from firebox.setup import Role
from tests.benchmarks.grate_gauges import Makes, drawn
from tests.benchmarks.strange_pits import StrangePit
from tests.unit.estimate import surrogate_pits

HORIZONS: Final = (5, 15, 30, 45, 60)
"""Minutes ahead at which forecasts are judged."""

START: Final = datetime(2026, 1, 10, 17, 0, tzinfo=UTC)
EVERY: Final = 10.0
"""s between readings."""

ROOT: Final = Path(__file__).resolve().parents[2]
_DOOR_SHUTS: Final = 60.0
_MAKES: Final = Makes(lag=(15.0, 110.0), offset=1.5, noise=(0.1, 0.8), spikes=0.002, gaps=0.02, second=(0.0, 1.0))
_SIZES: Final = (235.0, 420.0, 700.0, 950.0, 1400.0, 1890.0)


class Spec(Struct, frozen=True, kw_only=True):
    """What is to be cooked; the same spec gives the same cook."""

    family: str
    seed: int
    hours: float
    logging: str = "good"
    every_minutes: float = 10.0
    """Distance of the instants at which forecasts are judged."""
    hands: str = "mixed"
    """"mixed": three styles in turn, and sleep now and then; "skilful": a good hand that stays awake."""

    @property
    def name(self) -> str:
        return f"{self.family}-{self.seed}-{self.logging}" + ("" if self.hands == "mixed" else f"-{self.hands}")


class Origin(Struct, frozen=True, kw_only=True):
    """An instant at which a forecast is made, and what comes if nothing more is done.

    `now` is the leading probe without lag and noise; `truth` the branch at `HORIZONS`, `windless` the one that the mean
    wind blew in. [degC]
    """

    seconds: float
    regime: str
    now: float
    truth: tuple[float, ...]
    windless: tuple[float, ...]


class Cook(Struct, frozen=True, kw_only=True):
    """A cook as the watch hears it, with the truth beside it."""

    name: str
    spec: Spec
    about: str
    records: tuple[Record, ...]
    origins: tuple[Origin, ...]


FAMILIES: Final = ("practice", "strange", "layered")

REGIMES: Final = ("first hour", "after split", "steady", "dying", "door open")


def specs(
    *,
    pits: int,
    nights: range,
    hours: float,
    logging: str = "good",
    hands: str = "mixed",
    every_minutes: float = 10.0,
) -> list[Spec]:
    """Return the cooks of a benchmark: so many pits of each family, each on these nights."""
    return [
        Spec(
            family=family,
            seed=100 * night + pit,
            hours=hours,
            logging=logging,
            every_minutes=every_minutes,
            hands=hands,
        )
        for family in FAMILIES
        for night in nights
        for pit in range(pits)
    ]


def fetch(spec: Spec) -> Cook:
    """Return the cook of a spec, from the store where it has been played before."""
    path = store() / f"{spec.name}-{spec.hours:g}h-{spec.every_minutes:g}.cook"
    if path.exists():
        kept: Cook = pickle.loads(path.read_bytes())
        return kept
    cook = play(spec)
    keep(path, cook)
    return cook


def keep(path: Path, value: object) -> None:
    """Write a value so that another process never sees half of it."""
    with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as file:
        file.write(pickle.dumps(value))
    Path(file.name).rename(path)


def store() -> Path:
    """Return the directory of the cooks that the present sources make."""
    path = Path(tempfile.gettempdir()) / "firebox-benchmark" / fingerprint(_sources())
    path.mkdir(parents=True, exist_ok=True)
    return path


def fingerprint(paths: Iterable[Path]) -> str:
    """Return a short hash over the content of files."""
    digest = hashlib.sha256()
    for path in paths:
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _sources() -> list[Path]:
    makes = ("account", "air", "build", "chamber", "cooks", "fire", "gauges", "hearth", "losses", "weather", "wood")
    practice = [ROOT / "firebox" / "practice" / f"{name}.py" for name in makes]
    here = Path(__file__).resolve()
    return [
        *practice,
        here,
        here.with_name("grate_gauges.py"),
        here.with_name("strange_pits.py"),
        Path(surrogate_pits.__file__),
    ]


# --- playing ---------------------------------------------------------------------------------------


def play(spec: Spec) -> Cook:
    """Play a cook and its branches."""
    if spec.family == "layered":
        return _layered(spec)
    rng = np.random.Generator(np.random.Philox(key=spec.seed + (0 if spec.family == "practice" else 500_000)))
    sky = list(SKIES)[int(rng.integers(len(SKIES)))]
    style = list(Style)[spec.seed % 3] if spec.hands == "mixed" else Style.SKILFUL
    fire, usual, about, told = _pit(spec, sky, rng)
    plan = Plan(
        split_kg=usual,
        target=float(rng.choice([107.0, 121.0, 121.0, 135.0])),
        moisture=float(rng.uniform(0.12, 0.28)),
        intake=float(rng.uniform(0.25, 0.55)),
        meat_kg=0.0 if rng.random() < 0.3 else float(rng.uniform(2.0, 9.0)),
    )
    warm_for = 0.0 if rng.random() < 0.6 else float(rng.uniform(1.5, 3.0)) * 3600.0
    hand = Hand(style, SLOPPY_LOG if spec.logging == "sloppy" else GOOD_LOG, plan, spec.seed, START)
    panel = Panel(_gauges(spec, rng), fire, spec.seed)
    player = _Player(spec, fire, hand, panel, rng)
    player.warm_up(warm_for)
    records, origins = player.play(plan, told, cold=warm_for == 0.0)
    text = f"{about}, {sky}, {style} hand, aim {plan.target:.0f}, {'cold' if warm_for == 0.0 else 'warm'} start"
    return Cook(name=spec.name, spec=spec, about=text, records=tuple(records), origins=tuple(origins))


def _pit(spec: Spec, sky: str, rng: np.random.Generator) -> tuple[Fire | StrangePit, float, str, dict[str, object]]:
    def told(**known: object) -> dict[str, object]:
        return {name: value for name, value in known.items() if rng.random() > 0.2}

    if spec.family == "practice":
        build = draw(spec.seed, _SIZES[spec.seed % len(_SIZES)])
        fire = Fire(build, Weather(SKIES[sky], spec.seed, 17.0))
        insulated = build.insulation is not None
        about = f"{build.litres:.0f} l, {build.wall * 1e3:.1f} mm, {'insulated' if insulated else 'bare'} firebox"
        known = told(
            chamber_litres=round(build.litres * float(rng.uniform(0.9, 1.1))),
            wall_mm=round(build.wall * 1e3, 1),
            firebox_insulated=insulated,
            usual_split_kg=build.usual_split_kg,
        )
        return fire, build.usual_split_kg, about, known
    pit = StrangePit(spec.seed, SKIES[sky], start_hour=17.0)
    litres = round(600.0 * pit.usual_split_kg)
    known = told(chamber_litres=litres, wall_mm=6.0, firebox_insulated=False, usual_split_kg=pit.usual_split_kg)
    return pit, pit.usual_split_kg, f"strange, split {pit.usual_split_kg} kg", known


def _gauges(spec: Spec, rng: np.random.Generator) -> tuple[Gauge, ...]:
    gauges = drawn(_MAKES, rng)
    if spec.family == "practice" and rng.random() < 0.25:
        gauges.append(Gauge(name="stack", role=Role.STACK, lag=30.0, noise=0.5, gaps=0.02))
    if spec.family == "practice" and rng.random() < 0.25:
        gauges.append(Gauge(name="firebox", role=Role.FIREBOX, lag=30.0, noise=2.0, gaps=0.02))
    return tuple(gauges)


class _Player:
    """One night at one pit, stepped ten seconds at a time."""

    def __init__(
        self, spec: Spec, fire: Fire | StrangePit, hand: Hand, panel: Panel, rng: np.random.Generator
    ) -> None:
        self.spec, self.fire, self.hand, self.panel, self.rng = spec, fire, hand, panel, rng
        self.begun = 0.0
        self.split_at = -1e9
        self.silent_until = 0.0

    def _step(self) -> None:
        self.fire.run(EVERY)
        self.panel.follow(self.fire)
        wood = self.fire.wood_left()
        self.hand.look(self.fire, self.panel.felt("grate"))
        if self.fire.wood_left() > wood + 0.1:
            self.split_at = self.fire.seconds

    def warm_up(self, seconds: float) -> None:
        """Light the fire and tend it for so long before the watch begins."""
        self.hand.light(self.fire)
        while self.fire.seconds < seconds:
            self._step()
        if seconds > 0.0:
            self.hand.entries(self.fire.seconds + 3600.0)
        self.begun = self.fire.seconds
        self.hand.epoch = START - timedelta(seconds=self.begun)

    def _time(self, seconds: float) -> datetime:
        return START + timedelta(seconds=seconds - self.begun)

    def play(self, plan: Plan, told: dict[str, object], *, cold: bool) -> tuple[list[Record], list[Origin]]:
        """Play the watched hours."""
        records: list[Record] = [
            Pit(time=START, **told),  # type: ignore[arg-type]
            Target(time=START, celsius=plan.target, band=8.0),
        ]
        if not cold and self.rng.random() < 0.7:
            for damper, opening in ((DamperName.INTAKE, self.fire.intake), (DamperName.STACK, self.fire.stack)):
                records.append(Damper(time=START, damper=damper, open=round(opening, 3)))
        origins: list[Origin] = []
        naps = self._naps()
        next_origin = self.begun + 600.0 + 10.0 * round(float(self.rng.uniform(0.0, 30.0)))
        door_origins = 0
        while self.fire.seconds < self.begun + self.spec.hours * 3600.0:
            self._step()
            now = self.fire.seconds
            if naps and now >= naps[0][0]:
                self.hand.held_until = naps.pop(0)[1]
            records.extend(self._heard(now))
            wide = self.fire.cook_door or self.fire.firebox_door
            if now >= next_origin:
                origins.append(self._origin())
                next_origin += 60.0 * self.spec.every_minutes
            elif (
                wide
                and door_origins < 0.5 * self.spec.hours
                and now - self.begun > 600.0
                and self.rng.random() < 0.15
            ):
                origins.append(self._origin())
                door_origins += 1
        return records, origins

    def _naps(self) -> list[tuple[float, float]]:
        """Return when the cook falls asleep and wakes: about once in three hours, for most of an hour or more."""
        naps: list[tuple[float, float]] = []
        at = self.begun + 3600.0
        if self.spec.hands != "mixed":
            return naps
        while True:
            at += float(self.rng.uniform(3600.0, 3.5 * 3600.0))
            if at > self.begun + self.spec.hours * 3600.0:
                return naps
            naps.append((at, at + 60.0 * float(self.rng.uniform(45.0, 95.0))))
            at = naps[-1][1]

    def _heard(self, now: float) -> list[Record]:
        time = self._time(now)
        if now >= self.silent_until and self.rng.random() < 0.0009:
            self.silent_until = now + float(self.rng.uniform(60.0, 420.0))
        heard: list[Record] = [_not_before(entry, START) for entry in self.hand.entries(now)]
        for gauge in self.panel.gauges:
            sample = self.panel.sample(gauge)
            if sample is not None and not (now < self.silent_until and gauge.name == "grate"):
                heard.append(Reading(time=time, probe=gauge.name, celsius=sample.celsius, status=sample.status))
        return heard

    def _origin(self) -> Origin:
        fire, gauge = self.fire, self.panel.gauges[0]
        becalmed = fire.copy()
        becalmed.weather = _mean_wind(fire.weather)
        if isinstance(becalmed, StrangePit):
            becalmed.wander = _mean_wind(becalmed.wander)
        return Origin(
            seconds=fire.seconds - self.begun,
            regime=self._regime(),
            now=true_celsius(fire, gauge),
            truth=_left_alone(fire.copy(), gauge),
            windless=_left_alone(becalmed, gauge),
        )

    def _regime(self) -> str:
        fire = self.fire
        since = fire.seconds - self.split_at
        if fire.cook_door or fire.firebox_door:
            return "door open"
        if fire.seconds - self.begun < 3600.0:
            return "first hour"
        if since < 1800.0:
            return "after split"
        return "dying" if since > 2700.0 else "steady"


def _left_alone(branch: Fire | StrangePit, gauge: Gauge) -> tuple[float, ...]:
    """Return what a perfect probe would show at `HORIZONS` if nobody came near any more. [degC]"""
    begun, truth = branch.seconds, []
    branch.run(_DOOR_SHUTS)
    for door in DoorName:
        branch.set_door(door, wide=False)
    for minutes in HORIZONS:
        branch.run(begun + 60.0 * minutes - branch.seconds)
        truth.append(true_celsius(branch, gauge))
    return tuple(truth)


def _mean_wind(weather: Weather) -> Weather:
    """Return the same night without gusts and fronts."""
    other = copy.copy(weather)
    other.sky = replace(weather.sky, gusts=0.0, fronts=0.0)
    return other


# --- layered pits ----------------------------------------------------------------------------------


def _layered(spec: Spec) -> Cook:
    """Play a cook at a layered pit; its hand logs every split with a weight that is a little off."""
    cook = surrogate_pits.run(spec.seed, hours=spec.hours, branch_every=60.0 * spec.every_minutes)  # type: ignore[no-untyped-call]  # a unit test's helper
    rng = np.random.Generator(np.random.Philox(key=spec.seed + 900_000))
    sloppy = SLOPPY_LOG if spec.logging == "sloppy" else None
    build = cook.build
    known = {
        "chamber_litres": round(build.litres),
        "wall_mm": round(1e3 * build.wall, 1),
        "firebox_insulated": build.insulated,
        "usual_split_kg": round(build.usual, 2),
    }
    told = {name: value for name, value in known.items() if rng.random() > 0.2}
    timed: list[tuple[float, Record]] = []
    for seconds, kind, value in cook.deeds:
        if sloppy and kind in {"split", "intake"} and rng.random() < sloppy.missed:
            continue
        heavier = float(np.exp(sloppy.weight_error * rng.standard_normal())) if sloppy and kind == "split" else 1.0
        timed.append((seconds, _layered_entry(kind, value * heavier, START + timedelta(seconds=seconds))))
    for seconds, celsius in zip(cook.times.tolist(), cook.readings.tolist(), strict=True):
        if np.isfinite(celsius):
            time = START + timedelta(seconds=seconds)
            timed.append((seconds, Reading(time=time, probe="grate", celsius=round(celsius, 3))))
    timed.sort(key=lambda pair: pair[0])
    records: list[Record] = [Pit(time=START, **told), Target(time=START, celsius=121.0, band=8.0)]
    splits = [seconds for seconds, kind, _ in cook.deeds if kind == "split"]
    text = f"{build.litres:.0f} l, {build.wall * 1e3:.1f} mm, {'insulated' if build.insulated else 'bare'} firebox"
    return Cook(
        name=spec.name,
        spec=spec,
        about=text,
        records=(*records, *(record for _, record in timed)),
        origins=tuple(
            Origin(
                seconds=seconds,
                regime=_regime_at(seconds, splits),
                now=float(branch[0]),
                truth=tuple(float(branch[minutes]) for minutes in HORIZONS),
                windless=tuple(float(calm[minutes]) for minutes in HORIZONS),
            )
            for seconds, branch, calm in zip(cook.marks.tolist(), cook.branches, cook.floor, strict=True)
        ),
    )


def _layered_entry(kind: str, value: float, time: datetime) -> Entry:
    if kind == "lit":
        return Lit(time=time, kg=value)
    if kind == "split":
        return Split(time=time, kg=round(value, 2))
    if kind in {"intake", "stack"}:
        return Damper(time=time, damper=DamperName(kind), open=value)
    return Door(time=time, door=DoorName.COOK if kind == "cook" else DoorName.FIREBOX, open=bool(value))


def _regime_at(seconds: float, splits: list[float]) -> str:
    since = seconds - max((split for split in splits if split <= seconds), default=-1e9)
    if seconds < 3600.0:
        return "first hour"
    if since < 1800.0:
        return "after split"
    return "dying" if since > 2700.0 else "steady"


def _not_before(entry: Entry, time: datetime) -> Entry:
    assert entry.time >= time
    return entry
