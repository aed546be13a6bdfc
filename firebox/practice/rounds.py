"""The rounds to practise: what is to be mastered, on which pit, in which weather, with which wood. All of it is invented."""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Final, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from firebox.errors import ConfigError
from firebox.lessons import Choice, Menu, Offer, Option, Tally
from firebox.practice import scenarios
from firebox.practice.build import Build, sized
from firebox.practice.cooks import GOOD_LOG, Hand, Plan, Style
from firebox.practice.faults import FIRE, Mishap
from firebox.practice.fire import Fire
from firebox.practice.gauges import Panel
from firebox.practice.scenarios import Scene
from firebox.practice.session import Event, Session
from firebox.practice.weather import SKIES, Weather
from firebox.records import Entry, Reading
from firebox.setup import Setup

V = TypeVar("V")

LEAD: Final = 50.0 * 60.0
"""s of the fire before the round that the watch is told, so that it and the chart know where the fire comes from."""

EVERY: Final = 10.0
"""s between two readings of that time."""

BAND: Final = 14.0
"""K on either side of the target that count as well kept: 25 F, what a good fire of wood wanders; no source."""

WHOLE: Final = 0.95
"""Share of its length from which a round counts as played to its end."""

SEASONED: Final = 0.18
"""Moisture of the wood that the fire was kept with before the round."""

_EPOCH: Final = datetime(2000, 1, 1, tzinfo=UTC)  # the hand's own clock; its entries are moved
_MINUTE: Final = 60.0

BUILDS: Final[dict[str, tuple[str, Build]]] = {
    "wren": ("small and thin, quick to answer: 235 l, 3 mm", sized("Wren pit", 235.0, 3.0)),
    "hedge": ("middling: 420 l, 5 mm", sized("Hedge pit", 420.0, 4.8)),
    "lantern": ("large, with an insulated firebox: 950 l, 6 mm", sized("Lantern pit", 950.0, 6.35, insulated=True)),
    "anvil": ("heavy and slow: 1800 l, 10 mm", sized("Anvil pit", 1800.0, 9.5)),
}

WEATHERS: Final = {
    "calm": "still and mild",
    "breezy": "a light wind that comes and goes",
    "windy night": "cold, with strong gusts",
    "rain": "wet and windy",
    "cold dawn": "still, near freezing",
}

WOODS: Final = {
    "dry": ("kiln dry, catches at once", 0.12),
    "seasoned": ("two summers under a roof", SEASONED),
    "damp": ("a summer short of ready", 0.30),
    "wet": ("rained on, still green inside", 0.45),
}


class Goal(Struct, frozen=True, kw_only=True):
    """When a round counts as mastered.

    Attributes
    ----------
    steady_by : float or None
        Minutes within which the band must have been held for a quarter of an hour.
    share : float or None
        Share of the time that must lie inside the band.
    """

    steady_by: float | None = None
    share: float | None = None

    @property
    def words(self) -> str:
        """What is to be reached."""
        parts = []
        if self.share is not None:
            parts.append(f"{self.share:.0%} of the time inside the band")
        if self.steady_by is not None:
            parts.append(f"steady inside the band within {self.steady_by:.0f} min, and for a quarter of an hour")
        return " and ".join(parts)

    def reached(self, tally: Tally, minutes: float) -> bool:
        """Tell whether a tally of a round of so many minutes reaches it; a share counts of a whole round only."""
        steady = self.steady_by is None or (tally.steady_at is not None and tally.steady_at <= self.steady_by)
        whole = tally.minutes >= WHOLE * minutes
        return steady and (self.share is None or (whole and tally.share >= self.share))


class Scenario(Struct, frozen=True, kw_only=True):
    """One thing to master.

    Attributes
    ----------
    name, title, brief : str
    minutes : int
    goal : Goal
    pit, weather, wood : str
        What it was made for; another may be chosen.
    hour : float
        Of the day, at which it begins.
    warm : bool
        The fire burns already.
    meat_kg : float
    asleep : bool
        Nobody has tended the fire for a while.
    befalls : tuple of (minute, fault of `faults.FIRE`, size)
        Minutes of the round; below 0: before it begins.
    """

    name: str
    title: str
    brief: str
    minutes: int
    goal: Goal
    pit: str = "lantern"
    weather: str = "calm"
    wood: str = "seasoned"
    hour: float = 14.0
    warm: bool = True
    meat_kg: float = 0.0
    asleep: bool = False
    befalls: tuple[tuple[float, str, float], ...] = ()


