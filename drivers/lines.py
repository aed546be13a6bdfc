"""Bytes to readings, without a port: framing and the three ways a device may write its lines.

A `Framer` cuts what arrives into lines, whatever the crumbs; a parser, made from the owner's `LineFormat`, turns one
line into samples. No byte sequence makes either raise: what cannot be used comes back as a problem in words.
"""

import math
import re
from collections.abc import Callable
from typing import Any, Final, get_args

from msgspec import Meta, Struct

from firebox.errors import RecordError
from firebox.links import LineField, LineFormat, Scale
from firebox.records import Celsius, Status, parse
from firebox.units import ABSOLUTE_ZERO_CELSIUS, Degrees, celsius_from

LINE_LIMIT: Final = 512
"""Bytes in a line without its end; the probe line format sets it."""

NAME_LIMIT: Final = 64
_BOUNDS: Final = next(part for part in get_args(Celsius) if isinstance(part, Meta))
_NUMBER: Final = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_NO_NUMBER: Final = frozenset({"nan", "+nan", "-nan", "inf", "+inf", "-inf", "infinity", "-infinity"})
_BARE_NAN: Final = re.compile(rb"(?<=[:\s])[+-]?(?:nan|inf(?:inity)?)(?=\s*[,}])", re.IGNORECASE)


class Sample(Struct, frozen=True):
    """A probe's value without its time; `celsius` is None unless `status` is good."""

    probe: str
    celsius: float | None
    status: Status = Status.GOOD


class Heard(Struct, frozen=True):
    """What one line or message said.

    Attributes
    ----------
    samples : tuple of Sample
    problems : tuple of str
        What could not be used, and what would have been right.
    node : dict or None
        What a probe node tells of itself (`{"node": {...}}`); a `problem` in it is one of the problems too.
    """

    samples: tuple[Sample, ...] = ()
    problems: tuple[str, ...] = ()
    node: dict[str, Any] | None = None  # the node's own words


Parser = Callable[[bytes], Heard]


# --- framing -------------------------------------------------------------------------------------


class Line(Struct, frozen=True):
    """One line as it came, without its end.

    Attributes
    ----------
    number : int
        Counted from 1, blank and over-long lines included.
    data : bytes
        For an over-long line its first bytes.
    too_long : bool
    torn : bool
        The first line after opening: its beginning may be missing.
    """

    number: int
    data: bytes
    too_long: bool = False
    torn: bool = False


class Framer:
    r"""Cuts a stream of bytes into lines; the same lines whatever the size of the chunks.

    Parameters
    ----------
    limit : int
        Longest line in bytes. A longer one is given out once, cut and marked, and skipped to its end.

    Examples
    --------
    >>> framer = Framer()
    >>> framer.feed(b"one\r\ntw"), framer.feed(b"o\n")
    ([Line(number=1, data=b'one', too_long=False, torn=True)], [Line(number=2, data=b'two', too_long=False, torn=False)])
    """

    def __init__(self, limit: int = LINE_LIMIT) -> None:
        self._limit = limit
        self._rest = b""
        self._skipping = False
        self._number = 0

    def feed(self, chunk: bytes) -> list[Line]:
        """Return the lines that a chunk completes, in order."""
        lines: list[Line] = []
        *whole, rest = chunk.split(b"\n")
        for part in whole:
            self._grow(part, lines)
            if self._skipping:
                self._skipping = False
            else:
                lines.append(self._line(self._rest.removesuffix(b"\r")))
            self._rest = b""
        self._grow(rest, lines)
        return lines

    def _grow(self, part: bytes, lines: list[Line]) -> None:
        if self._skipping:
            return
        self._rest += part
        held = self._rest.removesuffix(b"\r")
        if len(held) > self._limit:
            lines.append(self._line(held[: self._limit], too_long=True))
            self._skipping = True
            self._rest = b""

    def _line(self, data: bytes, *, too_long: bool = False) -> Line:
        self._number += 1
        return Line(self._number, data, too_long, self._number == 1)


