"""The lines of the dashboard: meat, state, probes, entries. Pure."""

from collections.abc import Sequence

from firebox.ports import KeeperStatus
from firebox.records import DamperName, Door, DoorName, Entry, Health
from tui import view as views
from tui.alarm_words import alarms_in_brief
from tui.glance import Glance
from tui.meat_words import plan_in_brief, ready_in_brief
from tui.ribbon import heat_words
from tui.text import HEALTH, PHASE, SIGNAL, UNKNOWN, ago, cut, degrees, entry_words, is_known, mark, mass, span, trend
from tui.view import Line, ProbeView, ViewState


def meat_lines(glance: Glance) -> tuple[str, ...]:
    """Return one line a meat probe: name, temperature, trend, stage, when it is ready; and how the plan stands."""
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
        ready = ready_in_brief(glance, meat)
        if ready:
            words.insert(len(words) if not meat.safety_urgent else 0, ready)
        lines.append(f" {glance.drawing.dot} ".join(words))
    plan = plan_in_brief(glance)
    return (*lines, plan) if plan else tuple(lines)


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
    return ", ".join(_fire_parts(glance))


def _fire_parts(glance: Glance) -> list[str]:
    """Return what is known of the fire, the most needed first."""
    fire = glance.view.fire
    if fire is None:
        return []
    words = [f"fire {PHASE[fire.phase]}"]
    if fire.smoulder_risk is not None and fire.smoulder_risk >= 0.3:
        words.append("DIRTY SMOKE LIKELY")
    if is_known(fire.wood_left_kg):
        words.append(f"wood {mass(fire.wood_left_kg, glance.preferences)}")
    if is_known(fire.coal_kg):
        words.append(f"coals {mass(fire.coal_kg, glance.preferences)}")
    return words


def heat_in_brief(glance: Glance) -> str:
    """Return what the fire gives against what the pit needs, as far as known."""
    fire = glance.view.fire
    if fire is None or fire.heat_watts is None or not is_known(fire.heat_watts):
        return ""
    return heat_words(fire.heat_watts, fire.need_watts if is_known(fire.need_watts) else None)


def dampers_in_brief(glance: Glance) -> str:
    """Return how both dampers stand, as far as told."""
    marks = glance.setup.damper_marks
    words = [f"{name} {mark(glance.stands(name), marks)}" for name in DamperName if glance.stands(name) is not None]
    return ", ".join(words)


def heard(glance: Glance) -> str:
    """Return when any probe was last heard; a keeper that lives does not make up for probes that say nothing."""
    newest = max((probe.heard for probe in glance.view.probes.values() if probe.heard is not None), default=None)
    if newest is None:
        return "no probe heard yet"
    return f"heard {ago(max(glance.silent_for, glance.seconds - newest))}"


def state_line(glance: Glance, width: int) -> str:
    """Return the line at the foot: doors, alarms, heartbeat, probes, and as much of the fire as there is room for."""
    parts = (*doors_open(glance), alarms_in_brief(glance.view), heard(glance), probes_in_brief(glance.view))
    fire = _fire_parts(glance)
    between = f" {glance.drawing.dot} "
    while fire and len(between.join((*parts, ", ".join(fire)))) > width:
        fire.pop()
    return cut(between.join((*parts, ", ".join(fire)) if fire else parts), width)


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


def probe_row(glance: Glance, probe: ProbeView) -> tuple[str, ...]:
    """Return a probe's cells: name, role, health, value, trend of the value, last heard."""
    value = degrees(probe.celsius, glance.preferences) if probe.health is Health.GOOD else HEALTH[probe.health]
    age = None if probe.heard is None else glance.seconds - probe.heard
    return (
        probe.name,
        probe.role,
        value,
        ago(age),
        in_full(probe).removeprefix(f"{probe.name}: "),
    )


def in_full(probe: ProbeView) -> str:
    """Return a probe's name and health in full: as the watch worded it, or the plain word where it said no more."""
    return probe.words or f"{probe.name}: {HEALTH[probe.health]}"


def probe_cells(glance: Glance, probe: ProbeView) -> tuple[str, ...]:
    """Return a probe's cells where there is room: name, role, value, last heard, status signal, health in full."""
    name, role, value, heard, words = probe_row(glance, probe)
    signal = "" if probe.signal is None else SIGNAL[probe.signal]
    return (name, role, value if probe.health is Health.GOOD else UNKNOWN, heard, signal, words)


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
