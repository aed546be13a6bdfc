"""From the configuration: the sources, the outlets and the ways to call people, not yet opened."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from firebox.config import locations
from firebox.config.passwords import address, password
from firebox.config.schema import Config
from firebox.links import MqttSourceOptions, PracticeOptions, SourceOptions
from firebox.ports import Announcer, Clock, Kind, Outlet, ProbeSource
from firebox.records import Entry, Notice, Problem
from firebox.ways import PushOptions, WayOptions
from firebox.wiring.watched import kind_of

if TYPE_CHECKING:
    from firebox.thermo.calibration import Correction


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
    if kind_of(config.sources) is Kind.REPLAY:
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
        kind=kind_of(config.sources),
    )
    return [outlet]


def _called(config: Config, clock: Clock, note: Callable[[Notice], None]) -> list[Outlet]:
    return ways(config, clock, lambda: kind_of(config.sources) is Kind.LIVE, note)


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
