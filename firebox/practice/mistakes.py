"""Mistakes worth a word, kindly, each with its physics in one sentence: pure rules over what was seen and what was done."""

from collections.abc import Callable
from typing import Final

from msgspec import Struct

from firebox.lessons import Coals, Flame, Sight
from firebox.records import Damper, DamperName, Door, DoorName, Entry, Lit, Split

SOON: Final = 12.0 * 60.0
"""s within which a split has not yet shown what it gives."""

HANDS_OFF: Final = 10.0 * 60.0
"""s that the steel takes to answer a damper."""

LONG_OPEN: Final = 90.0
"""s after which an open door costs more than a look is worth."""


class Facts(Struct, frozen=True, kw_only=True):
    """What stands at a moment of the round, seen before a deed is done.

    Attributes
    ----------
    seconds, celsius : float
    slope : float
        Over five minutes. [K/min]
    target, band : float
    sight : Sight
    usual_kg, wood_left : float
        What a medium split weighs, and the wood not yet burnt to coals. [kg]
    split_at, split_kg : float
        When the last wood went on, and how much.
    damper_at : tuple of float
        When dampers were moved, newest last.
    intake, stack : float
    cook_open_for, fire_open_for : float
        How long the doors have stood open. [s]
    dirty_for : float
        How long the smoke has been dirty without a break. [s]
    raked_at : float
    expected : float or None
        Where the watch sees the pit in a quarter of an hour if it is left alone. [degC]
    wet : bool
        The wood is not dry enough to burn well.
    """

    seconds: float
    celsius: float
    slope: float = 0.0
    target: float = 121.0
    band: float = 14.0
    sight: Sight = Sight()
    usual_kg: float = 1.4
    wood_left: float = 0.0
    split_at: float = -1e9
    split_kg: float = 0.0
    damper_at: tuple[float, ...] = ()
    intake: float = 0.4
    stack: float = 1.0
    cook_open_for: float = 0.0
    fire_open_for: float = 0.0
    dirty_for: float = 0.0
    raked_at: float = -1e9
    expected: float | None = None
    wet: bool = False

    @property
    def off(self) -> float:
        """How far the pit is over its target. [K]"""
        return self.celsius - self.target


class Mistake(Struct, frozen=True, kw_only=True):
    """One kind of mistake: when it is one, and what is said of it."""

    topic: str
    text: str
    done: Callable[[Facts, Entry], bool] | None = None
    """Whether a deed is it, given what stood before."""
    seen: Callable[[Facts], bool] | None = None
    """Whether what stands is it, whatever was done."""


def _fed_on_top(facts: Facts, entry: Entry) -> bool:
    fresh = facts.seconds - facts.split_at < SOON and facts.split_kg > 0.5 * facts.usual_kg
    return isinstance(entry, Split) and fresh and facts.off > -2.0 * facts.band


def _fed_hot(facts: Facts, entry: Entry) -> bool:
    return isinstance(entry, Split) and facts.off > facts.band and facts.wood_left > 0.4 * facts.usual_kg


def _fed_much(facts: Facts, entry: Entry) -> bool:
    return isinstance(entry, Split) and (entry.kg or 0.0) > 1.6 * facts.usual_kg


def _fed_nothing(facts: Facts, entry: Entry) -> bool:
    cold = facts.sight.coals is Coals.DEAD and facts.sight.flame is Flame.NONE
    return isinstance(entry, Split) and cold


def _fed_dull(facts: Facts, entry: Entry) -> bool:
    dull = facts.sight.coals in {Coals.DULL, Coals.DEAD} and facts.sight.flame is Flame.NONE
    return isinstance(entry, Split) and dull and (entry.kg or 0.0) > 0.75 * facts.usual_kg


def _fed_wet_and_large(facts: Facts, entry: Entry) -> bool:
    return isinstance(entry, Split) and facts.wet and (entry.kg or 0.0) >= 0.95 * facts.usual_kg


def _is_opened(facts: Facts, entry: Entry) -> bool:
    return isinstance(entry, Damper) and entry.damper is DamperName.INTAKE and entry.open > facts.intake + 0.05


def _aired_a_hump(facts: Facts, entry: Entry) -> bool:
    rising = facts.slope > 0.6 and facts.off > -0.5 * facts.band
    return _is_opened(facts, entry) and rising and facts.wood_left > 0.3 * facts.usual_kg


def _shut_the_stack(facts: Facts, entry: Entry) -> bool:
    if not isinstance(entry, Damper) or entry.damper is not DamperName.STACK:
        return False
    return entry.open < 0.5 and entry.open < facts.stack and not facts.sight.grease


def _starved(facts: Facts, entry: Entry) -> bool:
    if not isinstance(entry, Damper) or entry.damper is not DamperName.INTAKE:
        return False
    tame = facts.off > 1.5 * facts.band or facts.sight.grease
    return entry.open < 0.13 and entry.open < facts.intake and not tame


def _chased(facts: Facts, entry: Entry) -> bool:
    lately = [when for when in facts.damper_at if facts.seconds - when < HANDS_OFF]
    return isinstance(entry, Damper) and len(lately) >= 2 and not facts.sight.grease


def _looked_into_the_flames(facts: Facts, entry: Entry) -> bool:
    return isinstance(entry, Door) and entry.door is DoorName.COOK and entry.open and facts.sight.grease


