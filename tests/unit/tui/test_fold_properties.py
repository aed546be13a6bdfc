"""Whatever is recorded, in whatever order, can be folded, told and drawn."""

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from firebox import records as r
from firebox.setup import Probe, Role, Setup
from tui.advice import advice, lay_out
from tui.alarm_words import alarm_row, alarms_in_brief, ring_every, strip
from tui.glance import Glance, condition_words, pit_aim, pit_number, pit_trend
from tui.glyphs import FULL, PLAIN
from tui.lines import log_row, meat_lines, probe_row, state_line
from tui.outgoing import Outgoing, newest
from tui.plot import draw
from tui.preferences import Preferences
from tui.scene import cache_key, scene
from tui.view import ViewState, fold, set_aside, standing, undoable

START = datetime(2026, 5, 2, 4, 0, tzinfo=UTC)
times = st.one_of(
    st.floats(0, 60_000).map(lambda seconds: START + timedelta(seconds=seconds)),
    st.datetimes(timezones=st.just(UTC)),
)
names = st.sampled_from(["grate", "grate2", "flat", "stack", "x"])
ids = st.none() | st.sampled_from(["a", "b", "c", "d"])
number = st.floats(-273, 3000)
wild = st.none() | st.floats(width=32)
words = st.text(max_size=20)
five = st.lists(st.floats(width=32), max_size=5).map(tuple)

burning = st.builds(
    r.Burning,
    minutes=st.floats(width=32),
    kg=st.floats(width=32),
    stage=st.sampled_from(r.Stage),
    watts=st.floats(width=32),
)


def some(kind, **fields):
    return st.builds(kind, time=times, **fields)


def entry(kind, **fields):
    return some(kind, id=ids, at=st.none() | times, **fields)


record = st.one_of(
    some(r.Tick),
    some(r.Reading, probe=names, celsius=st.none() | number, status=st.sampled_from(r.Status)),
    some(r.ProbeHealth, probe=names, health=st.sampled_from(r.Health), role=words, text=words),
    some(r.Outlook, probe=names, celsius=wild, drift_per_hour=wild, minutes=st.lists(st.integers(0, 90), max_size=5).map(tuple),
         p10=five, p50=five, p90=five, assumes=st.sampled_from(["nothing more is done", "x"])),
    some(r.Move, split=st.none() | st.builds(r.NextSplit, in_minutes=st.floats(width=32), kg=st.floats(width=32)),
         intake=wild, stack=wild, hold=st.booleans(),
         expected=st.none() | st.builds(r.Expected, minutes=st.integers(0, 600), celsius=st.floats(width=32)), reason=words),
    some(r.Fire, phase=st.sampled_from(r.Phase), heat_watts=wild, wood_left_kg=wild, coal_kg=wild, smoulder_risk=wild,
         need_watts=wild, splits=st.lists(burning, max_size=4).map(tuple)),
    some(r.Meat, probe=names, celsius=wild, drift_per_hour=wild, stage=st.none() | words),
    some(r.Alarm, alarm=words, state=st.sampled_from(r.AlarmState), priority=st.sampled_from(r.Priority), text=words,
         first=words, minutes_until=wild, probe=st.none() | names),
    entry(r.Split, kg=st.none() | st.floats(0, 100)),
    entry(r.Damper, damper=st.sampled_from(r.DamperName), open=st.floats(0, 1)),
    entry(r.Door, door=st.sampled_from(r.DoorName), open=st.booleans()),
    entry(r.Target, celsius=st.floats(0, 400), band=st.none() | st.floats(0.1, 100)),
    entry(r.Lit), entry(r.Out), entry(r.Rake), entry(r.Pit), entry(r.Spritz), entry(r.Wrap), entry(r.MeatOn, on=st.booleans()),
    entry(r.Note, text=words), entry(r.Undo, of=st.sampled_from(["a", "b", "c", "d"])),
    entry(r.Acknowledge, alarm=words), entry(r.Shelve, alarm=words, minutes=st.floats(0, 480)),
    entry(r.Service, alarm=words, out=st.booleans()),
    entry(r.Clock, to=times), entry(r.Resumed, gap_seconds=st.floats(0, 1e6)),
    entry(r.Trouble, what=st.sampled_from(["journal", "source"]), name=words, on=st.booleans(), text=words),
    some(Setup, probes=st.sampled_from([(), (Probe(name="grate", role=Role.GRATE), Probe(name="x", role=Role.GRATE))])),
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.lists(record, max_size=25), st.sampled_from([FULL, PLAIN]))
def test_any_record_sequence_folds_and_can_be_shown(sequence, drawing):
    view = ViewState()
    for one in sequence:
        before = view.seconds
        view = fold(view, one)
        assert view.seconds >= before
    glance = Glance(view=view, seconds=view.seconds, preferences=Preferences(), zone=UTC, drawing=drawing)
    told = (
        pit_number(glance), pit_trend(glance), pit_aim(glance), condition_words(glance).head, alarms_in_brief(view),
        state_line(glance, 78), strip(view), *meat_lines(glance), *(line for _, line in lay_out(advice(glance), 50, 7)),
        *(log_row(glance, line) for line in view.lines), *(alarm_row(glance, a) for a in (*standing(view), *set_aside(view))),
        *(cell for probe in view.probes.values() for cell in probe_row(glance, probe)),
    )  # fmt: skip
    assert all(isinstance(one, str) for one in told)
    assert "nan" not in pit_number(glance) + pit_trend(glance)
    ring_every(view)
    newest(view, Outgoing())
    assert all(line.entry.id for line in undoable(view))
    assert cache_key(glance, 80) == cache_key(glance, 80)
    assert len(draw(scene(glance), 80, 16, drawing)) == 16
