"""The composition root: a configuration in, a running program out.

The only module that knows drivers and dashboard. They are imported inside functions, so that the keeper never loads
the dashboard, and asking for help loads neither.
"""

import asyncio
import logging
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from firebox.config import locations
from firebox.config.passwords import address, password
from firebox.config.schema import Config
from firebox.errors import ConfigError
from firebox.links import MqttSourceOptions, PracticeOptions, ReplayOptions, SourceOptions
from firebox.ports import Announcer, Clock, Kind, Outlet, ProbeSource, WatchLink
from firebox.records import Entry, Notice, Out, Problem
from firebox.setup import KnownPit, Setup
from firebox.ways import PushOptions, WayOptions

if TYPE_CHECKING:
    from firebox.thermo.calibration import Correction
    from tui.practice.opening import Opened, Wishes
    from tui.preferences import Preferences

log = logging.getLogger(__name__)

DEMO: Final = "demo"
"""Name under which the demo's files are kept; a pit's own file may not be called so."""

DEMO_SCENE: Final = "lantern"

DEMO_RATE: Final = 24.0
"""Logical seconds a real second: a split's hump takes a minute, and both alarms of the scene come within a bit over three."""

DEMO_HOURS: Final = 12.0
"""Logical hours after which a demo ends by itself, so that a forgotten one does not burn for ever."""


class Watched(Struct, frozen=True, kw_only=True):
    """A pit that can be kept and looked at: where its files are, and how its keeper is started."""

    name: str
    config: Config
    kind: Kind = Kind.LIVE
    rate: float = 1.0
    config_path: Path | None = None
    journal: Path
    log: Path

    def keeper_command(self) -> list[str]:
        """Return the command that keeps this pit in the foreground."""
        command = [sys.executable, "-m", "firebox", "keep"]
        if self.kind is Kind.DEMO:
            return [*command, "--demo", "--rate", f"{self.rate:g}"]
        if self.config_path is not None:
            command += ["--config", str(self.config_path.absolute())]
        return command if self.rate == 1.0 else [*command, "--rate", f"{self.rate:g}"]

    def learn_command(self) -> list[str]:
        """Return the command that goes over the newest cooks of this pit."""
        command = [sys.executable, "-m", "firebox", "review", "--learn"]
        return command if self.config_path is None else [*command, "--config", str(self.config_path.absolute())]


def configured(config: Config, path: Path | None, rate: float | None = None) -> Watched:
    """Return the pit of a configuration, with its files where they belong.

    A pit whose only source is a recording is a replay; one with a practice fire is practice. `rate` is passed over
    on a live pit, where a second is a second.
    """
    kind = _kind(config.sources)
    return Watched(
        name=config.name,
        config=config,
        kind=kind,
        rate=1.0 if kind is Kind.LIVE or rate is None else rate,
        config_path=path,
        journal=locations.journal_file(config.name),
        log=locations.log_file(config.name),
    )


def demo(rate: float | None = None) -> Watched:
    """Return the demo pit: invented, and needing neither hardware nor a configuration."""
    return Watched(
        name=DEMO,
        config=Config(sources=(PracticeOptions(name=DEMO, scenario=DEMO_SCENE),)),
        kind=Kind.DEMO,
        rate=rate or DEMO_RATE,
        journal=locations.journal_file(DEMO),
        log=locations.log_file(DEMO),
    )


def _kind(sources: Sequence[SourceOptions]) -> Kind:
    if sources and all(isinstance(source, ReplayOptions) for source in sources):
        return Kind.REPLAY
    return Kind.PRACTICE if any(isinstance(source, PracticeOptions) for source in sources) else Kind.LIVE


# --- keeping -------------------------------------------------------------------------------------


def sources(config: Config, clock: Clock, *, as_shown: bool = False) -> list[ProbeSource]:
    """Return the configured sources, not yet opened.

    Parameters
    ----------
    config : Config
    clock : Clock
    as_shown : bool
        Whether probes are to be heard as they show it, without the corrections that their calibration gave.

    Raises
    ------
    ConfigError
        A password or the calibrations cannot be read.
    """
    found = [_source(options, clock) for options in config.sources if not isinstance(options, PracticeOptions)]
    corrections = {} if as_shown else _corrections(config)
    if not corrections:
        return found
    from firebox.keeper.corrected import CorrectedSource

    return [CorrectedSource(source, corrections) for source in found]


