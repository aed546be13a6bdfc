"""What flows through the program: one definition for memory, journal, MQTT and the JSON stream.

Records in are `Reading`, the entries of the cook (`Entry` and below), `Setup` (in `firebox.setup`) and `Tick`.
Records out are `Outlook`, `Move`, `Fire`, `Meat`, `Timetable`, `Alarm`, `ProbeHealth`, and the `Tick` that closes an answer.
What became of telling people is a `Notice`; it is only written down.

A constructor does not validate. Outside data enters through `decode` or `from_plain`, and nowhere else.
"""

import re
from collections.abc import Iterator, Mapping
from datetime import datetime
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, Final, Literal

import msgspec
from msgspec import Meta, Struct

from firebox.errors import RecordError, UnknownRecordError

Instant = Annotated[datetime, Meta(tz=True)]
Fraction = Annotated[float, Meta(ge=0, le=1)]
Kg = Annotated[float, Meta(ge=0, le=100)]
Name = Annotated[str, Meta(min_length=1, max_length=64)]
Celsius = Annotated[float, Meta(ge=-273.15, le=3000)]
"""Above 3000 degC nothing that a pit holds is solid: such a number is no temperature."""


class Record(Struct, frozen=True, kw_only=True, tag_field="type"):
    """Anything that happens at an instant."""

    time: Instant


# --- in ------------------------------------------------------------------------------------------


class Status(StrEnum):
    """What a probe source says of its own reading."""

    GOOD = "good"
    OPEN = "open"
    SHORTED = "shorted"
    FAILED = "failed"


class Reading(Record, frozen=True, kw_only=True, tag="reading"):
    """One sample of one probe; `celsius` is None unless `status` is good."""

    probe: Name
    celsius: Celsius | None = None
    status: Status = Status.GOOD


class DamperName(StrEnum):
    INTAKE = "intake"
    STACK = "stack"


class DoorName(StrEnum):
    COOK = "cook"
    FIREBOX = "firebox"


class Entry(Record, frozen=True, kw_only=True, tag_field="entry"):
    """Something the cook did or says; `time` is when it was entered.

    `at` is when it happened, where that was earlier. `id` names the entry so that it can be undone.
    """

    type: Literal["entry"] = "entry"
    id: str | None = None
    at: Instant | None = None


class Split(Entry, frozen=True, kw_only=True, tag="split"):
    """Wood went on the fire."""

    kg: Kg | None = None
    species: str | None = None
    moisture: Annotated[float, Meta(ge=0, le=2)] | None = None


class Damper(Entry, frozen=True, kw_only=True, tag="damper"):
    """A damper now stands at `open`."""

    damper: DamperName
    open: Fraction


class Door(Entry, frozen=True, kw_only=True, tag="door"):
    """A door was opened or closed."""

    door: DoorName = DoorName.COOK
    open: bool


class Target(Entry, frozen=True, kw_only=True, tag="target"):
    """What the pit is to hold: `celsius` plus or minus `band`."""

    celsius: Annotated[float, Meta(ge=0, le=400)]
    band: Annotated[float, Meta(gt=0, le=100)] | None = None


class Lit(Entry, frozen=True, kw_only=True, tag="lit"):
    """The fire is lit, or lit again, with so much kindling and wood."""

    kg: Kg | None = None


class Out(Entry, frozen=True, kw_only=True, tag="out"):
    """The fire is left to die on purpose: the end of a cook."""


class Sleep(Entry, frozen=True, kw_only=True, tag="sleep"):
    """The cook lies down: from here on advice plans for the longest safe sleep, and calls when its wood is due."""


class Awake(Entry, frozen=True, kw_only=True, tag="awake"):
    """The cook is up again."""


class Rake(Entry, frozen=True, kw_only=True, tag="rake"):
    """Ash was raked out or the coals stirred."""


