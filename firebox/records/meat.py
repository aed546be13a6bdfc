"""What is told of each piece of meat."""

from typing import Literal

from msgspec import Struct

from firebox.records.record import Fraction, Instant, Record


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