def _corrections(config: Config) -> "dict[str, Correction]":
    """Return probe -> its correction; a recording holds what was corrected when it was made."""
    if _kind(config.sources) is Kind.REPLAY:
        return {}
    from firebox.config import calibrations

    found = calibrations.read(locations.calibration_file(config.name))
    return {name: calibration.correction for name, calibration in found.items()}


def _source(options: SourceOptions, clock: Clock) -> ProbeSource:
    from drivers import load_source

    kind = str(options.__struct_config__.tag)
    more: dict[str, Any] = {}  # options of one class only
    if isinstance(options, MqttSourceOptions):
        more["password"] = password(options.broker)
    source: ProbeSource = load_source(kind)(options.name, clock, options=options, **more)
    return source


def outlets(config: Config, clock: Clock, hear: Callable[[Entry | Problem | Notice], None]) -> list[Outlet]:
    """Return the configured outlets, not yet opened; `hear` is given what comes in over them, and became of notices.

    Raises
    ------
    ConfigError
        A password or an address cannot be read.
    """
    return [*_published(config, clock, hear), *_called(config, clock, hear)]


def _published(config: Config, clock: Clock, hear: Callable[[Entry | Problem], None]) -> list[Outlet]:
    if config.mqtt is None:
        return []
    from drivers import load_outlet

    options = config.mqtt
    outlet: Outlet = load_outlet("mqtt")(
        options.name,
        clock,
        options=options,
        pit=config.name,
        password=password(options.broker),
        hear=hear,
        kind=_kind(config.sources),
    )
    return [outlet]


def _called(config: Config, clock: Clock, note: Callable[[Notice], None]) -> list[Outlet]:
    return ways(config, clock, lambda: _kind(config.sources) is Kind.LIVE, note)


def ways(config: Config, clock: Clock, real: Callable[[], bool], note: Callable[[Notice], None]) -> list[Outlet]:
    """Return the configured ways to call people, not yet opened.

    Parameters
    ----------
    config : Config
    clock : Clock
    real : callable
        Tells whether the fire is a real one.
    note : callable
        Given what became of each notice.

    Raises
    ------
    ConfigError
        An address cannot be read.
    """
    from firebox.keeper.notices import Notices, policy_of
    from firebox.warn.escalation import MESSAGE_EVERY, SOUND_EVERY

    found: list[Outlet] = []
    for options in config.notices.to:
        message = isinstance(options, PushOptions)
        policy = policy_of(options, MESSAGE_EVERY if message else SOUND_EVERY, says_over=message)
        found.append(Notices(announcer(options), policy, clock, pit=config.name, real=real, note=note))
    return found


def announcer(options: WayOptions) -> Announcer:
    """Return a configured way to call somebody; nothing is held or sent yet.

    Raises
    ------
    ConfigError
        Its address cannot be read.
    """
    from drivers import load_way

    more: dict[str, Any] = {"url": address(options)} if isinstance(options, PushOptions) else {}  # of one class only
    way: Announcer = load_way(str(options.__struct_config__.tag))(options, **more)
    return way


def keep(watched: Watched) -> None:
    """Keep a pit in the foreground until it is told to end.

    Raises
    ------
    HeldError
        Another process keeps this pit.
    ConfigError, JournalError
        It cannot be kept; the message says why.
    """
    from drivers.machine import SysfsMachine
    from firebox.keeper import loop
    from firebox.keeper.logs import write_log
    from firebox.keeper.mind import watch_reducer

    watched.journal.parent.mkdir(parents=True, exist_ok=True)
    if watched.kind is Kind.DEMO:
        _forget(watched.journal)
    write_log(watched.log)
    setup, played = _played(watched.config)
    if watched.kind is Kind.LIVE:
        setup = _knowing(watched, setup)

    def reads(clock: Clock) -> list[ProbeSource]:
        if played is None:
            return sources(watched.config, clock)
        from drivers import load_source

        fire: ProbeSource = load_source("practice")("practice", clock, fire=played)
        return [fire, *sources(watched.config, clock)]

    asyncio.run(
        loop.keep(
            watched.journal,
            setup,
            watch_reducer(),
            sources=reads,
            outlets=lambda clock, hear: outlets(watched.config, clock, hear),
            kind=watched.kind,
            rate=watched.rate,
            heed=_heeding(watched) if played is None else played.act,
            lasting=DEMO_HOURS * 3600.0 / watched.rate if watched.kind is Kind.DEMO else None,
            machine=SysfsMachine() if watched.kind is Kind.LIVE else None,
        )
    )
    if watched.kind is Kind.LIVE:
        _learn_later(watched)