class Pit(Entry, frozen=True, kw_only=True, tag="pit"):
    """What is known of the pit's build; a missing part is not known."""

    chamber_litres: Annotated[float, Meta(gt=0, le=100_000)] | None = None
    wall_mm: Annotated[float, Meta(gt=0, le=500)] | None = None
    firebox_insulated: bool | None = None
    usual_split_kg: Annotated[float, Meta(gt=0, le=100)] | None = None


class Acknowledge(Entry, frozen=True, kw_only=True, tag="acknowledge"):
    """The cook has seen an alarm."""

    alarm: Name


class Shelve(Entry, frozen=True, kw_only=True, tag="shelve"):
    """An alarm is put aside for `minutes`; 0 takes it back."""

    alarm: Name
    minutes: Annotated[float, Meta(ge=0, le=480)]


class Service(Entry, frozen=True, kw_only=True, tag="service"):
    """An alarm is taken out of service, or put back into it."""

    alarm: Name
    out: bool


class Spritz(Entry, frozen=True, kw_only=True, tag="spritz"):
    """The meat was spritzed."""

    probe: Name | None = None


class Wrap(Entry, frozen=True, kw_only=True, tag="wrap"):
    """The meat was wrapped, or unwrapped where `material` is "none"."""

    probe: Name | None = None
    material: Literal["paper", "foil", "none"] = "paper"


class MeatOn(Entry, frozen=True, kw_only=True, tag="meat"):
    """Meat went onto the grate (`on` true) or came off it, to `rest` in air of `celsius`, where these are told."""

    probe: Name | None = None
    on: bool = True
    rest: Literal["counter", "cooler", "oven"] | None = None
    celsius: Annotated[float, Meta(ge=-30, le=150)] | None = None


class Feel(Entry, frozen=True, kw_only=True, tag="feel"):
    """The cook felt the meat: it springs back, gives, or is beyond it ("gone")."""

    probe: Name | None = None
    answer: Literal["springy", "giving", "gone"]


class Turn(Entry, frozen=True, kw_only=True, tag="turn"):
    """The meat was turned round, or moved to another place on the grate: what is hot there now is another spot."""

    probe: Name | None = None
    how: Literal["turned", "moved"] = "turned"


class Weigh(Entry, frozen=True, kw_only=True, tag="weigh"):
    """The meat was weighed, going in or coming out."""

    probe: Name | None = None
    kg: Annotated[float, Meta(gt=0, le=100)]
    when: Literal["in", "out"]


class Picture(Entry, frozen=True, kw_only=True, tag="picture"):
    """The name of a file with a picture that the cook took."""

    probe: Name | None = None
    file: Annotated[str, Meta(min_length=1, max_length=500)]


class Hush(Entry, frozen=True, kw_only=True, tag="hush"):
    """The cook wants to hear no more of one kind of care prompt (`on`), or to hear of it again; never of safety."""

    care: Name
    probe: Name | None = None
    on: bool = True


class Serving(Entry, frozen=True, kw_only=True, tag="serving"):
    """What the meat is planned for: when people sit down, how it is wrapped and rested, who keeps watch.

    The newest that is about a piece counts for it. `sure` is the probability aimed for; `celsius` the holding oven's.
    """

    probe: Name | None = None
    serve: Instant
    wrap: Literal["none", "paper", "foil"] = "none"
    rest: Literal["counter", "cooler", "oven"] = "cooler"
    celsius: Annotated[float, Meta(ge=-30, le=150)] | None = None
    people: Annotated[int, Meta(ge=1, le=12)] = 1
    sure: Annotated[float, Meta(ge=0.5, le=0.99)] = 0.9


class Note(Entry, frozen=True, kw_only=True, tag="note"):
    """The cook's own words."""

    text: Annotated[str, Meta(max_length=2000)]


class Undo(Entry, frozen=True, kw_only=True, tag="undo"):
    """The entry named `of` never happened; undoing an undo brings it back."""

    of: Name


class Answer(Entry, frozen=True, kw_only=True, tag="answer"):
    """The cook answers a question of the watch; `at` is when what it asks about would have happened.

    A yes stands for the entry that the question suggests; it may as well be entered itself.
    """

    question: Name
    about: Literal["split", "damper", "door"] = "split"
    yes: bool


