"""`firebox plan`, as it is typed."""

import json
import time
from contextlib import closing
from datetime import UTC, datetime, timedelta

import msgspec
import pytest
from click.testing import CliRunner

from firebox.__main__ import cli
from firebox.commands.wanted import when
from firebox.config import locations
from firebox.journal import lock
from firebox.journal.reader import KeeperNote
from firebox.journal.writer import Journal
from firebox.ports import Kind
from firebox.records import PlanRow, Serving, Timetable
from firebox.setup import Setup


@pytest.fixture
def plan(tmp_path, monkeypatch):
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    return lambda *arguments: CliRunner().invoke(cli, ["plan", *arguments])


QUICK = ("--serve", "2105-05-02 18:00", "--rest", "counter")


def test_a_timetable_is_written_where_no_pit_is_configured(plan):
    done = plan(*QUICK, "--meat", "chicken 1.8 kg")
    assert done.exit_code == 0
    assert "serve Sat 2105-05-02 18:00" in done.stdout
    assert "chicken: meat on" in done.stdout
    assert "no pit is configured" in done.stderr


def test_the_meat_of_the_file_is_planned_in_the_cooks_units(plan, tmp_path):
    path = tmp_path / "north.toml"
    path.write_text(
        '[units]\nmass = "lb"\ndegrees = "F"\nclock = 12\n[target]\ntemperature = 275\nhigh = 330\n[[probes]]\nname = "flat"\n'
        '[[meat]]\nprobe = "flat"\ncut = "pork ribs"\nweight = 3\n'
    )
    done = plan(*QUICK, "--config", str(path))
    assert done.exit_code == 0, done.output
    assert "pork ribs, 3.0 lb" in done.stdout
    assert "Sat 06:00 PM  serve" in done.stdout


def test_a_piece_with_its_own_hour_is_served_then(plan):
    done = plan(*QUICK, "--meat", "chicken", "--meat", "pork ribs 1.5kg @ 16:30")
    assert "Sat 16:30  serve" in done.stdout
    assert "Sat 18:00  serve" in done.stdout


def test_grade_and_wind_are_taken(plan):
    done = plan(*QUICK, "--meat", "pork ribs 1.3kg 30mm marbled", "--wind", "windy")
    assert done.exit_code == 0, done.output
    assert "pork ribs, 1.3 kg" in done.stdout
    calm = plan(*QUICK, "--meat", "pork ribs 1.3kg 30mm lean")
    assert calm.stdout != done.stdout


def test_a_plan_as_json_can_be_read(plan):
    done = plan(*QUICK, "--meat", "chicken", "--json")
    made = json.loads(done.stdout)
    assert made["rows"][-1]["what"] == "serve"


def test_a_pit_beyond_the_plan_is_told_in_both_scales(plan):
    done = plan(*QUICK, "--meat", "chicken", "--pit-at", "49C")
    assert done.exit_code == 1
    assert "a pit of 49 C (120 F) is beyond what can be planned; 80 C (176 F) to 200 C (392 F)" in done.stderr + str(
        done.exception
    )


def test_degrees_can_be_said_and_kilograms_speak_for_celsius(plan):
    said = [plan(*QUICK, "--meat", "chicken 1,8kg", "--pit-at", pit) for pit in ("135C", "275F", "135")]
    assert [one.exit_code for one in said] == [0, 0, 0]
    assert said[0].stdout == said[1].stdout == said[2].stdout
    assert " C when it is ready" in said[0].stdout
    assert " F when it is ready" in plan(*QUICK, "--meat", "chicken 4lb", "--pit-at", "275").stdout


def test_a_weight_that_was_not_told_is_said_to_be_assumed_at_once(plan):
    assert "chicken: no weight told, planned for 1.8 kg" in plan(*QUICK, "--meat", "chicken").stderr
    assert "no weight told" not in plan(*QUICK, "--meat", "chicken 1.8kg").stderr


