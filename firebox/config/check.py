"""Everything that is wrong with a pit's file, at once, in words that say what would be right.

`shape_problems` holds the plain values against the types of the schema; `sense_problems` looks at what only makes
sense together, once the types are right.
"""

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches
from itertools import pairwise
from typing import Any, Final

import msgspec
from msgspec import Struct, inspect

from firebox.config.locator import Place
from firebox.config.schema import RESERVED, Config, ProbeTable, TargetTable
from firebox.errors import RangeError
from firebox.links import MqttSourceOptions, SerialOptions
from firebox.meat import cuts
from firebox.setup import OwnCut, Probe, Role, Setup, Wood, high_limit, low_limit
from firebox.units import Degrees, Mass, celsius_to, kelvin_to, kg_to

SECRET_WORDS: Final = frozenset({"password", "passwd", "pass", "passphrase", "secret", "token"})
"""Keys under which people write what must not stand in this file."""

ADDRESS_WORDS: Final = frozenset({"url", "urls", "address"})
"""The same, where an address holds a secret."""


class Flaw(Struct, frozen=True):
    """One thing that is wrong: where, and in words what and what would be right."""

    place: Place
    text: str


def dotted(place: Place) -> str:
    """Return a place as a person writes it.

    Examples
    --------
    >>> dotted(("probes", 1, "role"))
    'probes[1].role'
    """
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in place)
    return text.removeprefix(".")


# --- shape ---------------------------------------------------------------------------------------


def shape_problems(value: Any, kind: inspect.Type, place: Place = ()) -> Iterator[Flaw]:  # any TOML value
    """Yield what keeps a plain value from being of a type; nothing where `msgspec.convert` would take it.

    Parameters
    ----------
    value : any TOML value
    kind : msgspec.inspect.Type
    place : Place
        Where the value stands.
    """
    match kind:
        case inspect.UnionType():
            yield from _union(value, kind, place)
        case inspect.StructType():
            yield from _table(value, kind, place)
        case inspect.VarTupleType():
            yield from _array(value, kind, place)
        case inspect.DictType():
            yield from _words(value, kind, place)
        case inspect.EnumType():
            yield from _one_of(value, [str(member.value) for member in kind.cls], place)
        case inspect.LiteralType():
            yield from _one_of(value, kind.values, place)
        case inspect.BoolType():
            if not isinstance(value, bool):
                yield Flaw(place, f"{_shown(value)} is not true or false, without quotes")
        case inspect.StrType():
            yield from _text(value, kind, place)
        case inspect.IntType() | inspect.FloatType():
            yield from _number(value, kind, place)
        case _:
            raise TypeError(f"{dotted(place)}: the schema has a {type(kind).__name__}, which is not checked here")


def _union(value: Any, kind: inspect.UnionType, place: Place) -> Iterator[Flaw]:
    kinds = [one for one in kind.types if not isinstance(one, inspect.NoneType)]
    if len(kinds) == 1:
        yield from shape_problems(value, kinds[0], place)
        return
    tables = {one.tag: one for one in kinds if isinstance(one, inspect.StructType)}
    if not isinstance(value, dict):
        yield Flaw(place, f"{_shown(value)} is not a table")
    elif "kind" not in value:
        yield Flaw(place, f"has no kind; write kind = {_choices(tables, ' or ')}")
    elif not isinstance(value["kind"], str) or value["kind"] not in tables:
        yield from _one_of(value["kind"], list(tables), (*place, "kind"))
    else:
        yield from _table(value, tables[value["kind"]], place)


def _table(value: Any, kind: inspect.StructType, place: Place) -> Iterator[Flaw]:
    if not isinstance(value, dict):
        yield Flaw(place, f"{_shown(value)} is not a table")
        return
    fields = {field.encode_name: field for field in kind.fields}
    flaws: list[Flaw] = []
    for key, item in value.items():
        if key in fields:
            flaws.extend(shape_problems(item, fields[key].type, (*place, key)))
        elif key == kind.tag_field:
            flaws.extend(_one_of(item, [kind.tag], (*place, key)))
        else:
            flaws.append(Flaw((*place, key), _unknown(key, [*fields, *([kind.tag_field] if kind.tag_field else [])])))
    flaws.extend(
        Flaw(place, f"has no {name}, which must be given")
        for name, field in fields.items()
        if field.required and name not in value
    )
    yield from flaws or _whole(value, kind, place)


