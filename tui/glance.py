"""What one look at the dashboard shows: the view at a moment, and the sentences made of it. Pure."""

from collections.abc import Sequence
from datetime import datetime, tzinfo
from enum import StrEnum
from typing import Final

from msgspec import Struct

from firebox.ports import KeeperStatus, Kind
from firebox.records import (
    AlarmState,
    Damper,
    DamperName,
    Door,
    DoorName,
    Entry,
    Health,
    Lit,
    Move,
    Priority,
    Rake,
    Split,
    Spritz,
    Wrap,
)
from firebox.setup import Setup, Wood
from firebox.units import celsius_to, kelvin_to, kg_to
from tui import view as views
from tui.glyphs import FULL, Glyphs
from tui.outgoing import Outgoing
from tui.plot import AHEAD_SECONDS, Scene
from tui.preferences import Preferences
from tui.text import (
    HEALTH,
    PHASE,
    UNKNOWN,
    ago,
    clock,
    countdown,
    degrees,
    difference,
    entry_words,
    is_known,
    mark,
    mass,
    span,
    trend,
    whole,
    wood_words,
)
from tui.view import AlarmView, Line, ProbeView, ViewState

STALE_SECONDS: Final = 5.0
"""Real seconds without any record after which the screen counts as stale: five missed heartbeats."""

DUE_SECONDS: Final = 45.0
"""A move this near is to be done now: no shorter than the walk to the pit."""

KIND_WORDS: Final = {
    Kind.LIVE: "",
    Kind.DEMO: "DEMO FIRE - NOT A REAL PIT",
    Kind.PRACTICE: "PRACTICE FIRE - NOT A REAL PIT",
    Kind.REPLAY: "REPLAY - THIS IS THE PAST",
}

STATE_WORDS: Final = {
    AlarmState.NORMAL: "normal",
    AlarmState.UNACKNOWLEDGED: "unacknowledged",
    AlarmState.ACKNOWLEDGED: "acknowledged",
    AlarmState.RETURNED: "over, unacknowledged",
    AlarmState.SHELVED: "shelved",
    AlarmState.SUPPRESSED: "suppressed",
    AlarmState.OUT_OF_SERVICE: "out of service",
}

_LETTERS: Final = {Rake: "r", Lit: "l", Spritz: "z", Wrap: "w"}


class Glance(Struct, frozen=True, kw_only=True):
    """Everything a widget needs to draw itself."""

    view: ViewState
    seconds: float
    """Logical time now."""
    silent_for: float = 0.0
    """Real seconds since the newest record came."""
    status: KeeperStatus | None = None
    preferences: Preferences
    zone: tzinfo | None = None
    drawing: Glyphs = FULL
    outgoing: Outgoing = Outgoing()
    link_problem: str = ""
    history_hours: int = 2
    can_revive: bool = False

    @property
    def setup(self) -> Setup:
        return self.view.setup or Setup(time=self.instant(0.0))

    @property
    def wood(self) -> Wood:
        return self.setup.wood

    def instant(self, seconds: float) -> datetime:
        return views.instant(self.view, seconds)

    def clock(self, seconds: float, *, with_seconds: bool = False) -> str:
        return clock(self.instant(seconds), self.preferences, self.zone, seconds=with_seconds)


# --- the state of the watch ----------------------------------------------------------------------


class Condition(StrEnum):
    """What the cook must know about the watch itself; the worst that holds."""

    WELL = "well"
    STARTING = "starting"
    BLIND = "blind"
    STALE = "stale"
    UNWATCHED = "unwatched"


class Say(Struct, frozen=True):
    """A headline and the sentence under it."""

    head: str
    body: str = ""


def condition(glance: Glance) -> Condition:
    """Return the worst thing that holds about the watch itself."""
    if glance.status is not None and not glance.status.alive:
        return Condition.UNWATCHED
    if glance.view.epoch is None:
        return Condition.STALE if glance.silent_for > 4 * STALE_SECONDS else Condition.STARTING
    if glance.silent_for > STALE_SECONDS or glance.link_problem:
        return Condition.STALE
    if views.pit_celsius(glance.view) is None:
        return Condition.STARTING if _is_waiting(glance.view) else Condition.BLIND
    return Condition.WELL


def _is_waiting(view: ViewState) -> bool:
    """Tell whether the pit's probes simply have not been heard yet, early in the watch."""
    probe = views.lead(view)
    return view.seconds < 60.0 and (probe is None or probe.health in {Health.WAITING, Health.GOOD})


