"""What the cook did or says, and what the keeper has to say of itself: one type an entry."""

from enum import StrEnum
from typing import Annotated, Final, Literal

from msgspec import Meta

from firebox.records.record import Fraction, Instant, Kg, Name, Record


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


ENTRIES: Final[dict[str, type[Entry]]] = {
    str(kind.__struct_config__.tag): kind
    for kind in (
        Split, Damper, Door, Target, Lit, Out, Rake, Pit, Acknowledge, Shelve, Service, Spritz, Wrap, MeatOn, Feel, Turn,
        Weigh, Picture, Hush, Serving, Sleep, Awake, Note, Undo, Answer, Clock, Resumed,
        Trouble,
    )
}  # fmt: skip
"""Word of the `entry` field -> record type."""
