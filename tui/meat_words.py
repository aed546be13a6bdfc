"""The page of the meat in words: what a piece is doing, when to go and feel, care, safety, resting. Pure."""

from collections.abc import Sequence
from datetime import datetime
from typing import Final, TypedDict

from firebox.records import Health, Meat, MeatOn, Resting, Serving, Undo
from firebox.setup import Role
from tui import outgoing
from tui import view as views
from tui.glance import Glance
from tui.text import HEALTH, UNKNOWN, clock, degrees, is_known, mass, own_degrees, share, trend

Part = str | tuple[str, str]
"""Words, or words with a style."""

HEAD: Final = "bold $accent"
REST_WORDS: Final = {"counter": "counter", "cooler": "cooler", "oven": "holding oven", "grate": "grate"}


def pieces(glance: Glance) -> tuple[str, ...]:
    """Return the names of the pieces of meat: those told of, and the probes that are meant for meat."""
    names = {probe.name for probe in glance.view.probes.values() if probe.role is Role.MEAT}
    return tuple(sorted(names | set(glance.view.meats)))


def piece_row(glance: Glance, name: str) -> str:
    """Return one line about a piece, for choosing among several."""
    meat = glance.view.meats.get(name)
    probe = glance.view.probes.get(name)
    if probe is not None and probe.health is not Health.GOOD:
        return f"{name}  {HEALTH[probe.health]}"
    if meat is None:
        return f"{name}  not heard yet"
    cut = f" {meat.cut}" if meat.cut else ""
    return f"{name}{cut}  {degrees(meat.celsius, glance.preferences)}  {meat.stage or ''}".rstrip()


def detail(glance: Glance, name: str) -> list[Part]:
    """Return all that is to be said of a piece: what cannot wait first."""
    meat = glance.view.meats.get(name)
    if meat is None:
        return [(f"{name}\n", HEAD), "Nothing heard of it yet: put its probe into the thickest part and plug it in."]
    said: list[Part] = []
    if meat.safety_urgent and meat.safety:
        said += [("FOOD SAFETY: ", "bold reverse"), (f"{own_degrees(meat.safety[0], glance.preferences)}\n", "bold")]
    said += _now(glance, meat)
    said += _next(glance, meat)
    said += _care(glance, meat)
    said += _resting(glance, meat)
    said += _safety(glance, meat)
    return said


# --- what it is doing ----------------------------------------------------------------------------


def _now(glance: Glance, meat: Meat) -> list[Part]:
    preferences = glance.preferences
    probe = glance.view.probes.get(meat.probe)
    trusted = probe is None or probe.health is Health.GOOD
    reads = degrees(meat.celsius, preferences) if trusted else HEALTH[probe.health] if probe else UNKNOWN
    words = [f"probe {reads}"]
    if trusted and is_known(meat.drift_per_hour):
        words[0] += f", {trend(meat.drift_per_hour, preferences)}"
    if is_known(meat.middle_celsius):
        words.append(f"coldest part about {degrees(meat.middle_celsius, preferences)}")
        words.append(f"outside about {degrees(meat.outside_celsius, preferences)}")
    cut = f" {meat.cut}" if meat.cut else ""
    weight = f", {mass(meat.kg_in, preferences)}" if is_known(meat.kg_in) else ""
    where = _where(meat)
    stage = f"  {meat.stage}" if meat.stage else ""
    lines: list[Part] = [
        (f"{meat.probe.upper()}{cut}{weight}{where}", HEAD),
        (f"{stage}\n", "bold"),
        f" {glance.drawing.dot} ".join(words) + "\n",
    ]
    made = _made(glance, meat)
    if made:
        lines.append(made + "\n")
    return lines


def _where(meat: Meat) -> str:
    if meat.where is None:
        return ""
    wrapped = f", in {meat.wrapped}" if meat.wrapped not in (None, "none") else ""
    place = "" if meat.where == "grate" else f", in the {REST_WORDS[meat.where]}"
    if meat.where == "counter":
        place = ", on the counter"
    return place + wrapped


def _made(glance: Glance, meat: Meat) -> str:
    """Return how far bark, fat and tissue have come."""
    words = []
    if is_known(meat.bark):
        at = f", likely set {_clock(glance, meat.bark_at)}" if meat.bark_at else ""
        words.append("bark set" if meat.bark == 1.0 else f"bark {share(meat.bark)}{at}")
    if is_known(meat.rendered):
        words.append(f"fat {share(meat.rendered)} out")
    if meat.tender is not None:
        low, middle, high = meat.tender
        words.append(f"tender {share(middle)} ({share(low)} to {share(high)})")
    if is_known(meat.weight_lost):
        words.append(f"weight {share(meat.weight_lost)} lost")
    if is_known(meat.kg_in) and is_known(meat.kg_out):
        words.append(f"weighed out {mass(meat.kg_out, glance.preferences)}, yield {share(yield_of(meat))}")
    return f" {glance.drawing.dot} ".join(words)