def test_a_calendar_file_is_written(plan, tmp_path):
    assert plan(*QUICK, "--meat", "chicken", "--ical", str(tmp_path / "cook.ics")).exit_code == 0
    assert (tmp_path / "cook.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ("--serve", "noon"),
            '"noon" is no time; "18:00", "6pm", "tomorrow 18:00" or "2026-05-02 18:00" would be right',
        ),
        (("--serve", "25:00"), '"25:00" is no time'),
        (("--serve", "13pm"), '"13pm" is no time'),
        (("--serve", "2026-05-02 18:00", "--meat", "chicken"), '"2026-05-02 18:00" is past; an hour to come'),
        ((*QUICK, "--meat", "cow"), '"cow" is no cut; known are'),
        ((*QUICK, "--meat", "900"), '"900" is no piece of meat; "brisket 5.5kg 80mm marbled" would be right'),
        ((*QUICK, "--meat", "turkey @ 26:00"), '"26:00" is no hour; "@17:30" would be right'),
        ((*QUICK, "--meat", "turkey 900 kg"), "900 kg is no weight of turkey"),
        ((*QUICK, "--meat", "brisket 5.5"), '"brisket 5.5": say the unit of 5.5; "5.5kg", "5.5lb"'),
        (
            (*QUICK, "--meat", "ribs"),
            '"ribs" is no cut; did you mean beef ribs or pork ribs? known are beef ribs, brisket, chicken, pork ribs, pork shoulder, turkey',
        ),
        (
            (*QUICK, "--meat", "chicken", "--pit-at", "hot"),
            '"hot" is no temperature; 250, 250F or 121C would be right',
        ),
        (QUICK, "no meat: say --meat"),
        ((*QUICK, "--meat", "turkey", "--oven", "150"), "--oven: say --rest oven as well"),
        (
            ("--serve", "18:00", "--rest", "oven", "--oven", "100", "--meat", "turkey"),
            "100 F is no holding temperature; 135 to 203 F",
        ),
    ],
    ids=[
        "no time",
        "no such hour",
        "no half of that hour",
        "a day that is past",
        "no cut",
        "no piece",
        "no hour of its own",
        "too heavy",
        "no unit",
        "half a cut",
        "no degrees",
        "no meat",
        "oven without oven",
        "a cold oven",
    ],
)
def test_what_cannot_be_planned_is_told_and_the_status_is_2(plan, arguments, message):
    done = plan(*arguments)
    assert done.exit_code == 2
    assert message in " ".join(done.stderr.split())


def test_a_plan_that_should_have_begun_already_is_moved_on_to_now_and_says_so(plan):
    """Nothing before now can be done any more, and a plan that tells it is none."""
    hour = datetime.now().astimezone() + timedelta(minutes=90)
    done = plan("--serve", f"{hour:%Y-%m-%d %H:%M}", "--meat", "brisket 5.5kg", "--rest", "counter", "--json")
    made = json.loads(done.stdout)
    begun = datetime.now().astimezone() - timedelta(minutes=2)
    assert all(datetime.fromisoformat(row["early"]) >= begun for row in made["rows"])
    assert made["verdict"].startswith("LATE")
    assert "would have been lit" in made["verdict"]
    assert any("salt it now" in line for line in made["advice"])
    assert made["probability"] == 0.0


@pytest.mark.parametrize("told", ["6pm", "18", "18:00", "6:00 PM", "18.00"])
def test_an_hour_is_taken_as_cooks_write_it(told):
    assert (when(told).hour, when(told).minute) == (18, 0)
    assert timedelta() < when(told) - datetime.now().astimezone() <= timedelta(hours=25)


def test_tomorrow_is_the_day_after_this_one():
    tomorrow = datetime.now().astimezone().date() + timedelta(days=1)
    assert when("tomorrow 12am").date() == tomorrow
    assert when("tomorrow 12:30pm").hour == 12


def test_a_calendar_that_cannot_be_written_is_told(plan, tmp_path):
    done = plan(*QUICK, "--meat", "chicken", "--ical", str(tmp_path / "no" / "cook.ics"))
    assert done.exit_code == 1
    assert "cannot be written" in done.stderr