def _whole(value: dict[str, Any], kind: inspect.StructType, place: Place) -> Iterator[Flaw]:
    """Yield what a struct itself refuses when each of its keys is right."""
    try:
        msgspec.convert(value, kind.cls)
    except msgspec.ValidationError as error:
        yield Flaw(place, str(error))


def _unknown(key: str, known: Sequence[str]) -> str:
    if key.lower() in SECRET_WORDS or (key.lower() in ADDRESS_WORDS and "url_file" in known):
        what = next((what for what in ("password", "url") if f"{what}_file" in known), None)
        right = (
            f"name a file that only you can read with {what}_file, or an environment variable with {what}_env"
            if what
            else "it goes in a file or an environment variable, named in the broker's table"
        )
        return f"a secret does not stand in this file; {right}"
    near = get_close_matches(key.lower(), known, n=1, cutoff=0.5)
    hint = f'did you mean "{near[0]}"?' if near else f"known here: {', '.join(known)}"
    return f"not a known key; {hint}"


def _array(value: Any, kind: inspect.VarTupleType, place: Place) -> Iterator[Flaw]:
    if not isinstance(value, list):
        tables = isinstance(kind.item_type, inspect.StructType | inspect.UnionType)
        right = f"write [[{place[-1]}]], one such table each" if tables else "write [ ... ] around the values"
        yield Flaw(place, f"{_shown(value)} is not a list; {right}")
        return
    if len(value) < (kind.min_length or 0):
        yield Flaw(place, f"is empty; at least {kind.min_length} is needed")
    for index, item in enumerate(value):
        yield from shape_problems(item, kind.item_type, (*place, index))


def _words(value: Any, kind: inspect.DictType, place: Place) -> Iterator[Flaw]:
    if not isinstance(value, dict):
        yield Flaw(place, f"{_shown(value)} is not a table")
        return
    for key, item in value.items():
        yield from shape_problems(item, kind.value_type, (*place, key))


def _one_of(value: Any, choices: Sequence[Any], place: Place) -> Iterator[Flaw]:
    if any(type(value) is type(choice) and value == choice for choice in choices):
        return
    near = get_close_matches(value.lower(), map(str, choices), n=1, cutoff=0.5) if isinstance(value, str) else []
    hint = f' (did you mean "{near[0]}"?)' if near else ""
    listed = ", ".join(str(choice) for choice in choices)
    word = str(place[-1])
    wrong = f"does not go with {word}" if word.endswith("s") else f"is not {_a(word)}"
    yield Flaw(place, f"{_shown(value)} {wrong}; one of {listed}{hint}")


def _text(value: Any, kind: inspect.StrType, place: Place) -> Iterator[Flaw]:
    if not isinstance(value, str):
        yield Flaw(place, f"{_shown(value)} is not a text; write it in quotes")
    elif len(value) < (kind.min_length or 0):
        yield Flaw(place, "is empty; leave the key out where there is nothing to say")
    elif kind.max_length is not None and len(value) > kind.max_length:
        yield Flaw(place, f"is {len(value)} characters long; at most {kind.max_length}")
    elif kind.pattern is not None and not re.search(kind.pattern, value):
        yield Flaw(place, f"{_shown(value)} names files and topics: no / \\ + # in it, no dot or space before it")


def _number(value: Any, kind: inspect.IntType | inspect.FloatType, place: Place) -> Iterator[Flaw]:
    whole = isinstance(kind, inspect.IntType)
    if isinstance(value, bool) or not isinstance(value, int if whole else int | float):
        yield Flaw(place, f"{_shown(value)} is not a {'whole ' if whole else ''}number, without quotes")
    elif not (abs(value) < 1e300 and math.isfinite(value)):
        yield Flaw(place, f"{_shown(value)} is not a number to reckon with")
    elif not _within(value, kind):
        yield Flaw(place, f"{_shown(value)} is out of range; {_range(kind)}")


def _within(value: float, kind: inspect.IntType | inspect.FloatType) -> bool:
    return (
        (kind.ge is None or value >= kind.ge)
        and (kind.gt is None or value > kind.gt)
        and (kind.le is None or value <= kind.le)
        and (kind.lt is None or value < kind.lt)
    )


def _range(kind: inspect.IntType | inspect.FloatType) -> str:
    low = f"from {kind.ge:g}" if kind.ge is not None else f"more than {kind.gt:g}" if kind.gt is not None else ""
    high = f"up to {kind.le:g}" if kind.le is not None else f"less than {kind.lt:g}" if kind.lt is not None else ""
    return " ".join(part for part in (low, high) if part)