SCENARIOS: Final = {
    scenario.name: scenario
    for scenario in (
        Scenario(
            name="first fire",
            title="First fire",
            brief="A cold pit, dry wood, a mild morning. Light it (l) with both dampers open, feed small, and bring it to its"
            " target. Turn the intake down before you get there: the steel goes on warming.",
            minutes=120,
            goal=Goal(steady_by=90.0),
            wood="dry",
            hour=9.0,
            warm=False,
        ),
        Scenario(
            name="hold",
            title="Hold two hours",
            brief="A good fire is handed to you, with a split on its way to coals. Keep it inside the band. Find the rhythm:"
            " one piece at a time, laid before the last is gone.",
            minutes=120,
            goal=Goal(share=0.8),
        ),
        Scenario(
            name="windy night",
            title="Windy night",
            brief="Gusts pull at the stack and cool the steel. Every gust shows within minutes and is gone as soon: do not"
            " chase it, but mind that the pit now needs more wood an hour.",
            minutes=120,
            goal=Goal(share=0.7),
            weather="windy night",
            hour=23.0,
        ),
        Scenario(
            name="wet wood",
            title="Wet wood",
            brief="The pile stood in the rain. Each piece takes heat for a quarter of an hour before it gives any. Smaller"
            " pieces, earlier, and more air; watch the smoke.",
            minutes=90,
            goal=Goal(share=0.6),
            weather="rain",
            wood="wet",
            hour=5.0,
        ),
        Scenario(
            name="choked ash",
            title="Choked with ash",
            brief="It has burned all day and nobody has raked. The pit sinks although wood lies on the coals, and opening the"
            " intake seems to do nothing. Find out why.",
            minutes=75,
            goal=Goal(share=0.6),
            hour=18.0,
            befalls=((-10.0, "ash", 1.0),),
        ),
        Scenario(
            name="sleeper",
            title="The sleeper",
            brief="You nodded off. The pit has fallen far below its band, and hardly a flame is left. Look at the coals before you"
            " choose: do they still light a small piece, or must you light kindling (l)?",
            minutes=75,
            goal=Goal(steady_by=60.0),
            weather="breezy",
            hour=3.0,
            asleep=True,
        ),
        Scenario(
            name="flare",
            title="Flare",
            brief="Fat has gathered under the meat. Sooner or later it will catch. Keep the lid shut whatever happens, take the"
            " air away, add no wood, and bring the pit back when it is over.",
            minutes=60,
            goal=Goal(share=0.6),
            meat_kg=6.0,
            hour=16.0,
            befalls=((9.0, "flare", 1.0),),
        ),
        Scenario(
            name="door ajar",
            title="Door ajar",
            brief="Something is not as it should be: the pit falls and the fire looks well. Look at the whole pit before"
            " you lay more wood. The cook door is o: once opens it, once more shuts it firmly.",
            minutes=60,
            goal=Goal(share=0.6),
            hour=13.0,
            befalls=((5.0, "door ajar", 1.0),),
        ),
        Scenario(
            name="cold to steady",
            title="From cold to steady in an hour",
            brief="Guests are on their way. From cold steel to a steady pit within the hour, without running over: enough wood"
            " for the steel early, and the intake down in time.",
            minutes=80,
            goal=Goal(steady_by=60.0),
            hour=11.0,
            warm=False,
        ),
    )
}  # fmt: skip
"""Name -> what is to be mastered, the easy ones first."""


def menu() -> Menu:
    """Return all that can be chosen."""
    return Menu(
        offers=tuple(
            Offer(
                name=one.name,
                title=one.title,
                brief=one.brief,
                goal=one.goal.words,
                minutes=one.minutes,
                pit=one.pit,
                weather=one.weather,
                wood=one.wood,
            )
            for one in SCENARIOS.values()
        ),
        pits=tuple(Option(name=name, words=words) for name, (words, _) in BUILDS.items()),
        weathers=tuple(Option(name=name, words=words) for name, words in WEATHERS.items()),
        woods=tuple(Option(name=name, words=words) for name, (words, _) in WOODS.items()),
    )


def choose(
    scenario: str, *, pit: str | None = None, weather: str | None = None, wood: str | None = None, seed: int = 1
) -> Choice:
    """Return a choice; what is not said is as the scenario was made for.

    Raises
    ------
    ConfigError
        A name is not known; the message says which are.
    """
    made_for = _known(scenario, SCENARIOS, "scenario")
    choice = Choice(
        scenario=scenario,
        pit=pit or made_for.pit,
        weather=weather or made_for.weather,
        wood=wood or made_for.wood,
        seed=seed,
    )
    _known(choice.pit, BUILDS, "pit")
    _known(choice.weather, WEATHERS, "weather")
    _known(choice.wood, WOODS, "wood")
    return choice


def _known(name: str, table: Mapping[str, V], what: str) -> V:
    found = table.get(name)
    if found is None:
        raise ConfigError(f'"{name}" is no {what} to practise with; one of {", ".join(table)} would be right')
    return found


class Staged(Struct, kw_only=True):
    """A round set up and not yet begun.

    Attributes
    ----------
    session : Session
    setup : Setup
        What the watch is told of the pit, as of `LEAD` before the round where the fire burns already.
    lead : tuple of Reading or Entry
        What was read and done before the round.
    moisture : float
        Of the wood that the cook lays.
    lit_kg : float
        What a fire is lit with.
    """

    session: Session
    setup: Setup
    lead: tuple[Reading | Entry, ...]
    moisture: float
    lit_kg: float