def condition_words(glance: Glance) -> Say:
    """Return what the banner says about the watch itself; empty when all is well."""
    match condition(glance):
        case Condition.UNWATCHED:
            key = " - press k to start the keeper" if glance.can_revive else " - start it with: firebox keep"
            return Say(f"NOBODY IS WATCHING{key}", f"The keeper does not run. What you see is {_age(glance)} old.")
        case Condition.STALE:
            why = glance.link_problem or "The keeper lives but says nothing."
            return Say(f"STALE: nothing heard for {span(glance.silent_for)}", f"What you see is old. {why}")
        case Condition.BLIND:
            return Say("BLIND: no pit probe can be trusted", blind_reason(glance.view) + " Go and look at the fire.")
        case _:
            return Say("")


def _age(glance: Glance) -> str:
    return span(glance.silent_for)


def blind_reason(view: ViewState) -> str:
    """Return why there is no pit temperature, probe by probe."""
    probe = views.lead(view)
    if probe is None:
        return "No probe at the grate is configured or heard."
    at_grate = [other for other in view.probes.values() if other.role is probe.role]
    return ", ".join(f"{other.name}: {HEALTH[other.health]}" for other in at_grate) + "."


def title(glance: Glance) -> str:
    """Return the pit's name."""
    return glance.status.pit if glance.status else glance.setup.pit


def kind_words(glance: Glance) -> str:
    """Return what sort of fire this is, with its speed; empty for a real pit at its own pace."""
    if glance.status is None:
        return ""
    words, rate = KIND_WORDS[glance.status.kind], glance.status.rate
    speed = "" if rate == 1 else f"x{rate:g}"
    return f"{words} {speed}".strip()


# --- the pit -------------------------------------------------------------------------------------


def pit_number(glance: Glance) -> str:
    """Return the pit's temperature in whole degrees without its scale; "--" when not known."""
    celsius = views.pit_celsius(glance.view)
    if not is_known(celsius) or celsius is None:
        return UNKNOWN
    return whole(celsius_to(celsius, glance.preferences.degrees))


def pit_trend(glance: Glance) -> str:
    """Return where the pit is going, in words, with an arrow beside them."""
    if views.pit_celsius(glance.view) is None:
        return "not known"
    outlook = views.fresh_outlook(glance.view)
    drift = outlook.drift_per_hour if outlook else None
    words = trend(drift, glance.preferences)
    if drift is None or words.startswith("trend"):
        return words
    drawing = glance.drawing
    arrow = drawing.level if words == "steady" else drawing.up if drift > 0 else drawing.down
    return f"{arrow} {words}"


def pit_aim(glance: Glance) -> str:
    """Return the target and where the pit stands against it."""
    aim = views.target(glance.view)
    if aim is None:
        return "no target yet"
    target, band = aim
    words = (
        f"aim {degrees(target, glance.preferences)} {glance.drawing.plus_minus}{difference(band, glance.preferences)}"
    )
    celsius = views.pit_celsius(glance.view)
    return words if celsius is None else f"{words}, {against_band(celsius, target, band, glance.preferences)}"


def against_band(celsius: float, target: float, band: float, preferences: Preferences) -> str:
    """Return "on target", "inside the band", "12 under" or "12 over"."""
    off = celsius - target
    if abs(off) <= band:
        return "inside"
    return f"{difference(abs(off), preferences)} {'over' if off > 0 else 'under'}"


# --- the move ------------------------------------------------------------------------------------


class Advice(Struct, frozen=True, kw_only=True):
    """The next move in words."""

    do: str
    when: str
    why: str = ""
    expect: str = ""
    is_now: bool = False


def due(glance: Glance) -> float | None:
    """Return the logical second at which the next split is due; None where none is in sight."""
    move = views.fresh_move(glance.view)
    if move is None or move.split is None or not is_known(move.split.in_minutes):
        return None
    return glance.view.move_at + 60.0 * move.split.in_minutes


def advice(glance: Glance) -> Advice:
    """Return the next move in words: what, when, why, what is expected."""
    move = views.fresh_move(glance.view)
    if move is None:
        waiting = glance.view.move is None
        return Advice(
            do="NO ADVICE", when="", why="The watch has given none yet." if waiting else "The last is too old."
        )
    wood = _wood_move(glance, move)
    now = [] if move.hold else _dampers(glance, move)
    moment = due(glance)
    left = None if moment is None else moment - glance.seconds
    when = (
        "" if moment is None or left is None else f"at {glance.clock(max(moment, glance.seconds))}, {countdown(left)}"
    )
    why, expect = move.reason, expectation(glance)
    if wood and left is not None and left <= DUE_SECONDS and not move.hold:
        return Advice(
            do=" and ".join((wood.upper(), *now)), when=countdown(left).upper(), is_now=True, why=why, expect=expect
        )
    if now:
        then = f"then {wood} {when}" if wood else ""
        return Advice(
            do=" and ".join(now).upper(), when=f"NOW   {then}".rstrip(), is_now=True, why=why, expect=expect
        )
    if wood:
        return Advice(
            do=wood.upper(), when=f"{when} {glance.drawing.dash} leave it alone until then", why=why, expect=expect
        )
    return Advice(do="LEAVE IT ALONE", when="no wood due in sight", why=why, expect=expect)