# --- values --------------------------------------------------------------------------------------


def celsius_of(value: float, scale: Scale) -> float | None:
    """Return a temperature in degC; None where the number is none that a pit can have.

    Examples
    --------
    >>> celsius_of(212.0, Scale.F), celsius_of(273.15, Scale.K), celsius_of(-400.0, Scale.C)
    (100.0, 0.0, None)
    """
    celsius = value + ABSOLUTE_ZERO_CELSIUS if scale is Scale.K else celsius_from(value, Degrees(scale.value))
    least, most = _BOUNDS.ge, _BOUNDS.le
    if not math.isfinite(celsius) or least is None or most is None or not least <= celsius <= most:
        return None
    return celsius


def hear_number(probe: str, value: float, scale: Scale) -> Heard:
    """Return the sample that a number stands for; NaN and the impossible are a failed probe, not a temperature."""
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    celsius = celsius_of(number, scale)
    if celsius is not None:
        return Heard((Sample(probe, celsius),))
    failed = (Sample(probe, None, Status.FAILED),)
    return Heard(failed) if math.isnan(number) else Heard(failed, (f"{probe}: {number:g} {scale} is no temperature",))


def hear_text(probe: str, text: str, scale: Scale, form: LineFormat) -> Heard:
    """Return the sample that a text stands for: a number, or a word for the probe's state."""
    status = form.status_of(text) or form.status_of(text.strip())
    if status is not None and status is not Status.GOOD:
        return Heard((Sample(probe, None, status),))
    word = text.strip()
    if _NUMBER.fullmatch(word):
        return hear_number(probe, float(word), scale)
    if not word or word.lower() in _NO_NUMBER:
        return Heard((Sample(probe, None, Status.FAILED),))
    return Heard(problems=(f"{probe}: {excerpt(text)} is no number; write 121.4, open, shorted or failed",))


def hear_value(probe: str, value: Any, scale: Scale, form: LineFormat) -> Heard:  # any decoded JSON value
    """Return the sample that a JSON value stands for.

    A number is in `scale`; an object holds `celsius` (in degC, whatever the scale) and may hold `status`; null is a
    failed probe.
    """
    if isinstance(value, bool):
        return Heard(problems=(f"{probe}: {str(value).lower()} is no temperature",))
    if isinstance(value, int | float):
        return hear_number(probe, value, scale)
    if isinstance(value, str):
        return hear_text(probe, value, scale, form)
    if isinstance(value, dict):
        return _hear_object(probe, value)
    if value is None:
        return Heard((Sample(probe, None, Status.FAILED),))
    return Heard(problems=(f"{probe}: a list is no temperature",))


def _hear_object(probe: str, value: dict[str, Any]) -> Heard:
    celsius, word = value.get("celsius"), value.get("status", "good")
    if isinstance(celsius, bool) or not isinstance(celsius, int | float | None):
        return Heard(problems=(f"{probe}: celsius {excerpt(celsius)} is no number",))
    if not isinstance(word, str) or word not in set(Status):
        return Heard(problems=(f"{probe}: status {excerpt(word)}; one of {', '.join(Status)} would be right",))
    status = Status(word)
    if status is not Status.GOOD:
        return Heard((Sample(probe, None, status),))
    if celsius is None:
        return Heard((Sample(probe, None, Status.FAILED),))
    return hear_number(probe, celsius, Scale.C)


def excerpt(value: object, limit: int = 60) -> str:
    """Return a value in quotes, printable and short enough for a message."""
    shown = ascii(value)
    return shown if len(shown) <= limit else f"{shown[:limit]}..."


def name_problem(probe: str) -> str | None:
    """Return why a word cannot name a probe; None where it can."""
    if not 1 <= len(probe) <= NAME_LIMIT or not probe.isprintable():
        return f"{excerpt(probe)} cannot name a probe; 1 to {NAME_LIMIT} printable characters would"
    return None