def stage(choice: Choice, start: datetime) -> Staged:
    """Return a round at its beginning; `start` is what the clock says then.

    Takes about half a second of computing where the fire has to be warmed.
    """
    scenario = SCENARIOS[choice.scenario]
    build, moisture = BUILDS[choice.pit][1], WOODS[choice.wood][1]
    scene = Scene(
        name=choice.scenario,
        title=scenario.title,
        brief=scenario.brief,
        build=build,
        sky=choice.weather,
        warm=scenario.warm,
        meat_kg=scenario.meat_kg,
        seed=choice.seed,
    )
    sky = Weather(SKIES[choice.weather], choice.seed, scenario.hour - (4.0 if scenario.warm else 0.0))
    fire = Fire(build, sky, intake=1.0)
    panel = Panel(scenarios.gauges(scene), fire, choice.seed)
    before = _Before(fire, panel)
    if scenario.warm:
        _tend(scene, before)
    if scenario.asleep:
        _sleep(before)
    for minute, fault, size in scenario.befalls:
        if minute < 0.0:
            FIRE[fault].befall(_mishap(fire, build, size))
            before.burns(-minute * _MINUTE)
    events = tuple(_event(fire, build, *befall) for befall in scenario.befalls if befall[0] >= 0.0)
    session = Session(fire, panel, None, events, split_kg=build.usual_split_kg)
    first, lead = before.told(start)
    setup = scenarios.setup(scene, start - timedelta(seconds=first), session)
    wood = replace(setup.wood, moisture=moisture)
    setup = replace(setup, band=BAND, intake_open=round(before.intake, 3), wood=wood)
    return Staged(
        session=session,
        setup=setup,
        lead=lead,
        moisture=moisture,
        lit_kg=round(0.9 + 0.9 * build.usual_split_kg, 2),
    )


class _Before:
    """What was read and written down before the round, of its last `LEAD` seconds."""

    def __init__(self, fire: Fire, panel: Panel) -> None:
        self.fire, self.panel = fire, panel
        self.intake = fire.intake
        self._looks: list[tuple[float, float, list[tuple[str, float]], list[Entry]]] = []

    def look(self, entries: list[Entry]) -> None:
        samples = [(gauge.name, self.panel.sample(gauge)) for gauge in self.panel.gauges]
        read = [(name, sample.celsius) for name, sample in samples if sample and sample.celsius is not None]
        self._looks.append((self.fire.seconds, self.fire.intake, read, entries))
        while self._looks[0][0] < self.fire.seconds - LEAD:
            self.intake = self._looks.pop(0)[1]

    def wrote(self, entries: list[Entry]) -> None:
        """Take what the hand was about to write down when the fire was handed over."""
        seconds, intake, read, written = self._looks.pop()
        self._looks.append((seconds, intake, read, [*written, *entries]))

    def burns(self, seconds: float) -> None:
        """Let the fire burn untended."""
        for _ in range(round(seconds / EVERY)):
            self.fire.run(EVERY)
            self.panel.follow(self.fire)
            self.look([])

    def told(self, start: datetime) -> tuple[float, tuple[Reading | Entry, ...]]:
        """Return how long before `start` it begins [s], and the records."""
        records: list[Reading | Entry] = []
        end = self.fire.seconds
        for number, (seconds, _, read, entries) in enumerate(self._looks):
            time = start - timedelta(seconds=end - seconds)
            records += [
                replace(entry, time=time, at=None, id=f"before-{number}-{i}") for i, entry in enumerate(entries)
            ]
            records += [Reading(time=time, probe=name, celsius=celsius) for name, celsius in read]
        return (end - self._looks[0][0] if self._looks else 0.0), tuple(records)


def _tend(scene: Scene, before: _Before) -> None:
    plan = Plan(split_kg=scene.build.usual_split_kg, moisture=SEASONED, doors=False, meat_kg=scene.meat_kg)
    hand = Hand(Style.SKILFUL, GOOD_LOG, plan, scene.seed, _EPOCH)
    scenarios.warm(
        before.fire, before.panel, hand, scene, each=lambda: before.look(hand.entries(before.fire.seconds))
    )
    before.wrote(hand.entries(before.fire.seconds + _LATEST_ENTRY))


FALLEN: Final = 24.0
"""K under the target to which a pit has fallen when its sleeper wakes."""

_TARGET: Final = 121.0
_LATEST_ENTRY: Final = 600.0  # s
_LONGEST_SLEEP: Final = 3.0 * 3600.0


def _sleep(before: _Before) -> None:
    since = before.fire.seconds
    while before.panel.felt("grate") > _TARGET - FALLEN and before.fire.seconds - since < _LONGEST_SLEEP:
        before.burns(EVERY)


def _mishap(fire: Fire, build: Build, size: float) -> Mishap:
    return Mishap(fire=fire, hand=None, split_kg=build.usual_split_kg, size=size)


def _event(fire: Fire, build: Build, minute: float, fault: str, size: float) -> Event:
    mishap = _mishap(fire, build, size)
    befall: Callable[[Session], None] = lambda _session: FIRE[fault].befall(mishap)  # noqa: E731  as Event takes it
    return Event(seconds=minute * _MINUTE, befall=befall)