class Clock(Entry, frozen=True, kw_only=True, tag="clock"):
    """The wall clock was set: what was `time` is called `to` from here on. No time passes between the two."""

    to: Instant


class Resumed(Entry, frozen=True, kw_only=True, tag="resumed"):
    """The keeper runs again after `gap_seconds` in which nobody watched."""

    gap_seconds: Annotated[float, Meta(ge=0)]


class Trouble(Entry, frozen=True, kw_only=True, tag="trouble"):
    """The program's own parts report trouble (`on`) or its end; the watch turns it into an alarm."""

    what: Literal["journal", "source", "outlet", "notice", "clock", "keeper", "disk", "power", "heat"]
    name: str
    on: bool
    text: str


class Tick(Record, frozen=True, kw_only=True, tag="tick"):
    """In: answer now. Out: the answer to the tick of this time is complete."""


# --- out -----------------------------------------------------------------------------------------


class Outlook(Record, frozen=True, kw_only=True, tag="outlook"):
    """Where a probe is going: 10, 50 and 90 % points in degC at `minutes` from now, under `assumes`."""

    probe: str
    celsius: float | None
    drift_per_hour: float | None
    minutes: tuple[int, ...]
    p10: tuple[float, ...]
    p50: tuple[float, ...]
    p90: tuple[float, ...]
    assumes: str


class NextSplit(Struct, frozen=True, kw_only=True):
    """The next wood due."""

    in_minutes: float
    kg: float


class Expected(Struct, frozen=True, kw_only=True):
    """What a move is expected to bring: the median at `minutes`."""

    minutes: int
    celsius: float


class Move(Record, frozen=True, kw_only=True, tag="move"):
    """The next move; `split` None: none due in sight; `hold`: touch nothing now; a damper None: leave it.

    `light`: kindling is to be lit; beside a split only where no coals glow that would light it.
    """

    split: NextSplit | None
    intake: float | None
    stack: float | None
    hold: bool
    expected: Expected | None
    reason: str
    light: bool = False


class Phase(StrEnum):
    """What the fire is doing."""

    UNLIT = "unlit"
    STARTING = "starting"
    RISING = "rising"
    STEADY = "steady"
    FALLING = "falling"
    DYING = "dying"
    OUT = "out"
    UNKNOWN = "unknown"


class Stage(StrEnum):
    """How far a split has burned."""

    DRYING = "drying"
    FLAMING = "flaming"
    COALS = "coals"


class Burning(Struct, frozen=True, kw_only=True):
    """A split in the fire: how many minutes ago it went in, what it weighed, its stage, and its part of the heat."""

    minutes: float
    kg: float
    stage: Stage
    watts: float


class Fire(Record, frozen=True, kw_only=True, tag="fire"):
    """The fire as estimated; None where the program does not know."""

    phase: Phase
    heat_watts: float | None = None
    wood_left_kg: float | None = None
    coal_kg: float | None = None
    smoulder_risk: float | None = None
    need_watts: float | None = None
    """Heat that would hold the target."""
    splits: tuple[Burning, ...] = ()


class Resting(Struct, frozen=True, kw_only=True):
    """What comes of meat in a place to rest: of it pulled now, or of it as it rests there already."""

    rest: str
    wrap: str
    """What it is wrapped in there."""
    celsius: float
    """Of the air there."""
    peak_celsius: float
    """How far the middle still climbs; likely."""
    slice_at: Instant | None = None
    """When the middle has come down to slicing temperature; likely. None: not within the look-ahead."""
    hot_until: Instant | None = None
    """Until when nine of ten such pieces stay above hot holding. None: beyond the look-ahead."""


