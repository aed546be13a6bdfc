"""Find a pit's file, read it, and tell everything that is wrong with it at once.

==================  ==========================================================================
`find`              the file: as told, by the pit's name, or the only one there is
`read`              the file as a `Loaded`: its configuration, and where each value came from
`load`              only the configuration
`name_in`           only the pit's name, even where the file is wrong
`write_first`       a first file, with every key explained, where there is none
==================  ==========================================================================
"""

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from importlib.resources import files
from itertools import count
from pathlib import Path
from typing import Any, Final

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from firebox.config import locations
from firebox.config.check import Flaw, dotted, sense_problems, shape_problems
from firebox.config.locator import Place, locate
from firebox.config.schema import Config, PitName, shape
from firebox.errors import ConfigError, printable
from firebox.links import Broker, MqttSourceOptions, ReplayOptions, SourceOptions, Tls
from firebox.sensors import HwmonOptions, IioOptions, OneWireOptions
from firebox.setup import high_limit, low_limit
from firebox.units import celsius_to, kelvin_to
from firebox.ways import PushOptions, WayOptions

LARGEST: Final = 1 << 20
"""Bytes; a file that large is no configuration."""


class Origin(Struct, frozen=True):
    """A value in force and where it came from."""

    key: str
    value: str
    source: str


class Loaded(Struct, frozen=True, kw_only=True):
    """A configuration with the file that it was read from."""

    config: Config
    path: Path
    lines: Mapping[Place, int] = {}

    def origins(self) -> list[Origin]:
        """Return every value in force, in the order of the schema, and the line it stands on or "default"."""
        values = _values(msgspec.to_builtins(_in_force(self.config)), ())
        return [Origin(dotted(place), value, self._source(place)) for place, value in values]

    def _source(self, place: Place) -> str:
        return f"{self.path.name}, line {self.lines[place]}" if place in self.lines else "default"


def find(path: Path | None = None, pit: str | None = None) -> Path:
    """Return the file of the pit that is meant.

    Parameters
    ----------
    path : Path, optional
        The file, wherever it is.
    pit : str, optional
        The pit's name, for the file of that name in the configuration folder; with neither, the only file there.

    Raises
    ------
    ConfigError
        There is no such file, or there are several to choose from.
    """
    if path is not None:
        return path
    folder = locations.config_folder()
    names = [found.stem for found in locations.configured()]
    if pit is not None and pit in names:
        return locations.config_file(pit)
    if pit is None and len(names) == 1:
        return locations.config_file(names[0])
    if not names:
        raise ConfigError(f"{folder}: no pit is configured there; `firebox watch` writes a first file to fill in")
    wanted = f'there is no "{pit}"' if pit is not None else "there are several pits"
    raise ConfigError(f"{folder}: {wanted}; say --pit with one of {', '.join(names)}")


def load(path: Path) -> Config:
    """Return the configuration in a file; raises as `read`."""
    return read(path).config


def name_in(path: Path) -> str:
    """Return the name of the pit that a file is about, even where the rest of it cannot be used.

    Raises
    ------
    ConfigError
        The file cannot be read.
    """
    try:
        plain = _plain(path, _text(path))
        return msgspec.convert(plain.get("pit", {}), _Named).name or path.stem
    except (ConfigError, msgspec.ValidationError):
        if not path.is_file():
            raise
        return path.stem


class _Named(Struct, frozen=True):
    """The one part of the table `pit` that `name_in` looks at."""

    name: PitName | None = None


def read(path: Path) -> Loaded:
    """Return a file's configuration together with where each value stands.

    Relative paths in it are taken from the file's own folder, and ``~`` is the home folder.

    Raises
    ------
    ConfigError
        The file cannot be read or used; one line of the message for each thing that is wrong.
    """
    text = _text(path)
    plain = _plain(path, text)
    lines = locate(text)
    flaws = list(shape_problems(plain, shape()))
    if flaws:
        raise _refusal(path, lines, flaws)
    config = msgspec.convert(plain, Config)
    if config.pit.name is None:
        config = _named(path, config)
    config = _told_apart(config, lines)
    flaws = list(sense_problems(config, config.setup(datetime.now(UTC))))
    if flaws:
        raise _refusal(path, lines, flaws)
    return Loaded(config=_placed(config, path.absolute().parent), path=path, lines=lines)


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST + 1)
    except OSError as error:
        raise ConfigError(f"{path}: cannot be read: {error.strerror or error}") from error
    if len(raw) > LARGEST:
        raise ConfigError(f"{path}: more than {LARGEST} bytes; a pit's file is a page or two of text")
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise ConfigError(f"{path.name}, line {line}: not UTF-8 text; save the file as UTF-8") from error