def _played(config: Config) -> tuple[Callable[[datetime], Setup], Any]:  # a practice session, or None
    """Return what the watch is told of the pit, and the fire that is played out where it is no real one."""
    practice = next((one for one in config.sources if isinstance(one, PracticeOptions)), None)
    if practice is None:
        return config.setup, None
    from firebox.practice import scenarios

    scene = scenarios.SCENES.get(practice.scenario)
    if scene is None:
        known = ", ".join(sorted(scenarios.SCENES))
        raise ConfigError(f'scenario: "{practice.scenario}" is no practice scene; one of {known} would be right')
    if practice.seed is not None:
        scene = replace(scene, seed=practice.seed)
    session = scenarios.stage(scene)
    return lambda time: scenarios.setup(scene, time, session), session


# --- what is known of a pit ----------------------------------------------------------------------


def known(watched: Watched) -> KnownPit | None:
    """Return what cooks have taught of a pit; None: nothing yet. `firebox.estimate.worth` says it in sentences.

    Raises
    ------
    ConfigError
        What was kept cannot be used.
    """
    from firebox.config import known as kept

    return kept.read(locations.known_file(watched.name))


def learn(watched: Watched, *, afresh: bool = False, say: Callable[[str], None] | None = None) -> KnownPit | None:
    """Go over the cooks that are done and not yet learned from, keep what they teach, and return what is known now.

    Takes about a second for each hour of a cook. `afresh` starts from what the pit's dimensions say.

    Raises
    ------
    ConfigError
        What was kept cannot be used or written.
    JournalError
        There is no journal, or it cannot be read.
    """
    from firebox.config import known as kept
    from firebox.journal import teaching

    before = None if afresh else known(watched)
    until = teaching.going_on(watched.journal) if is_kept(watched) else None
    found = teaching.learned(watched.journal, before, kind=watched.kind, until=until, say=say)
    if found is not None and found is not before:
        kept.keep(locations.known_file(watched.name), found)
    return found


def forget(watched: Watched) -> bool:
    """Take away what cooks have taught of a pit; return whether there was anything. The cooks stay in the journal.

    Raises
    ------
    ConfigError
        It cannot be taken away.
    """
    from firebox.config import known as kept

    return kept.forget(locations.known_file(watched.name))


def _knowing(watched: Watched, setup: Callable[[datetime], Setup]) -> Callable[[datetime], Setup]:
    """Return the setup with what is known of the pit then; what cannot be read keeps nobody from watching a fire."""

    def knowing(time: datetime) -> Setup:
        try:
            return replace(setup(time), known=known(watched))
        except ConfigError as error:
            log.warning("begun without what earlier cooks taught: %s", error)
            return setup(time)

    return knowing


def _heeding(watched: Watched) -> Callable[[Entry], None]:
    """Return what learns from a cook whose fire is let out, however long its keeper then runs."""

    def heed(entry: Entry) -> None:
        if isinstance(entry, Out):
            _learn_later(watched)

    return heed


def _learn_later(watched: Watched) -> None:
    """Learn from the cook in a process of its own: who ends a keeper does not want to wait for it."""
    from firebox.errors import JournalError
    from firebox.journal import teaching
    from firebox.keeper.background import leave

    try:
        due = teaching.is_due(watched.journal)
    except JournalError as error:
        log.warning("nothing is learned from the cook: %s", error)
        return
    if due:
        leave(watched.learn_command(), watched.log.with_suffix(".out"))


def _forget(journal: Path) -> None:
    """Take away the journal of the demo before: what was played is not a record of anything."""
    from firebox.journal.lock import holder

    if holder(journal) is None:
        for end in ("", "-wal", "-shm"):
            journal.with_name(journal.name + end).unlink(missing_ok=True)


# --- looking -------------------------------------------------------------------------------------


def is_kept(watched: Watched) -> bool:
    """Tell whether a process keeps this pit now."""
    from firebox.journal.lock import holder

    return holder(watched.journal) is not None


def start(watched: Watched) -> None:
    """Start a keeper that outlives this process; returns when it holds the pit.

    Raises
    ------
    FireboxError
        It ended at once or did not get going; the message has what it said.
    """
    from firebox.keeper.background import spawn

    spawn(watched.keeper_command(), watched.journal, watched.log.with_suffix(".out"))


def stop(watched: Watched) -> str | None:
    """End the keeper of a pit and return who it was, in words; None where nobody keeps it.

    Raises
    ------
    FireboxError
        It could not be ended.
    """
    from firebox.keeper import background

    ended = background.stop(watched.journal)
    return None if ended is None else ended.describe()