def _wood_move(glance: Glance, move: Move) -> str:
    return f"one {wood_words(move.split.kg, glance.wood, glance.preferences)}" if move.split else ""


def _dampers(glance: Glance, move: Move) -> list[str]:
    """Return the damper moves that change something, on the damper's own marks."""
    marks, words = glance.setup.damper_marks, []
    for name, opening in ((DamperName.INTAKE, move.intake), (DamperName.STACK, move.stack)):
        if opening is not None and mark(opening, marks) != mark(stands(glance, name), marks):
            words.append(f"{name} to {mark(opening, marks)}")
    return words


def stands(glance: Glance, name: DamperName) -> float | None:
    """Return how a damper stands as far as told."""
    return glance.view.cook.damper_open(name, glance.seconds, glance.setup)


def expectation(glance: Glance) -> str:
    """Return what the move should bring, and what comes if nothing more is done."""
    move, outlook = views.fresh_move(glance.view), views.fresh_outlook(glance.view)
    parts = []
    if move is not None and move.expected is not None:
        at = glance.clock(glance.view.move_at + 60.0 * move.expected.minutes)
        parts.append(f"{degrees(move.expected.celsius, glance.preferences)} by {at}")
    if outlook is not None and outlook.minutes and outlook.p50:
        index = min(len(outlook.minutes), len(outlook.p50), len(outlook.p10), len(outlook.p90)) // 2
        at = glance.clock(glance.view.outlook_at + 60.0 * outlook.minutes[index])
        low, high = (
            degrees(value, glance.preferences).rstrip("CF") for value in (outlook.p10[index], outlook.p90[index])
        )
        parts.append(f"left alone {degrees(outlook.p50[index], glance.preferences)} by {at} ({low} to {high})")
    return "; ".join(parts)


# --- lines ---------------------------------------------------------------------------------------


def meat_lines(glance: Glance) -> tuple[str, ...]:
    """Return one line a meat probe: name, temperature, trend, stage, the point to go and feel."""
    lines = []
    for name, meat in sorted(glance.view.meats.items()):
        probe = glance.view.probes.get(name)
        if probe is not None and probe.health is not Health.GOOD:
            lines.append(f"{name} {HEALTH[probe.health]}")
            continue
        words = [f"{name} {degrees(meat.celsius, glance.preferences)}"]
        if is_known(meat.drift_per_hour):
            words.append(trend(meat.drift_per_hour, glance.preferences))
        if meat.stage:
            words.append(meat.stage)
        point = next((told.point_celsius for told in glance.setup.probes if told.name == name), None)
        if point is not None:
            words.append(f"feel it at {degrees(point, glance.preferences)}")
        lines.append("  ".join(words))
    return tuple(lines)


def doors_open(glance: Glance) -> tuple[str, ...]:
    """Return which doors stand open, and for how long."""
    words = []
    for name in DoorName:
        if not glance.view.cook.door_open(name, glance.seconds):
            continue
        since = max(
            (
                deed.seconds
                for deed in glance.view.cook.deeds
                if isinstance(deed.entry, Door) and deed.entry.door is name
            ),
            default=glance.seconds,
        )
        words.append(f"{name.upper()} DOOR OPEN {span(glance.seconds - since)}")
    return tuple(words)


def probes_in_brief(view: ViewState) -> str:
    """Return how many probes are good, and which are not."""
    if not view.probes:
        return "no probes yet"
    bad = [
        f"{probe.name} {HEALTH[probe.health]}" for probe in view.probes.values() if probe.health is not Health.GOOD
    ]
    good = len(view.probes) - len(bad)
    return f"probes {good} good" + (f", {', '.join(bad)}" if bad else "")