def _plain(path: Path, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        what, _, where = str(error).rpartition(" (at ")
        line = where.removeprefix("line ").partition(",")[0]
        if not line.isdecimal():
            line = str(text.count("\n") + 1)  # "at end of document"
        raise ConfigError(f"{path.name}, line {line}: not TOML: {printable(what)}") from error
    except (RecursionError, ValueError) as error:
        raise ConfigError(f"{path.name}: not a usable TOML file: {error}") from error


def _refusal(path: Path, lines: Mapping[Place, int], flaws: list[Flaw]) -> ConfigError:
    def line(flaw: Flaw) -> int:
        place = flaw.place
        while place and place not in lines:
            place = place[:-1]
        return lines.get(place, 1)

    told = [
        printable(f"{path.name}, line {line(flaw)}, {dotted(flaw.place)}: {flaw.text}")
        for flaw in sorted(flaws, key=line)
    ]
    return ConfigError("\n".join(told))


def _named(path: Path, config: Config) -> Config:
    """Return the configuration with the pit named after its file."""
    try:
        pit = msgspec.convert({**msgspec.to_builtins(config.pit), "name": path.stem}, type(config.pit))
    except msgspec.ValidationError as error:
        raise ConfigError(
            f'{path.name}, pit.name: the file\'s name is no name for a pit; write name = "..."'
        ) from error
    return replace(config, pit=pit)


def _told_apart(config: Config, lines: Mapping[Place, int]) -> Config:
    """Return the configuration with sources and ways that were given no name told apart by number: serial, serial2."""
    sources = [source.name for source in config.sources]
    outlets = [way.name for way in config.notices.to]
    reserved = [config.mqtt.name] if config.mqtt else []
    sources = _numbered(sources, ("sources",), lines, [])
    outlets = _numbered(outlets, ("notices", "to"), lines, reserved)
    ways = tuple(replace(way, name=name) for way, name in zip(config.notices.to, outlets, strict=True))
    return replace(
        config,
        sources=tuple(replace(source, name=name) for source, name in zip(config.sources, sources, strict=True)),
        notices=replace(config.notices, to=ways),
    )


def _numbered(names: Sequence[str], table: Place, lines: Mapping[Place, int], reserved: Sequence[str]) -> list[str]:
    """Return names of which none is there twice, except where the owner gave it so himself."""
    told: list[str] = []
    for index, name in enumerate(names):
        if name not in (*told, *reserved) or (*table, index, "name") in lines:
            told.append(name)
            continue
        taken = {*names, *told, *reserved}
        number = next(number for number in count(2) if f"{name}{number}" not in taken)
        told.append(f"{name}{number}")
    return told


# --- paths ---------------------------------------------------------------------------------------


def _placed(config: Config, folder: Path) -> Config:
    """Return the configuration with every path made absolute."""
    mqtt = config.mqtt and replace(config.mqtt, broker=_placed_broker(config.mqtt.broker, folder))
    notices = replace(config.notices, to=tuple(_placed_way(one, folder) for one in config.notices.to))
    sources = tuple(_placed_source(one, folder) for one in config.sources)
    return replace(config, sources=sources, mqtt=mqtt, notices=notices)


def _placed_way(way: WayOptions, folder: Path) -> WayOptions:
    if isinstance(way, PushOptions) and way.url_file is not None:
        return replace(way, url_file=_absolute(way.url_file, folder))
    return way


def _placed_source(source: SourceOptions, folder: Path) -> SourceOptions:
    match source:
        case MqttSourceOptions():
            return replace(source, broker=_placed_broker(source.broker, folder))
        case ReplayOptions():
            return replace(source, file=_absolute(source.file, folder))
        case IioOptions() | HwmonOptions() | OneWireOptions():
            return replace(source, root=_absolute(source.root, folder))
        case _:
            return source


def _placed_broker(broker: Broker, folder: Path) -> Broker:
    password = broker.password_file and _absolute(broker.password_file, folder)
    return replace(broker, tls=broker.tls and _placed_tls(broker.tls, folder), password_file=password)


def _placed_tls(tls: Tls, folder: Path) -> Tls:
    return Tls(
        ca_file=tls.ca_file and _absolute(tls.ca_file, folder),
        certificate_file=tls.certificate_file and _absolute(tls.certificate_file, folder),
        key_file=tls.key_file and _absolute(tls.key_file, folder),
    )


def _absolute(path: str, folder: Path) -> str:
    return str(folder / Path(path).expanduser())


# --- provenance ----------------------------------------------------------------------------------


def _in_force(config: Config) -> Config:
    """Return the configuration with the defaults of the records it becomes, in the cook's units."""
    setup = config.setup(datetime.now(UTC))
    degrees, target = config.units.degrees, setup.target_celsius
    shown = (target, high_limit(setup, target), low_limit(setup, target))
    temperature, high, low = (round(celsius_to(celsius, degrees), 1) for celsius in shown)
    band = round(kelvin_to(setup.band, degrees), 1)
    return replace(
        config,
        target=replace(config.target, temperature=temperature, band=band, high=high, low=low),
        probes=tuple(replace(one, role=probe.role) for one, probe in zip(config.probes, setup.probes, strict=True)),
        dampers=replace(config.dampers, marks=setup.damper_marks),
        wood=replace(config.wood, species=setup.wood.species, moisture=setup.wood.moisture),
    )


def _values(value: Any, place: Place) -> Iterator[tuple[Place, str]]:  # plain data of any shape
    if isinstance(value, dict) and value:
        for key, item in value.items():
            yield from _values(item, (*place, key))
    elif isinstance(value, tuple) and any(isinstance(item, dict) for item in value):
        for index, item in enumerate(value):
            yield from _values(item, (*place, index))
    elif value not in (None, {}, (), ""):
        yield place, msgspec.json.encode(value).decode()


# --- the first file ------------------------------------------------------------------------------


def write_first(path: Path) -> bool:
    """Write a first file with every key explained; return whether it was written.

    A file that is there already is left as it is.

    Raises
    ------
    ConfigError
        The file cannot be written.
    """
    first = files("firebox.config").joinpath("first.toml").read_text("utf-8")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists():
            return False
        with path.open("x", encoding="utf-8") as file:
            file.write(first)
    except OSError as error:
        raise ConfigError(f"{path}: cannot be written: {error.strerror or error}") from error
    return True
