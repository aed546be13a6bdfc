"""Every record survives the way to text and back, whatever is in it, and no text at all is taken for another thing."""

import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import inspect

from firebox.errors import RecordError
from firebox.records import (
    ENTRIES,
    RECORDS,
    Entry,
    Reading,
    Record,
    Status,
    decode,
    encode,
    from_plain,
    parse,
    payload,
    unknown_fields,
)

KINDS = sorted({*ENTRIES.values(), *RECORDS.values()}, key=lambda kind: kind.__name__)

offsets = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
instants = st.datetimes(datetime(1970, 1, 2), datetime(2199, 1, 1), timezones=offsets | st.just(UTC))


def values(kind: inspect.Type) -> st.SearchStrategy[Any]:
    """Return whatever the type of a field allows."""
    match kind:
        case inspect.UnionType():
            return st.one_of(*map(values, kind.types))
        case inspect.NoneType():
            return st.none()
        case inspect.BoolType():
            return st.booleans()
        case inspect.DateTimeType():
            return instants
        case inspect.EnumType():
            return st.sampled_from(kind.cls)
        case inspect.LiteralType():
            return st.sampled_from(kind.values)
        case inspect.IntType():
            return st.integers(
                kind.ge if kind.ge is not None else -(2**40), kind.le if kind.le is not None else 2**40
            )
        case inspect.FloatType():
            low, high = kind.ge if kind.ge is not None else kind.gt, kind.le
            return st.floats(
                low,
                high,
                exclude_min=kind.gt is not None,
                allow_nan=False,
                allow_infinity=False,
                allow_subnormal=False,
            )
        case inspect.StrType():
            return st.text(st.characters(codec="utf-8"), min_size=kind.min_length or 0, max_size=kind.max_length)
        case inspect.VarTupleType():
            return st.lists(values(kind.item_type), max_size=3).map(tuple)
        case inspect.DictType():
            return st.dictionaries(values(kind.key_type), values(kind.value_type), max_size=3)
        case inspect.StructType():
            return st.builds(kind.cls, **{field.name: values(field.type) for field in kind.fields})
    raise TypeError(f"no values known for {kind}")


def records(kind: type[Record]) -> st.SearchStrategy[Record]:
    if kind is Reading:
        good = st.builds(
            Reading, time=instants, probe=st.text(min_size=1, max_size=64), celsius=st.floats(-273.15, 3000)
        )
        bad = st.builds(
            Reading,
            time=instants,
            probe=st.text(min_size=1, max_size=64),
            status=st.sampled_from([status for status in Status if status is not Status.GOOD]),
        )
        return good | bad
    return values(inspect.type_info(kind))


def attempt(read: Callable[[Any], Record], what: Any) -> tuple[Record | None, str]:
    try:
        return read(what), ""
    except RecordError as error:
        return None, str(error)


few = settings(max_examples=30)


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@few
@given(st.data())
def test_a_record_is_the_same_after_a_journey_as_text(kind, data):
    record = data.draw(records(kind))
    line = encode(record)
    assert b"\n" not in line
    assert decode(line) == record
    assert type(decode(line)) is kind
    assert encode(decode(line)) == line
    assert unknown_fields(parse(line), record) == []


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
@few
@given(st.data())
def test_a_payload_is_the_record_without_its_type(kind, data):
    record = data.draw(records(kind))
    plain = json.loads(payload(record))
    assert "type" not in plain
    word = "entry" if isinstance(record, Entry) else next(word for word, known in RECORDS.items() if known is kind)
    assert from_plain({"type": word, **plain}) == record


@given(st.binary() | st.text())
def test_whatever_is_no_record_is_refused_in_words(line):
    record, refusal = attempt(decode, line)
    assert record is not None or refusal


json_values = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)
words = st.sampled_from([*ENTRIES, *RECORDS, "entry"])
fields = st.sampled_from(sorted({name for kind in KINDS for name in kind.__struct_fields__}))
spoilt = st.dictionaries(fields, json_values | st.just("2026-05-02T04:10:05Z"), max_size=6)


@given(words, words, spoilt)
def test_a_record_with_a_wrong_part_is_refused_in_words_and_never_half_taken(kind, entry, parts):
    plain = {"time": "2026-05-02T04:10:05Z", **parts, "type": kind, "entry": entry}
    record, refusal = attempt(from_plain, plain)
    assert refusal if record is None else decode(encode(record)) == record