def _shown(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return f'"{value if len(value) <= 40 else value[:37] + "..."}"'
        case dict():
            return "a table"
        case list():
            return "a list"
        case int() if abs(value) >= 10**20:
            return "a number of more than 20 digits"
        case _:
            return str(value)


def _a(word: str) -> str:
    return f"{'an' if word[:1] in set('aeio') else 'a'} {word}"


def _choices(values: Iterable[Any], joint: str) -> str:
    return joint.join(f'"{value}"' for value in values)


# --- sense ---------------------------------------------------------------------------------------


def sense_problems(config: Config, setup: Setup) -> Iterator[Flaw]:
    """Yield what does not go together in a configuration whose every value has the right type.

    Parameters
    ----------
    config : Config
    setup : Setup
        What the configuration says in SI units, whose ranges it has to meet.
    """
    if config.name.lower() == RESERVED:
        yield Flaw(("pit", "name"), f'"{config.name}" is the demo pit; write another name = "..." under [pit]')
    yield from _twice([probe.name for probe in config.probes], "probes", "a probe")
    yield from _twice([source.name for source in config.sources], "sources", "a source")
    yield from _ways(config)
    yield from _target(config.target, setup, config.units.degrees)
    for index, (table, probe) in enumerate(zip(config.probes, setup.probes, strict=True)):
        yield from _point(table, probe, config.units.degrees, ("probes", index, "point"))
    yield from _wood(config, setup)
    yield from _meat(config, setup)
    known = [probe.name for probe in config.probes]
    for index, source in enumerate(config.sources):
        for place, name in _spoken_of(source, ("sources", index)) if known else ():
            if name not in known:
                near = get_close_matches(name, known, n=1, cutoff=0.5)
                hint = f' (did you mean "{near[0]}"?)' if near else ""
                yield Flaw(place, f'"{name}" is not among the probes: {", ".join(known)}{hint}')


def _twice(names: Sequence[str], table: str, what: str) -> Iterator[Flaw]:
    counts: Counter[str] = Counter()
    for index, name in enumerate(names):
        counts[name] += 1
        if counts[name] == 2:
            earlier = names.index(name)
            yield Flaw(
                (table, index, "name"), f'{what} named "{name}" is already {table}[{earlier}]; give it another'
            )


def _ways(config: Config) -> Iterator[Flaw]:
    names = [config.mqtt.name] if config.mqtt else []
    for index, way in enumerate(config.notices.to):
        if way.name in names:
            yield Flaw(
                ("notices", "to", index, "name"),
                f'"{way.name}" is another way out already; give this one another name',
            )
        names.append(way.name)


def _target(table: TargetTable, setup: Setup, degrees: Degrees) -> Iterator[Flaw]:
    def shown(celsius: float) -> str:
        return f"{celsius_to(celsius, degrees):g} {degrees}"

    target, band = setup.target_celsius, setup.band
    high, low = high_limit(setup, target), low_limit(setup, target)
    edges = f"{shown(round(target - band, 6))} to {shown(round(target + band, 6))}"
    if not 0 <= target <= 400:
        yield Flaw(("target", "temperature"), f"{shown(target)} is out of range; from {shown(0)} up to {shown(400)}")
    elif not 0 < band <= 100:
        most = f"{kelvin_to(100, degrees):g} degrees {degrees}"
        yield Flaw(("target", "band"), f"{table.band:g} is out of range; up to {most} either way")
    elif target + band >= high:
        place = ("target", "band" if table.high is None else "high")
        yield Flaw(place, f"the upper limit, {shown(high)}, is not above the band, {edges}")
    elif target - band <= low:
        place = ("target", "band" if table.low is None else "low")
        yield Flaw(place, f"the lower limit, {shown(low)}, is not below the band, {edges}")


def _point(table: ProbeTable, probe: Probe, degrees: Degrees, place: Place) -> Iterator[Flaw]:
    if probe.point_celsius is None:
        return
    if probe.role is not Role.MEAT:
        yield Flaw(place, f'is for meat, and "{table.name}" has the role {probe.role}; leave it out')
    elif not 0 <= probe.point_celsius <= 150:
        low, high = celsius_to(0, degrees), celsius_to(150, degrees)
        yield Flaw(place, f"{table.point:g} {degrees} is out of range; from {low:g} up to {high:g} {degrees}")


def _wood(config: Config, setup: Setup) -> Iterator[Flaw]:
    mass = config.units.mass
    usual = config.pit.usual_split_weight
    if setup.build.usual_split_kg is not None and setup.build.usual_split_kg > 100:
        yield Flaw(("pit", "usual_split_weight"), _too_heavy(usual, mass))
    sizes = _sizes(setup.wood)
    for (_, lighter), (name, heavier) in pairwise(sizes):
        if heavier <= lighter:
            yield Flaw(("wood", name), "the sizes do not go up from small to medium to large")
    for name, kg in sizes:
        if kg > 100:
            yield Flaw(("wood", name), _too_heavy(kg_to(kg, mass), mass))


def _meat(config: Config, setup: Setup) -> Iterator[Flaw]:
    """Yield what is wrong with the pieces of meat and the owner's own cuts."""
    yield from _twice([table.name for table in config.cut], "cut", "a cut")
    own: list[OwnCut] = []
    for index, cut in enumerate(setup.cuts):
        weight = config.cut[index].weight
        if cut.kg is not None and not 0.1 <= cut.kg <= 100:
            yield Flaw(("cut", index, "weight"), _too_heavy(weight, config.units.mass))
        try:
            cuts.known([*own, cut])
        except RangeError as error:
            yield Flaw(("cut", index), str(error))
        else:
            own.append(cut)
    known = cuts.known(own)
    names = [table.probe for table in config.meat]
    seconds = [table.second for table in config.meat]
    for index, (table, piece) in enumerate(zip(config.meat, setup.meats, strict=True)):
        if names.index(table.probe) < index:
            yield Flaw(("meat", index, "probe"), f'the probe "{table.probe}" is already in another piece of meat')
        if table.cut not in known:
            yield from _one_of(table.cut, list(known), ("meat", index, "cut"))
        if piece.kg is not None and not 0.1 <= piece.kg <= 100:
            yield Flaw(("meat", index, "weight"), _too_heavy(table.weight, config.units.mass))
        yield from _in_meat(table.probe, config, setup, ("meat", index, "probe"))
        if table.second is not None:
            yield from _in_meat(table.second, config, setup, ("meat", index, "second"))
            if table.second in names or seconds.index(table.second) < index:
                yield Flaw(("meat", index, "second"), f'the probe "{table.second}" is already in a piece of meat')


def _in_meat(name: str, config: Config, setup: Setup, place: Place) -> Iterator[Flaw]:
    if not config.probes:
        return
    meat = [probe.name for probe in setup.probes if probe.role is Role.MEAT]
    if name not in meat:
        told = f"there are {', '.join(meat)}" if meat else "none has the role meat"
        yield Flaw(place, f'"{name}" is no probe in meat; {told}')


def _sizes(wood: Wood) -> list[tuple[str, float]]:
    sizes = (("small", wood.small_kg), ("medium", wood.medium_kg), ("large", wood.large_kg))
    return [(name, kg) for name, kg in sizes if kg is not None]


def _too_heavy(weight: float | None, mass: Mass) -> str:
    return f"{weight:g} {mass} is out of range; up to {kg_to(100, mass):.0f} {mass}"


def _spoken_of(source: object, place: Place) -> Iterator[tuple[Place, str]]:
    """Yield (place, name) of each probe that a source's options name."""
    match source:
        case SerialOptions(lines=lines):
            for key, field in lines.fields.items():
                if field.probe is not None:
                    yield (*place, "lines", "fields", key, "probe"), field.probe
            renamed = {key for key, field in lines.fields.items() if field.probe is not None} | set(lines.ignore)
            for index, name in enumerate(lines.columns):
                if name and name not in renamed:
                    yield (*place, "lines", "columns", index), name
            for name in re.compile(lines.pattern or "").groupindex:
                if name not in renamed:
                    yield (*place, "lines", "pattern"), name
        case MqttSourceOptions(topics=topics):
            for index, topic in enumerate(topics):
                if topic.probe is not None and "{" not in topic.probe:
                    yield (*place, "topics", index, "probe"), topic.probe
        case _:
            for index, one in enumerate(getattr(source, "probes", ())):
                yield (*place, "probes", index, "probe"), one.probe
                if getattr(one, "junction", None) is not None:
                    yield (*place, "probes", index, "junction"), one.junction