class Meat(Record, frozen=True, kw_only=True, tag="meat"):
    """One meat probe as followed."""

    probe: str
    celsius: float | None
    drift_per_hour: float | None = None
    stage: str | None = None
    cut: str | None = None
    middle_celsius: float | None = None
    """Estimated in the coldest part; the probe may sit elsewhere."""
    outside_celsius: float | None = None
    """Estimated where bark forms."""
    bark: Fraction | None = None
    """How far bark is on its way; 1 is set."""
    bark_at: Instant | None = None
    """When it is likely to be set, as long as it is not."""
    rendered: Fraction | None = None
    tender: tuple[float, ...] | None = None
    """How far connective tissue has given way, 10, 50 and 90 % points; 1 is tender, 2 is too far."""
    weight_lost: float | None = None
    """Share of the raw weight."""
    minutes: tuple[int, ...] = ()
    p10: tuple[float, ...] = ()
    p50: tuple[float, ...] = ()
    p90: tuple[float, ...] = ()
    """Where the probe is going, at `minutes` from now, if the pit holds its target and the meat stays as it lies."""
    ready_from: Instant | None = None
    ready: Instant | None = None
    ready_until: Instant | None = None
    """The 10, 50 and 90 % points of when it is ready; None: beyond the look-ahead. As planned, where it is planned for an
    hour; else as it lies. While it rests: when it has come down to slicing temperature."""
    feel_at: Instant | None = None
    """When to go and feel."""
    feel: str | None = None
    """What to feel for."""
    hints: tuple[str, ...] = ()
    """What may be worth doing now; each may be passed over."""
    safety: tuple[str, ...] = ()
    """Food-safety clocks in words, with their source; the urgent first. They are never to be hidden."""
    safety_urgent: bool = False
    unsafe: Literal["near", "long", "raw"] | None = None
    """Near the end of its time where germs grow, beyond it, or off the heat without being cooked; None: none of these, or not
    told by an older version."""
    where: str | None = None
    """Where it lies: "grate", "counter", "cooler" or "oven"."""
    wrapped: str | None = None
    """In what: "none", "paper" or "foil"."""
    chance: Fraction | None = None
    """Probability that a hand would find it ready now."""
    worth_feeling: bool = False
    """Whether it is time to go and feel: it lies on the grate, is likely enough ready, and no hand has said so yet."""
    felt: str | None = None
    """What the cook's hand said last."""
    pull_low: float | None = None
    pull_high: float | None = None
    """Between which temperatures of its middle eight of ten such pieces are ready. [degC]"""
    pull: str | None = None
    """When to pull it, for the rest that is planned."""
    hold: Literal["hot", "near", "cool"] | None = None
    """How warm it is kept where it rests: above 60 degC, near the limit of hot holding, below that limit; None: on the
    grate, not trusted, or already cooled down on purpose to be kept cold."""
    hot_until: Instant | None = None
    """While it rests: until when nine of ten such pieces stay above hot holding."""
    rests: tuple[Resting, ...] = ()
    """What comes of it where it rests, or of pulling it now."""
    care: tuple[str, ...] = ()
    """What kind of prompt each of `hints` is: the name by which it is hushed."""
    hushed: tuple[str, ...] = ()
    """Prompts that would be given now, but are hushed."""
    kg_in: float | None = None
    kg_out: float | None = None
    """As weighed by the cook."""


class PlanRow(Struct, frozen=True, kw_only=True):
    """One line of a timetable: its 10, 50 and 90 % points, all the same where the cook decides."""

    what: str
    early: Instant
    likely: Instant
    late: Instant
    probe: str | None = None
    cut: str | None = None
    note: str = ""
    done: bool = False

    @property
    def is_set(self) -> bool:
        """Whether the cook decides when it is, or it has been."""
        return self.early == self.late


class Shift(Struct, frozen=True, kw_only=True):
    """A watch of one person at the fire."""

    person: int
    begin: Instant
    end: Instant