def watch(watched: Watched, *, theme: str | None = None, ascii_only: bool = False) -> None:
    """Show a pit on the dashboard, starting its keeper where there is none; a demo ends with its dashboard.

    Raises
    ------
    FireboxError
        The keeper could not be started.
    """
    from firebox.journal.reader import JournalLink

    if not is_kept(watched):
        start(watched)
    link = JournalLink(watched.journal, watched.name)
    _show(watched, link, theme, ascii_only=ascii_only, revive=lambda: start(watched))
    if watched.kind is Kind.DEMO:
        stop(watched)


def watch_afar(watched: Watched, *, theme: str | None = None, ascii_only: bool = False) -> None:
    """Show a pit that another computer keeps, over the broker, and call people in this device's own ways.

    Raises
    ------
    ConfigError
        No broker is configured, a password or an address cannot be read, or a certificate cannot be used.
    """
    from drivers.silence import ALARM
    from firebox.keeper.calling import CallingLink
    from firebox.keeper.clock import SteadyClock

    link = link_afar(watched)
    try:
        called = ways(watched.config, SteadyClock(), lambda: link.status().kind is Kind.LIVE, _logged)
        calling = CallingLink(link, called, ALARM) if called else link
        _show(watched, calling, theme, ascii_only=ascii_only)
    finally:
        link.close()


# --- practising ----------------------------------------------------------------------------------


class PracticeWish(Struct, frozen=True, kw_only=True):
    """What was said on the command line of the round to practise; None: not said."""

    scenario: str | None = None
    pit: str | None = None
    weather: str | None = None
    wood: str | None = None
    seed: int | None = None
    pace: float | None = None
    advice: str | None = None


def practise(wish: PracticeWish, *, theme: str | None = None, ascii_only: bool = False) -> None:
    """Let rounds be practised until the cook leaves; without a scenario the opening screen asks.

    Nothing of it touches a real pit: its journal lies in a folder of its own, and nobody is called.

    Raises
    ------
    ConfigError
        Something that was wished is not known.
    HeldError
        Another round is being practised.
    """
    from firebox.keeper.logs import write_log
    from firebox.practice import rounds
    from tui.practice.opening import Opened

    folder = locations.practice_folder()
    write_log(folder / "practice.log")
    look = folder / "look.json"
    preferences = _preferences(Config(), _remembered(look), theme, ascii_only=ascii_only)
    remember = _remembering(look, preferences)
    wishes = _wished(wish)
    opened = None
    if wish.scenario is not None:
        chosen = rounds.choose(wish.scenario, pit=wish.pit, weather=wish.weather, wood=wish.wood, seed=wishes.seed)
        opened = Opened(choice=chosen, wishes=wishes)
    while True:
        opened = opened or _opening(folder, wishes, preferences, remember)
        if opened is None:
            return
        wishes = opened.wishes
        again = _round(opened, folder, preferences, remember)
        preferences = _preferences(Config(), _remembered(look), theme, ascii_only=ascii_only)
        opened = opened if again else None


def _wished(wish: PracticeWish) -> "Wishes":
    """Return what the opening screen begins with.

    Raises
    ------
    ConfigError
        A name is not known.
    """
    from firebox.practice import rounds
    from tui.practice.coach_words import Level
    from tui.practice.opening import Wishes

    names = list(rounds.SCENARIOS)
    scenario = wish.scenario or names[0]
    rounds.choose(scenario, pit=wish.pit, weather=wish.weather, wood=wish.wood)
    begun = Wishes(at=names.index(scenario), pit=wish.pit, weather=wish.weather, wood=wish.wood)
    return replace(
        begun,
        seed=wish.seed or begun.seed,
        pace=wish.pace or begun.pace,
        level=begun.level if wish.advice is None else Level(wish.advice),
    )


def _opening(
    folder: Path, wishes: "Wishes", preferences: "Preferences", remember: Callable[["Preferences"], None]
) -> "Opened | None":
    from firebox.keeper import progress
    from firebox.practice import rounds
    from tui.practice.opening import Opening

    played = progress.progress(progress.read(folder / "rounds.jsonl"))
    opening = Opening(
        rounds.menu(),
        played,
        wishes,
        preferences,
        remember=remember,
        encoding=sys.stdout.encoding,
        uncoloured="NO_COLOR" in os.environ,
    )
    return opening.run()