def fire_in_brief(glance: Glance) -> str:
    """Return the fire's phase, and the wood and coals in it, as far as known."""
    fire = glance.view.fire
    if fire is None:
        return ""
    words = [f"fire {PHASE[fire.phase]}"]
    if is_known(fire.wood_left_kg):
        words.append(f"wood {mass(fire.wood_left_kg, glance.preferences)}")
    if is_known(fire.coal_kg):
        words.append(f"coals {mass(fire.coal_kg, glance.preferences)}")
    if fire.smoulder_risk is not None and fire.smoulder_risk >= 0.3:
        words.append("DIRTY SMOKE LIKELY")
    return ", ".join(words)


def dampers_in_brief(glance: Glance) -> str:
    """Return how both dampers stand, as far as told."""
    marks = glance.setup.damper_marks
    words = [f"{name} {mark(stands(glance, name), marks)}" for name in DamperName if stands(glance, name) is not None]
    return ", ".join(words)


def heard(glance: Glance) -> str:
    """Return when the watch was last heard."""
    return "not heard yet" if glance.view.epoch is None else f"heard {ago(glance.silent_for)}"


def state_parts(glance: Glance) -> tuple[str, ...]:
    """Return the parts of the line at the foot: doors, alarms, heartbeat, probes, fire."""
    parts = (
        *doors_open(glance),
        alarms_in_brief(glance.view),
        heard(glance),
        probes_in_brief(glance.view),
        fire_in_brief(glance),
    )
    return tuple(part for part in parts if part)


# --- alarms --------------------------------------------------------------------------------------


def alarms_in_brief(view: ViewState) -> str:
    """Return the alarms in a few words: how many stand, and which comes first."""
    alarms = views.standing(view)
    aside = len(views.set_aside(view))
    tail = f", {aside} set aside" if aside else ""
    if not alarms:
        return "no alarms" + tail
    first = alarms[0].alarm
    count = f"{len(alarms)} alarms, first: " if len(alarms) > 1 else "alarm: "
    return f"{count}{first.text} ({first.priority}, {STATE_WORDS[first.state]}){tail}"


def alarm_head(alarm: AlarmView, count: int) -> str:
    """Return the banner's first line for the most urgent unacknowledged alarm."""
    priority = alarm.alarm.priority.upper()
    over = "ALARM, NOW OVER" if alarm.alarm.state is AlarmState.RETURNED else "ALARM"
    return f"{priority} {over}" + (f", 1 of {count}" if count > 1 else "")


def until(alarm: AlarmView, seconds: float) -> str:
    """Return how long until an alarm matters; empty where it is not told."""
    if not is_known(alarm.alarm.minutes_until) or alarm.alarm.minutes_until is None:
        return ""
    left = alarm.seconds + 60.0 * alarm.alarm.minutes_until - seconds
    return "it matters now" if left <= DUE_SECONDS else f"{span(left)} until it matters"


def alarm_row(glance: Glance, told: AlarmView) -> str:
    """Return an alarm in the list: since when, priority, state, what, what to do first."""
    alarm = told.alarm
    probe = f" [{alarm.probe}]" if alarm.probe else ""
    return (
        f"{glance.clock(told.seconds)}  {alarm.priority.upper()}, {STATE_WORDS[alarm.state]}{probe}\n"
        f"   {alarm.text}\n   First: {alarm.first}"
    )


RING_SECONDS: Final = {Priority.CRITICAL: 2.0, Priority.HIGH: 4.0, Priority.MEDIUM: 10.0, Priority.LOW: 30.0}
"""Real seconds between two rings of the bell until somebody acknowledges; the project's own choice, in the order of
urgency of IEC 60601-1-8's burst intervals (from memory)."""


def ring_every(view: ViewState) -> float | None:
    """Return how often the bell has to ring; None while there is nothing to ring for."""
    return min((RING_SECONDS[told.alarm.priority] for told in views.ringing(view)), default=None)


# --- entries -------------------------------------------------------------------------------------


def words_of(glance: Glance, entry: Entry) -> str:
    """Return an entry in the cook's words."""
    return entry_words(entry, glance.wood, glance.setup.damper_marks, glance.preferences)


def log_row(glance: Glance, line: Line) -> str:
    """Return an entry in the log: when it happened, what it was, whether it was taken back."""
    late = line.entered - line.seconds
    back = f" (entered {span(late)} later)" if late >= 60 else ""
    gone = "  TAKEN BACK" if views.is_undone(glance.view, line.entry) else ""
    return f"{glance.clock(line.seconds)}  {words_of(glance, line.entry)}{back}{gone}"


def last_splits(view: ViewState) -> Split | None:
    """Return the newest split that stands."""
    splits = view.cook.splits()
    return splits[-1][1] if splits else None