class Timetable(Record, frozen=True, kw_only=True, tag="plan"):
    """The plan of the cook as it stands: made before the fire, made anew while the meat shows itself."""

    serve: Instant
    probability: Fraction
    """That every piece is ready, rested and still hot at its hour."""
    minutes_late: float
    """By how much the piece that is latest is likely to be late for the wanted sureness; below 0: time in hand."""
    verdict: str
    """How it stands with the hour, in plain words."""
    live: bool = False
    """Whether what was measured has gone into it."""
    rows: tuple[PlanRow, ...] = ()
    wood_kg: float
    """Wood still to be burnt, with margin."""
    splits: int
    split_kg: float
    minutes_between: float
    fire_hours: float
    """How long the fire is still needed."""
    watches: tuple[Shift, ...] = ()
    advice: tuple[str, ...] = ()
    """What to do if it comes early or late."""


class Question(Record, frozen=True, kw_only=True, tag="question"):
    """Something the readings speak for and nobody logged; open until it is answered, or no answer matters any more.

    `suggests` is the entry that a yes stands for; its `at` is when it would have happened.
    """

    question: Name
    text: str
    open: bool
    suggests: Split | Damper | Door


class Health(StrEnum):
    """What the program thinks of a probe."""

    WAITING = "waiting"
    GOOD = "good"
    OPEN = "open"
    SHORTED = "shorted"
    FAILED = "failed"
    SILENT = "silent"
    STUCK = "stuck"
    IMPLAUSIBLE = "implausible"
    DISAGREEING = "disagreeing"
    CHECKED = "checked"
    """Somebody is checking or moving it: what it reads is no temperature of the pit, and no fault."""


class Signal(StrEnum):
    """The status of a probe as a device: the signals of NAMUR NE 107."""

    GOOD = "good"
    FAILURE = "failure"
    FUNCTION_CHECK = "function-check"
    OUT_OF_SPECIFICATION = "out-of-specification"
    MAINTENANCE_REQUIRED = "maintenance-required"


class ProbeHealth(Record, frozen=True, kw_only=True, tag="probe"):
    """A probe's health has changed."""

    probe: str
    health: Health
    role: str
    text: str
    signal: Signal | None = None
    """None: written before there were signals."""


class AlarmState(StrEnum):
    """ANSI/ISA-18.2-2016, IEC 62682: the states of an alarm."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "returned-unacknowledged"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed"
    OUT_OF_SERVICE = "out-of-service"


class Priority(StrEnum):
    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"
    CRITICAL = "critical"


class Alarm(Record, frozen=True, kw_only=True, tag="alarm"):
    """An alarm has changed state: what happened (`text`), what to do first, and how long until it matters."""

    alarm: str
    state: AlarmState
    priority: Priority
    probe: str | None = None
    text: str
    first: str
    minutes_until: float | None = None


class Occasion(StrEnum):
    """Why somebody is told something."""

    RAISED = "raised"
    REPEATED = "repeated"
    OVER = "over"
    TEST = "test"


class Notice(Record, frozen=True, kw_only=True, tag="notice"):
    """Somebody was to be told of alarms: in which way, what, and whether it arrived."""

    way: Name
    occasion: Occasion
    priority: Priority
    alarms: tuple[str, ...] = ()
    title: str
    text: str
    loudness: Fraction = 1.0
    """For ways that sound: the share of what they can."""
    attempts: Annotated[int, Meta(ge=0)] = 0
    problem: str | None = None
    """Why the last attempt failed; None after an attempt: it arrived."""


class Problem(Struct, frozen=True, kw_only=True):
    """Outside data that could not be used: where it came from, which line, and why."""

    source: str
    line: int
    text: str


# --- codec ---------------------------------------------------------------------------------------

ENTRIES: Final[dict[str, type[Entry]]] = {
    str(kind.__struct_config__.tag): kind
    for kind in (
        Split, Damper, Door, Target, Lit, Out, Rake, Pit, Acknowledge, Shelve, Service, Spritz, Wrap, MeatOn, Feel, Turn,
        Weigh, Picture, Hush, Serving, Sleep, Awake, Note, Undo, Answer, Clock, Resumed,
        Trouble,
    )
}  # fmt: skip
"""Word of the `entry` field -> record type."""

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