def yield_of(meat: Meat) -> float | None:
    """Return what was weighed coming out as a share of what went in."""
    if meat.kg_in is None or meat.kg_out is None or meat.kg_in <= 0.0:
        return None
    return meat.kg_out / meat.kg_in


def _clock(glance: Glance, instant: datetime | None) -> str:
    return UNKNOWN if instant is None else day_clock(glance, instant)


def day_clock(glance: Glance, instant: datetime) -> str:
    """Return a clock time, with the weekday where it is not today.

    The weekday is that of the cook's zone.
    """
    today = glance.instant(glance.seconds).astimezone(glance.zone).date()
    local = instant.astimezone(glance.zone)
    day = "" if local.date() == today else f"{WEEKDAYS[local.weekday()]} "
    return day + clock(instant, glance.preferences, glance.zone)


WEEKDAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


# --- what comes next -----------------------------------------------------------------------------


def _next(glance: Glance, meat: Meat) -> list[Part]:
    if meat.where not in (None, "grate"):
        return _hold(glance, meat)
    said: list[Part] = []
    if meat.worth_feeling:
        chance = f", {share(meat.chance)} that it is ready" if is_known(meat.chance) else ""
        said += [(f"GO AND FEEL{chance} (then F)\n", "bold reverse")]
    elif meat.feel_at is not None:
        said += [(f"go and feel from {_clock(glance, meat.feel_at)}", "bold")]
        if meat.ready is not None:
            window = f"from {_clock(glance, meat.ready_from)}, a slow one later than can be told"
            if meat.ready_until is not None:
                window = f"{_clock(glance, meat.ready_from)} to {_clock(glance, meat.ready_until)}"
            said.append(f"; likely ready {_clock(glance, meat.ready)}, {window}")
        said.append("\n")
    if meat.felt:
        said.append(f"your hand said last: {meat.felt}\n")
    if meat.feel and "feel" not in meat.care:
        said.append(f"feel for: {meat.feel}\n")
    if meat.pull:
        said.append(f"{meat.pull}{_pull_band(glance, meat)}\n")
    return said


def _pull_band(glance: Glance, meat: Meat) -> str:
    if not (is_known(meat.pull_low) and is_known(meat.pull_high)):
        return ""
    low, high = degrees(meat.pull_low, glance.preferences), degrees(meat.pull_high, glance.preferences)
    return f"; its middle may then read anything from {low} to {high}"


HOLD_WORDS: Final = {
    "hot": "kept hot",
    "near": "NEAR THE LIMIT of hot holding: warm its place, or serve",
    "cool": "BELOW HOT HOLDING: see food safety below",
}


def _hold(glance: Glance, meat: Meat) -> list[Part]:
    said: list[Part] = []
    if meat.hold is not None:
        said.append((HOLD_WORDS[meat.hold], "bold"))
    if meat.ready is not None:
        said.append(
            f"  can be sliced from about {_clock(glance, meat.ready)} (middle at {degrees(60.0, glance.preferences)})"
        )
    if meat.hot_until is not None:
        said.append(f"; stays hot until {_clock(glance, meat.hot_until)}")
    return [*said, "\n"] if said else []


# --- care, resting, safety -----------------------------------------------------------------------


def _care(glance: Glance, meat: Meat) -> list[Part]:
    if not meat.hints and not meat.hushed:
        return []
    said: list[Part] = [("CARE", HEAD), "  may be passed over; H hushes\n"]
    said += [f"- {own_degrees(hint, glance.preferences)}\n" for hint in meat.hints]
    if meat.hushed:
        said.append(f"  hushed: {', '.join(meat.hushed)}\n")
    return said


def _resting(glance: Glance, meat: Meat) -> list[Part]:
    if not meat.rests:
        return []
    on_grate = meat.where in (None, "grate")
    said: list[Part] = [("PULLED NOW" if on_grate else "WHERE IT RESTS", HEAD), "\n"]
    lines = rest_lines(glance, meat.rests, slices=meat.tender is not None)
    return [*said, *(f"{line}\n" for line in lines)]


def rest_lines(glance: Glance, rests: Sequence[Resting], *, slices: bool) -> tuple[str, ...]:
    """Return what comes of a piece in each place to rest, one line each; `slices` for what is sliced at a temperature."""
    lines = []
    for rest in rests:
        where = f"oven {degrees(rest.celsius, glance.preferences)}" if rest.rest == "oven" else rest.rest
        wrap = {"none": "bare", "paper": "paper", "foil": "foil"}[rest.wrap]
        peak = f"climbs to {degrees(rest.peak_celsius, glance.preferences)}"
        sliced = f"slice {_clock(glance, rest.slice_at)}" if rest.slice_at else "cool it to slice"
        sliced = sliced if slices else ""
        hot = f"hot until {_clock(glance, rest.hot_until)}" if rest.hot_until else "stays hot"
        lines.append(f"{f'{where}, {wrap}':<16} {peak:<15} {sliced:<16} {hot}".rstrip())
    return tuple(lines)