def _round(
    opened: "Opened", folder: Path, preferences: "Preferences", remember: Callable[["Preferences"], None]
) -> bool:
    """Play one round; return whether the same is wanted again."""
    from firebox.keeper.practising import PracticeLink
    from firebox.keeper.twinning import Twin
    from firebox.practice.rounds import SCENARIOS
    from tui.practice.app import PracticeDashboard

    choice, wishes = opened.choice, opened.wishes
    hour, minute = divmod(round(60.0 * SCENARIOS[choice.scenario].hour), 60)
    start = datetime.now().astimezone().replace(hour=hour, minute=minute, second=0, microsecond=0)
    link = PracticeLink(choice, start.astimezone(UTC), folder, pace=wishes.pace, held=True, twin=Twin(choice))
    dashboard = PracticeDashboard(link, preferences, level=wishes.level, remember=remember, bell=False)
    try:
        dashboard.run()
    finally:
        link.close()
    return dashboard.left == "again"


def _logged(notice: Notice) -> None:
    """Write into the log what became of a notice; this device has no journal."""
    log.info("notice %s by %s: %s", notice.occasion, notice.way, notice.problem or "arrived")


def link_afar(watched: Watched) -> WatchLink:
    """Return the link to a pit that another computer keeps; it listens from now on, until it is closed.

    Raises
    ------
    ConfigError
        As `watch_afar`.
    """
    from drivers.mqtt_link import MqttLink

    options = watched.config.mqtt
    if options is None:
        raise ConfigError(
            f"{watched.config_path}: no [mqtt]: say over which broker the pit is told, as in\n"
            '  [mqtt]\n  broker = { host = "broker.lan" }'
        )
    setup = watched.config.setup(datetime.now(UTC))
    try:
        return MqttLink(options, watched.name, setup, password=password(options.broker))
    except OSError as error:
        raise ConfigError(f"{watched.config_path}: mqtt.broker: {error}") from error


def _show(
    watched: Watched,
    link: WatchLink,
    theme: str | None,
    *,
    ascii_only: bool,
    revive: Callable[[], None] | None = None,
) -> None:
    from firebox.keeper.logs import write_log
    from tui.app import Dashboard

    write_log(watched.log.with_suffix(".dashboard.log"))
    look = locations.look_file(watched.name)
    remembered = _remembered(look)
    preferences = _preferences(watched.config, remembered, theme, ascii_only=ascii_only)
    dashboard = Dashboard(
        link,
        preferences,
        revive=revive,
        remember=_remembering(look, preferences),
        bell=watched.config.notices.bell,
    )
    dashboard.run()


def _preferences(
    config: Config, remembered: Mapping[str, Any], theme: str | None, *, ascii_only: bool
) -> "Preferences":
    """Return how the dashboard begins: as told now, else as it was last changed at a key, else as configured."""
    from tui.preferences import Preferences

    configured = {
        "degrees": config.units.degrees,
        "hours": config.units.clock,
        "mass": config.units.mass,
        "theme": config.dashboard.theme,
        "ascii": config.dashboard.ascii,
        "history_hours": config.dashboard.history_hours,
    }
    told = {"theme": theme, "ascii": ascii_only or None}
    wanted = {**_given(configured), **remembered, **_given(told)}
    return msgspec.convert(wanted, Preferences)


def _given(values: Mapping[str, Any]) -> dict[str, Any]:  # of several types, None where not given
    return {key: value for key, value in values.items() if value is not None}


def _remembered(path: Path) -> dict[str, Any]:  # parts of the preferences, by name
    """Return what was changed at a key before; a file that cannot be used is passed over, and the log says so."""
    from tui.preferences import Preferences

    try:
        kept = msgspec.json.decode(path.read_bytes(), type=dict[str, str | int])
        msgspec.convert(kept, Preferences)
    except FileNotFoundError:
        return {}
    except (OSError, msgspec.DecodeError) as error:  # a part that is not known or out of range is one, too
        log.warning("look not remembered: %s: %s; the configured one is used", path, error)
        return {}
    return dict(kept)


def _remembering(path: Path, begun: "Preferences") -> Callable[["Preferences"], None]:
    """Return what writes down the changes made at keys, and only those: the rest stays as configured."""
    before = msgspec.to_builtins(begun)

    def remember(preferences: "Preferences") -> None:
        now = msgspec.to_builtins(preferences)
        changed = {key: value for key, value in now.items() if value != before[key]}
        before.update(now)
        kept = {**_remembered(path), **changed}  # another dashboard may have changed other parts meanwhile
        fresh = path.with_name(f"{path.name}.new")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            fresh.write_bytes(msgspec.json.format(msgspec.json.encode(kept)))
            fresh.replace(path)
        except OSError as error:
            log.warning("look not written: %s: %s", path, error)

    return remember
