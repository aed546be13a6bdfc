"""Records to bytes and back: the one door by which outside data enters."""

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, Final

import msgspec

from firebox.errors import RecordError, UnknownRecordError
from firebox.records.entries import ENTRIES, Entry
from firebox.records.meat import Meat
from firebox.records.pit import Fire, Move, Outlook, Question
from firebox.records.readings import Reading, Status, Tick
from firebox.records.record import Record
from firebox.records.timetable import Timetable
from firebox.records.warnings import Alarm, Notice, ProbeHealth

RECORDS: Final[dict[str, type[Record]]] = {
    "reading": Reading, "tick": Tick, "outlook": Outlook, "move": Move, "fire": Fire, "meat": Meat, "plan": Timetable,
    "alarm": Alarm, "probe": ProbeHealth, "notice": Notice, "question": Question,
}  # fmt: skip
"""Word of the `type` field -> record type; entries are told apart by `ENTRIES`, and `firebox.setup` adds itself."""

_encoder: Final = msgspec.json.Encoder()
_plain_decoder: Final = msgspec.json.Decoder()


def kind_of(plain: dict[str, Any]) -> type[Record]:
    """Return the record type that a decoded JSON object claims to be.

    Raises
    ------
    UnknownRecordError
        The type or entry word is not known to this version.
    RecordError
        The object has no usable `type` (or, for entries, no `entry`).
    """
    field = "entry" if plain.get("type") == "entry" else "type"
    kinds: Mapping[str, type[Record]] = ENTRIES if field == "entry" else RECORDS
    word = plain.get(field)
    if not isinstance(word, str):
        raise RecordError(f'no "{field}" in the object; one of {", ".join(sorted(kinds))} would be right')
    if word not in kinds:
        raise UnknownRecordError(f'"{word}" is not a known {field}')
    return kinds[word]


def word_of(entry: Entry) -> str:
    """Return the word of an entry's `entry` field.

    Examples
    --------
    >>> word_of(decode('{"type":"entry","time":"2026-05-02T04:10:05Z","entry":"rake"}'))
    'rake'
    """
    return str(entry.__struct_config__.tag)


def unknown_fields(plain: Any, record: Any) -> list[str]:  # any decoded JSON value, and what was made of it
    """Return the fields of a decoded JSON object that its record does not have, those of its parts as `part.field`."""
    return sorted(set(_unknown(plain, msgspec.to_builtins(record), "")))


def _unknown(plain: Any, known: Any, place: str) -> Iterator[str]:
    if isinstance(plain, dict) and isinstance(known, dict):
        for key, value in plain.items():
            if key in known:
                yield from _unknown(value, known[key], f"{place}{key}.")
            else:
                yield f"{place}{key}"
    elif isinstance(plain, list) and isinstance(known, list | tuple):
        for value, part in zip(plain, known, strict=False):
            yield from _unknown(value, part, place)


def from_plain(plain: Any) -> Record:  # any decoded JSON value may arrive here
    """Return the record that a decoded JSON object stands for; unknown fields are passed over.

    Raises
    ------
    UnknownRecordError
        Well formed, of a type that this version does not know.
    RecordError
        No record; the message says where and why.
    """
    if not isinstance(plain, dict):
        raise RecordError("not a JSON object")
    kind = kind_of(plain)
    try:
        record = msgspec.convert(plain, kind)
    except msgspec.ValidationError as error:
        raise RecordError(f"{error}{_right(str(error), kind)}") from error
    if isinstance(record, Reading) and (record.celsius is None) == (record.status is Status.GOOD):
        raise RecordError(
            f'status "{record.status}" with celsius {record.celsius}; celsius is null exactly when not good'
        )
    return record


def _right(text: str, kind: type[Record]) -> str:
    """Return what would be right, where the decoder's own words do not say so."""
    if "datetime" in text:
        return "; a time is written with its offset, as in 2026-05-02T04:10:05Z"
    wrong = re.search(r"^Invalid enum value .* at `\$\.(\w+)`", text)
    words = _words(kind).get(wrong[1], ()) if wrong else ()
    return f"; one of {', '.join(words)}" if words else ""


@cache
def _words(kind: type[Record]) -> dict[str, tuple[str, ...]]:
    """Return the words that each enumerated field of a record takes."""
    shape = msgspec.inspect.type_info(kind)
    assert isinstance(shape, msgspec.inspect.StructType)
    return {
        field.encode_name: tuple(str(word) for word in field.type.cls)
        for field in shape.fields
        if isinstance(field.type, msgspec.inspect.EnumType)
    }


def parse(line: bytes | str) -> Any:  # any JSON value
    """Return one decoded JSON value.

    Raises
    ------
    RecordError
        Not JSON, or nested beyond reason.
    """
    try:
        return _plain_decoder.decode(line)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise RecordError(f"not JSON: {error}") from error


def decode(line: bytes | str) -> Record:
    """Return the record on one JSON line.

    Raises
    ------
    RecordError
        As `parse` and `from_plain`.

    Examples
    --------
    >>> decode('{"type":"tick","time":"2026-05-02T04:10:05Z"}')
    Tick(time=datetime.datetime(2026, 5, 2, 4, 10, 5, tzinfo=datetime.timezone.utc))
    """
    return from_plain(parse(line))


def encode(record: Record) -> bytes:
    """Return a record as one line of JSON, without the line end.

    Examples
    --------
    >>> encode(decode('{"time":"2026-05-02T06:10:05+02:00","type":"tick"}'))
    b'{"type":"tick","time":"2026-05-02T06:10:05+02:00"}'
    """
    return _encoder.encode(record)


def payload(record: Record) -> bytes:
    """Return a record as its MQTT payload: the JSON object without `type`."""
    plain = msgspec.to_builtins(record)
    plain.pop("type")
    return _encoder.encode(plain)