def probe_row(glance: Glance, probe: ProbeView) -> tuple[str, ...]:
    """Return a probe's cells: name, role, health, value, trend of the value, last heard."""
    value = degrees(probe.celsius, glance.preferences) if probe.health is Health.GOOD else HEALTH[probe.health]
    age = None if probe.heard is None else glance.seconds - probe.heard
    return (probe.name, probe.role, value, ago(age), probe.words or HEALTH[probe.health])


def source_row(name: str, status: KeeperStatus) -> tuple[str, ...]:
    """Return a source's cells: name, connection, lines heard, bad lines, last problem."""
    source = status.sources[name]
    connected = "connected" if source.connected else "NOT CONNECTED"
    return (name, connected, f"{source.lines} lines", f"{source.bad_lines} bad", source.last_problem or "")


def table(rows: Sequence[tuple[str, ...]], width: int) -> str:
    """Return cells in columns as wide as their widest, cut to `width`."""
    if not rows:
        return ""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    lines = ("  ".join(cell.ljust(size) for cell, size in zip(row, widths, strict=True)).rstrip() for row in rows)
    return "\n".join(line if len(line) <= width else line[: max(0, width - 2)] + ".." for line in lines)


# --- the picture ---------------------------------------------------------------------------------


def scene(glance: Glance) -> Scene:
    """Return what the chart and the heat ribbon are to show."""
    scale = glance.preferences.degrees
    view = glance.view
    probe = views.lead(view)
    outlook = views.fresh_outlook(view)
    fan: list[tuple[float, float, float, float]] = []
    if outlook is not None:
        if outlook.celsius is not None and is_known(outlook.celsius):
            here = celsius_to(outlook.celsius, scale)
            fan.append((view.outlook_at, here, here, here))
        for minutes, *bands in zip(outlook.minutes, outlook.p10, outlook.p50, outlook.p90, strict=False):
            if all(is_known(value) for value in bands):
                low, middle, high = (celsius_to(value, scale) for value in bands)
                fan.append((view.outlook_at + 60.0 * minutes, low, middle, high))

    def target(seconds: float) -> tuple[float, float]:
        celsius, band = view.cook.target(seconds, glance.setup)
        return celsius_to(celsius, scale), kelvin_to(band, scale)

    def clock_at(seconds: float) -> tuple[int, str]:
        local = glance.instant(seconds).astimezone(glance.zone)
        return local.hour * 60 + local.minute, glance.clock(seconds)

    return Scene(
        now=glance.seconds,
        history_seconds=glance.history_hours * 3600.0,
        trail=tuple((seconds, celsius_to(value, scale)) for seconds, value in probe.trail) if probe else (),
        fan=tuple(fan),
        target=target if view.setup else None,
        marks=marks(glance),
        due=_due_in_sight(glance),
        heat=view.heat,
        gaps=view.gaps,
        clock=clock_at,
    )


def _due_in_sight(glance: Glance) -> float | None:
    moment = due(glance)
    return moment if moment is not None and moment <= glance.seconds + AHEAD_SECONDS else None


def marks(glance: Glance) -> tuple[tuple[float, str], ...]:
    """Return (seconds, letter) of what the cook did; a split carries its weight."""
    found = []
    for deed in glance.view.cook.deeds:
        match deed.entry:
            case Split(kg=kg):
                weight = "" if kg is None else f"{kg_to(kg, glance.preferences.mass):.1f}"
                found.append((deed.seconds, f"s{weight}"))
            case Door(open=True):
                found.append((deed.seconds, "o"))
            case Door():
                continue
            case Damper(damper=damper):
                found.append((deed.seconds, "i" if damper is DamperName.INTAKE else "t"))
            case entry if type(entry) in _LETTERS:
                found.append((deed.seconds, _LETTERS[type(entry)]))
            case _:
                continue
    return tuple(found)


def cache_key(glance: Glance, width: int) -> tuple[object, ...]:
    """Return what the picture depends on: it is drawn anew only when this changes."""
    view = glance.view
    step = (glance.history_hours * 3600.0 + AHEAD_SECONDS) / max(1, width)
    probe = views.lead(view)
    return (
        int(glance.seconds / step),
        probe and (probe.name, len(probe.trail), probe.trail[-1:]),
        view.outlook and (view.outlook.p50, view.outlook.p10, view.outlook.p90),
        view.cook.changes,
        view.heat[-1:],
        view.gaps,
        view.epoch,
        view.setup,
        glance.preferences,
        glance.history_hours,
        _due_in_sight(glance) and int((_due_in_sight(glance) or 0.0) / 60.0),
    )