# --- the plan of a watch -------------------------------------------------------------------------


@pytest.fixture
def watched(tmp_path, monkeypatch):
    """Return a journal of a pit called north, in which a watch told a plan."""
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    file = locations.config_file("north")
    file.parent.mkdir(parents=True)
    file.write_text('[[probes]]\nname = "flat"\n[[meat]]\nprobe = "flat"\ncut = "brisket"\n[units]\ndegrees = "C"\n')
    journal = Journal(locations.journal_file("north"), time.monotonic)
    journal.begin_cook(Setup(time=TOLD), Kind.LIVE)
    journal.describe_keeper(encode_note("north"))
    yield journal
    journal.close()


TOLD = datetime(2026, 5, 2, 9, tzinfo=UTC)


def encode_note(pit):
    return msgspec.json.encode(KeeperNote(pit=pit, kind=Kind.LIVE, rate=1.0)).decode()


def timetable(**told):
    return Timetable(
        **{
            "time": TOLD,
            "serve": datetime(2026, 5, 2, 16, tzinfo=UTC),
            "probability": 0.8,
            "minutes_late": 20.0,
            "verdict": "tight",
            "live": True,
            "rows": (
                PlanRow(what="meat on", early=TOLD, likely=TOLD, late=TOLD, probe="flat", done=True),
                PlanRow(what="wrap", early=TOLD, likely=TOLD, late=TOLD + timedelta(hours=1), probe="flat"),
            ),
            "wood_kg": 10.0,
            "splits": 7,
            "split_kg": 1.5,
            "minutes_between": 45.0,
            "fire_hours": 5.0,
            "advice": ("be patient",),
            **told,
        }
    )


def test_without_an_hour_the_plan_of_the_watch_is_shown(plan, watched, tmp_path):
    watched.tell([timetable(verdict="old"), timetable()])
    watched.commit()
    done = plan("--pit", "north", "--ical", str(tmp_path / "cook.ics"))
    assert done.exit_code == 0, done.output
    assert "tight" in done.stdout
    assert "old" not in done.stdout
    assert "done: meat on" in done.stdout
    assert "7 splits of 1.5 kg" in done.stdout
    assert "be patient" in done.stdout
    assert "of the last watch; nobody is watching now" in done.stderr
    assert b"SUMMARY:wrap" in (tmp_path / "cook.ics").read_bytes()
    assert json.loads(plan("--pit", "north", "--json").stdout)["verdict"] == "tight"


def test_a_watch_without_a_plan_says_how_to_get_one(plan, watched):
    watched.commit()
    done = plan("--pit", "north")
    assert done.exit_code != 0
    assert "no plan is kept there; say when people sit down with --serve 18:00" in done.output


def test_an_hour_is_left_with_the_watch_that_runs(plan, watched):
    watched.commit()
    with closing(lock.Lock.take(locations.journal_file("north"))):
        done = plan(
            "--pit",
            "north",
            "--serve",
            "2105-05-02 18:00",
            "--keep",
            "--rest",
            "oven",
            "--oven",
            "65",
            "--probe",
            "flat",
        )
    assert done.exit_code == 0, done.output
    ((_, entry),) = watched.inbox()
    assert isinstance(entry, Serving)
    assert (entry.rest, entry.celsius, entry.probe) == ("oven", 65.0, "flat")
    assert entry.serve == datetime.fromisoformat("2105-05-02 18:00").astimezone()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--serve", "18:00", "--keep"), "nobody is watching"),
        (("--serve", "18:00", "--keep", "--probe", "pint"), 'no meat on "pint"; there is flat'),
        (("--keep",), "say --serve WHEN"),
        (("--serve", "18:00", "--probe", "flat"), "it goes with --keep"),
    ],
)
def test_an_hour_that_cannot_be_left_is_told(plan, watched, arguments, message):
    watched.commit()
    done = plan("--pit", "north", *arguments)
    assert done.exit_code != 0
    assert message in done.output