def gather(parts: list[Heard], node: dict[str, Any] | None = None) -> Heard:
    """Return what several fields said, as one."""
    return Heard(tuple(s for p in parts for s in p.samples), tuple(t for p in parts for t in p.problems), node)


# --- parsers -------------------------------------------------------------------------------------


def make_parser(form: LineFormat) -> Parser:
    """Return the function that reads one line in the owner's format.

    Examples
    --------
    >>> read = make_parser(LineFormat(format="columns", columns=("grate", "", "flat"), unit=Scale.F))
    >>> read(b"212,7,open").samples
    (Sample(probe='grate', celsius=100.0, status=<Status.GOOD: 'good'>), Sample(probe='flat', celsius=None, status=<Status.OPEN: 'open'>))
    """
    return {"json": _json_parser, "pattern": _pattern_parser, "columns": _column_parser}[form.format](form)


def hear_object(plain: dict[str, Any], form: LineFormat) -> Heard:
    """Return what a JSON object with a value per probe says."""
    parts: list[Heard] = []
    node = plain.get("node")
    for field, value in plain.items():
        if field in form.ignore or (field == "node" and isinstance(value, dict)):
            continue
        probe, scale = _place(field, form)
        problem = name_problem(probe)
        parts.append(Heard(problems=(problem,)) if problem else hear_value(probe, value, scale, form))
    if not isinstance(node, dict):
        return gather(parts)
    if isinstance(node.get("problem"), str):
        parts.append(Heard(problems=(f"the node says: {excerpt(node['problem'], 400)}",)))
    return gather(parts, node)


def _place(field: str, form: LineFormat) -> tuple[str, Scale]:
    mapped = form.fields.get(field, LineField())
    return mapped.probe or field, mapped.unit or form.unit


def _json_parser(form: LineFormat) -> Parser:
    def read(line: bytes) -> Heard:
        try:
            plain = _parse_leniently(line)
        except RecordError as error:
            return Heard(problems=(f"{excerpt(line)}: {error}",))
        if not isinstance(plain, dict):
            return Heard(problems=(f"{excerpt(line)}: not a JSON object with a value per probe",))
        return hear_object(plain, form)

    return read


def _parse_leniently(line: bytes) -> Any:  # any JSON value
    """Return the JSON value, with a bare `nan` or `inf`, which small boards write for a dead probe, as null."""
    try:
        return parse(line)
    except RecordError:
        if _BARE_NAN.search(line) is None:
            raise
        return parse(_BARE_NAN.sub(b"null", line))


def _pattern_parser(form: LineFormat) -> Parser:
    pattern = re.compile(form.pattern or "")

    def read(line: bytes) -> Heard:
        match = pattern.search(line.decode(errors="replace"))
        if match is None:
            return Heard(problems=(f"{excerpt(line)}: the pattern does not match",))
        found = [(field, text) for field, text in match.groupdict().items() if text is not None]
        return gather([hear_text(*_spot(field, text, form)) for field, text in found if field not in form.ignore])

    return read


def _column_parser(form: LineFormat) -> Parser:
    def read(line: bytes) -> Heard:
        texts = line.decode(errors="replace").split(form.separator)
        if len(texts) != len(form.columns):  # a line that lost bytes; its numbers may have lost digits
            return Heard(problems=(f"{excerpt(line)}: {len(texts)} columns instead of {len(form.columns)}",))
        named = [(field, text) for field, text in zip(form.columns, texts, strict=True) if field]
        return gather([hear_text(*_spot(field, text, form)) for field, text in named if field not in form.ignore])

    return read


def _spot(field: str, text: str, form: LineFormat) -> tuple[str, str, Scale, LineFormat]:
    probe, scale = _place(field, form)
    return probe, text, scale, form