def _lit_a_fire(facts: Facts, entry: Entry) -> bool:
    return isinstance(entry, Lit) and facts.sight.flame in {Flame.STEADY, Flame.HIGH}


def _waited(facts: Facts) -> bool:
    falling = facts.off < -facts.band and facts.slope < -0.2 and facts.seconds - facts.split_at > 25.0 * 60.0
    return falling and facts.wood_left < 0.15 * facts.usual_kg and facts.split_at > -1e8


MISTAKES: Final = (
    Mistake(
        topic="nothing burns",
        text="Nothing burns in there yet: wood on cold ash only lies there. Light kindling first (l), and lay wood once it"
        " flames well.",
        done=_fed_nothing,
    ),
    Mistake(
        topic="fed on top",
        text="A piece on a piece that has not burnt through: the second only dries in the first one's flames, and then both"
        " come at once, so the hump is twice as high. Give each a quarter of an hour.",
        done=_fed_on_top,
    ),
    Mistake(
        topic="fed hot",
        text="More wood on a pit that is over its band, with wood still to burn: what lies there already cannot be"
        " called back. Wait until the flames sink, then lay less.",
        done=_fed_hot,
    ),
    Mistake(
        topic="a log",
        text="That is a heavy one: heat comes from the surface of the wood, and a large piece has little of it for long"
        " minutes, then too much. Two small ones, one after the other, make a flatter line.",
        done=_fed_much,
    ),
    Mistake(
        topic="dull coals",
        text="Wood needs coals that glow bright: on dull ones it bakes and smokes, because its gas leaves before it is hot"
        " enough to burn. Start with a small dry piece, with more air.",
        done=_fed_dull,
    ),
    Mistake(
        topic="large and wet",
        text="Wet wood first has to boil its water off, and takes that heat from the fire. Small pieces have more surface and"
        " dry sooner: the smallest you have, a little earlier than usual.",
        done=_fed_wet_and_large,
    ),
    Mistake(
        topic="air in the hump",
        text="It was rising by itself: a hump is wood gas burning, and more air burns it faster. Leave the intake while"
        " it climbs; ask what it will be in ten minutes, not what it is now.",
        done=_aired_a_hump,
    ),
    Mistake(
        topic="stack shut",
        text="The hot gas in the stack is what draws the air: half shut, it draws less, and the smoke stays with the meat."
        " Leave the stack open and steer with the intake.",
        done=_shut_the_stack,
    ),
    Mistake(
        topic="starved",
        text="Wood gives off its gas whether there is air for it or not: shut in, it does not burn less, it burns"
        " dirty. To have less heat, lay less wood.",
        done=_starved,
    ),
    Mistake(
        topic="chasing",
        text="A third turn of a damper within ten minutes: the steel takes about so long to answer, so you are steering by"
        " what was, not by what you did. Set it, then hands off.",
        done=_chased,
    ),
    Mistake(
        topic="lid on grease",
        text="Opening the lid on burning grease feeds it: it is short of air, and flames come out to meet you. Lid and"
        " dampers shut until it is out. Never water: it turns to steam at once and throws the fat about.",
        done=_looked_into_the_flames,
    ),
    Mistake(
        topic="lit twice",
        text="It was burning well: kindling on a live fire is a great deal of surface at once, and gives a short, high hump.",
        done=_lit_a_fire,
    ),
    Mistake(
        topic="door open",
        text="The cook door stands open: the air inside is swapped within a minute, and the meat cools from the"
        " skin in. Have everything ready, look once, shut it.",
        seen=lambda facts: facts.cook_open_for > LONG_OPEN,
    ),
    Mistake(
        topic="fire door open",
        text="The firebox door stands open: that is an intake many times as large, and the wood burns as fast as it can."
        " Shut it once the wood has caught.",
        seen=lambda facts: facts.fire_open_for > LONG_OPEN,
    ),
    Mistake(
        topic="smoulder",
        text="The smoke has been dirty for a while: gas leaves the wood faster than flames burn it, and what does not burn"
        " lands on the meat. Give it air, or heat: open the intake a mark, look at the coals.",
        seen=lambda facts: facts.dirty_for > 240.0,
    ),
    Mistake(
        topic="ash",
        text="The coals are dull although the intake is open: ash lies on the grate and lets no air through from below."
        " Rake it out (r).",
        seen=lambda facts: facts.sight.ash and facts.seconds > 900.0,
    ),
    Mistake(
        topic="waited",
        text="The wood is gone and the pit is under its band: steel hides a dying fire for ten minutes, so by the time the"
        " thermometer tells, the coals are half gone. Lay a piece while the last one still flames low.",
        seen=_waited,
    ),
)

FORGIVEN: Final = 20.0 * 60.0
"""s for which the same mistake is not named again."""


def after(facts: Facts, entry: Entry) -> tuple[Mistake, ...]:
    """Return the mistakes that a deed is, given what stood before it; the most telling one first."""
    return tuple(one for one in MISTAKES if one.done is not None and one.done(facts, entry))


def standing(facts: Facts) -> tuple[Mistake, ...]:
    """Return the mistakes that stand, whatever was done."""
    return tuple(one for one in MISTAKES if one.seen is not None and one.seen(facts))