def _safety(glance: Glance, meat: Meat) -> list[Part]:
    rest = meat.safety[1:] if meat.safety_urgent else meat.safety
    if not rest:
        return []
    return [
        ("FOOD SAFETY", HEAD),
        "  by the probe alone; not to be hushed\n",
        *(f"- {own_degrees(line, glance.preferences)}\n" for line in rest),
    ]


# --- in brief ------------------------------------------------------------------------------------


def ready_in_brief(glance: Glance, meat: Meat) -> str:
    """Return when a piece is likely ready, or can be sliced, in a few words; empty where that is not known."""
    if meat.safety_urgent:
        return "FOOD SAFETY: press i"
    if meat.worth_feeling:
        return "then press F"
    if meat.ready is None:
        return ""
    if meat.where not in (None, "grate"):
        return f"slice {_clock(glance, meat.ready)}"
    return f"ready about {_clock(glance, meat.ready)}"


def serving_of(glance: Glance) -> Serving | None:
    """Return what was last planned for; None where nothing is."""
    found = [deed.entry for deed in glance.view.cook.deeds if isinstance(deed.entry, Serving)]
    return found[-1] if found else None


def plan_in_brief(glance: Glance) -> str:
    """Return how the plan stands, in a line; empty where there is none."""
    plan = views.standing_plan(glance.view)
    return (
        ""
        if plan is None
        else f"serve {day_clock(glance, plan.serve)}: {own_degrees(plan.verdict, glance.preferences)}"
    )


# --- what its questions need ---------------------------------------------------------------------


class MeatDesk(TypedDict):
    """The part of a `Desk` that is about meat."""

    pieces: tuple[str, ...]
    chosen_piece: str | None
    on_grate: dict[str, bool]
    weighed_in: frozenset[str]
    cares: dict[str, dict[str, bool]]
    serving: Serving | None
    feel_doubts: dict[str, str]
    wrap_doubts: dict[str, str]
    lies: dict[str, tuple[str, str]]


def meat_desk(glance: Glance, chosen: str | None) -> MeatDesk:
    """Return what the questions about meat are answered against; `chosen` is the piece that its page shows."""
    names = pieces(glance)
    meats = glance.view.meats
    return MeatDesk(
        pieces=names,
        chosen_piece=chosen,
        on_grate={name: _is_on_grate(glance, name) for name in names},
        weighed_in=frozenset(name for name, meat in meats.items() if meat.kg_in is not None),
        cares={
            name: {**dict.fromkeys(meat.care, False), **dict.fromkeys(meat.hushed, True)}
            for name, meat in meats.items()
        },
        serving=serving_of(glance),
        feel_doubts=_only({name: _feel_doubt(glance, meat) for name, meat in meats.items()}),
        wrap_doubts=_only({name: _wrap_doubt(meat) for name, meat in meats.items()}),
        lies={name: (meat.where or "grate", meat.wrapped or "none") for name, meat in meats.items()},
    )


def _only(doubts: dict[str, str | None]) -> dict[str, str]:
    return {name: doubt for name, doubt in doubts.items() if doubt is not None}


HARDLY_TENDER: Final = 0.4
"""Where nine of ten such pieces are less tender than that, none gives yet."""

HARDLY_HOT: Final = 65.0
"""degC; poultry below that is raw."""

HARDLY_BARK: Final = 0.5


def _feel_doubt(glance: Glance, meat: Meat) -> str | None:
    """Return why a piece can hardly give yet; None: it may."""
    if meat.tender is not None and meat.tender[-1] < HARDLY_TENDER:
        return f"it reads {degrees(meat.celsius, glance.preferences)} and is thought {share(meat.tender[1])} tender"
    if meat.tender is None and meat.celsius is not None and meat.celsius < HARDLY_HOT:
        return f"it reads {degrees(meat.celsius, glance.preferences)}"
    return None


def _wrap_doubt(meat: Meat) -> str | None:
    """Return why a piece should not be wrapped yet; None: it may be."""
    if meat.bark is None or meat.bark >= HARDLY_BARK or meat.where not in (None, "grate"):
        return None
    return f"its bark is {share(meat.bark)}: none sets in a wrap"


def _is_on_grate(glance: Glance, name: str) -> bool:
    """Tell whether a piece lies on the grate as far as entered, entries underway included."""
    told = [deed.entry for deed in glance.view.cook.deeds if isinstance(deed.entry, MeatOn)]
    told += outgoing.underway(glance.outgoing, MeatOn)
    gone = {undo.of for undo in outgoing.underway(glance.outgoing, Undo)}
    about = [entry for entry in told if entry.probe in (None, name) and entry.id not in gone]
    return bool(about) and about[-1].on
