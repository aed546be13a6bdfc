"""`firebox review` and the Parquet file of `firebox export`: which cooks, in which form, and what is said when it cannot be."""

import json
import os
import subprocess
import sys
import time
from datetime import timedelta, timezone
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from msgspec.structs import replace

from firebox.__main__ import cli
from firebox.commands.cooks import meant
from firebox.commands.here import Here
from firebox.config import known as kept
from firebox.config import locations
from firebox.journal import export, lookback
from firebox.journal.history import Cook
from firebox.journal.lock import Lock
from firebox.journal.writer import Journal
from firebox.ports import Kind
from firebox.records import Alarm, Entry, Outlook, Reading, Record, Split, Tick, decode
from firebox.review.whole import review
from firebox.review.wording import Look
from firebox.setup import KnownPit, Learned
from tests.unit.review.hand_made import START, alarm, at, cook, hump, lit, outlook, split

ROOT = Path(__file__).parents[3]
TIMES = (20, 65, 110, 155)


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield tmp_path
    monkeypatch.undo()
    time.tzset()


def night() -> list[Record]:
    return cook(
        200, lambda m: 118.0 + sum(hump(m - one, 14.0) for one in TIMES), lit(), *(split(m, 1.0) for m in TIMES),
        *(outlook(m, 118.0, m5=119.0) for m in range(0, 190, 2)), alarm(90, "fire-dying"),
    )  # fmt: skip


def write(records: list[Record], path: Path, days: int = 2) -> None:
    """Write the same cook on several days."""
    path.parent.mkdir(parents=True, exist_ok=True)
    journal = Journal(path)
    for day in range(days):
        for count, record in enumerate(records):
            moved = replace(record, time=record.time + timedelta(days=day))
            if count == 0:
                journal.begin_cook(moved, Kind.LIVE)  # type: ignore[arg-type]  the first is the setup
            elif isinstance(moved, Reading | Entry | Tick):
                journal.take(moved)
            else:
                journal.tell([moved])
    journal.commit()
    journal.close()


@pytest.fixture
def cooks(home):
    """Two cooks in the journal of the pit north."""
    (home / "config").mkdir()
    (home / "config" / "north.toml").write_text('[units]\ndegrees = "C"\n[wood]\nprice = 0.5\ncurrency = "crowns"\n')
    write(night(), locations.journal_file("north"))


def run(*arguments: str) -> Result:
    return CliRunner().invoke(cli, ["review", *arguments])


def test_the_newest_cook_is_looked_back_on_at_eighty_columns(cooks):
    result = run()
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("Cook 2 of hand-made\nSun 3 May 2026, 16:00")
    for title in (
        "The pit",
        "Out of the band",
        "The rhythm",
        "Wood",
        "Were the forecasts honest?",
        "Alarms",
        "Three things to",
    ):
        assert f"\n{title}" in result.stdout
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    assert "\x1b" not in result.stdout
    assert "\u00a0" not in result.stdout


def test_wood_costs_what_the_file_says_or_what_is_said_now(cooks):
    assert "3.00 crowns" in run().stdout
    told = run("--price", "2", "--money", "shells").stdout
    assert "12.00 shells" in told
    assert "crowns" not in told


def test_a_price_is_that_of_the_cooks_own_unit_of_weight(cooks, home):
    (home / "config" / "north.toml").write_text('[units]\nmass = "lb"\n')
    told = run("--price", "1").stdout
    assert "13.2 lb in all, 13.23" in told  # 6 kg


@pytest.mark.parametrize("words", [["1"], ["--cook", "1"], ["2026-05-02"]])
def test_a_cook_is_named_by_its_number_or_its_day(cooks, words):
    assert run(*words).stdout.startswith("Cook 1 of")


@pytest.mark.parametrize("words", [["1", "2"], ["all"], ["--compare"], ["--cook", "1", "--cook", "2"]])
def test_two_cooks_stand_side_by_side(cooks, words):
    result = run(*words)
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("2 cooks side by side")
    assert "cook 1" in result.stdout
    assert max(len(line) for line in result.stdout.splitlines()) <= 80


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["3"], 'no cook "3"; there are 1, 2'),
        (["yesterday"], 'no cook "yesterday"; there are 1, 2'),
        (["--compare", "1"], "that is one cook only"),
        (["--practice", "--demo"], "--practice is a fire of its own"),
        (["--price", "-1"], "--price"),
    ],
)
def test_what_cannot_be_meant_is_told_and_ends_with_two(cooks, words, why):
    result = run(*words)
    assert result.exit_code == 2
    assert why in result.stderr


def test_the_cooks_are_listed_as_export_lists_them(cooks):
    assert run("--list").stdout == CliRunner().invoke(cli, ["export", "--list"]).stdout


def test_without_a_pit_it_is_said_where_cooks_are_all_the_same(home):
    result = run()
    assert result.exit_code == 2
    assert "no pit is configured there" in result.stderr
    assert "--practice looks back on rounds" in result.stderr
    assert "--demo" in result.stderr


def test_a_cook_that_nobody_ended_and_nobody_keeps_reaches_as_far_as_its_records(cooks):
    journal = locations.journal_file("north")
    _, newest = run("--list").stdout.splitlines()
    assert newest.split()[2:] == ["2026-05-03T16:00:00+00:00", "2026-05-03T19:20:00+00:00"]
    lock = Lock.take(journal)
    try:
        assert run("--list").stdout.splitlines()[1].endswith("going on")
    finally:
        lock.close()


def test_what_is_longer_than_the_terminal_goes_through_its_pager(cooks, tmp_path):
    seen = tmp_path / "seen"
    pager = tmp_path / "pager"
    pager.write_text(f"#!/bin/sh\ncat > {seen}\n")
    pager.chmod(0o755)
    asked = f"{sys.executable} -m firebox review"
    environment = {
        **os.environ,
        "TERM": "xterm-256color",
        "PYTHONPATH": str(ROOT),
        "PAGER": str(pager),
        "LINES": "24",
    }
    subprocess.run(["script", "-qec", asked, "/dev/null"], env=environment, capture_output=True, check=True, cwd=ROOT)
    assert "Three things to try" in seen.read_text()


def test_a_day_is_that_of_the_cooks_own_clock():
    late = Cook(id=7, kind="live", started=START.replace(hour=23, minute=30), ended=None, first_seq=1)
    assert meant("2026-05-02", [late], START.tzinfo) == [late]
    assert meant("2026-05-03", [late], timezone(timedelta(hours=3))) == [late]


def test_a_winters_cook_keeps_its_hours_in_summer(monkeypatch):
    monkeypatch.setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3")
    time.tzset()
    look = Look(zone=Here())
    for month, hour in ((1, "17:30"), (7, "18:30")):
        instant = START.replace(month=month, hour=16, minute=30)
        assert look.local(instant).strftime("%H:%M") == hour
        assert look.local(instant) == instant


def test_a_cook_that_is_not_over_is_told_as_far_as_it_has_come(cooks):
    assert "still going on" not in run().stdout
    lock = Lock.take(locations.journal_file("north"))
    try:
        assert "19:20 and still going on; 3 h 20" in run().stdout
        assert "still going on" not in run("1").stdout
    finally:
        lock.close()


def test_practised_rounds_can_be_looked_back_on():
    write(night(), locations.practice_folder() / "rounds.sqlite", days=1)
    assert "Cook 1 of hand-made" in run("--practice").stdout


def test_figures_come_as_a_line_of_json_a_cook(cooks):
    first, second = (json.loads(line) for line in run("all", "--json").stdout.splitlines())
    assert (first["number"], second["number"]) == (1, 2)
    assert first["fuel"]["splits"] == 4
    assert first["holding"]["inside"] == pytest.approx(second["holding"]["inside"])
    assert [one["kg"] for one in first["rhythm"]["fed"]] == [1.0] * 4


def test_the_page_is_written_where_it_is_wanted(cooks, tmp_path):
    path = tmp_path / "cook.html"
    result = run("1", "--page", str(path))
    assert (result.exit_code, result.stdout) == (0, f"{path}: written\n")
    assert path.read_text().startswith("<!doctype html>")
    result = run("--page", str(tmp_path / "nowhere" / "cook.html"))
    assert result.exit_code == 1
    assert "nowhere" in result.stderr


def without(monkeypatch, *names: str) -> None:
    """Let packages be missing, and what needs them not yet loaded."""
    for name in [
        *names,
        *(loaded for loaded in sys.modules if loaded.startswith(("firebox.report", "firebox.journal.parquet"))),
    ]:
        monkeypatch.delitem(sys.modules, name, raising=False)
    monkeypatch.delattr("firebox.journal.parquet", raising=False)  # the package holds what was loaded from it once
    for name in names:
        monkeypatch.setitem(sys.modules, name, None)


def test_without_matplotlib_the_extra_is_named(cooks, tmp_path, monkeypatch):
    without(monkeypatch, "matplotlib", "matplotlib.figure")
    result = run("--page", str(tmp_path / "cook.html"))
    assert result.exit_code == 1
    assert result.stderr.startswith("--page: matplotlib")
    assert 'pip install "firebox[report]"' in result.stderr
    assert run().exit_code == 0


def test_without_pyarrow_the_extra_is_named(cooks, tmp_path, monkeypatch):
    without(monkeypatch, "pyarrow")
    result = CliRunner().invoke(cli, ["export", "--format", "parquet", "-o", str(tmp_path / "cook.parquet")])
    assert result.exit_code == 1
    assert 'pip install "firebox[parquet]"' in result.stderr
    assert not (tmp_path / "cook.parquet").exists()


def test_colour_comes_in_a_terminal_only_and_not_where_it_is_not_wanted(cooks):
    def shown(**more: str) -> str:
        asked = f"{sys.executable} -m firebox review"
        environment = {**os.environ, "PAGER": "cat", "TERM": "xterm-256color", "PYTHONPATH": str(ROOT), **more}
        return subprocess.run(
            ["script", "-qec", asked, "/dev/null"],
            env=environment,
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
        ).stdout

    assert "\x1b[1m" in shown()
    plain = shown(NO_COLOR="1")
    assert "\x1b[3" not in plain
    assert "\x1b[38" not in plain


def test_an_output_that_knows_only_ascii_has_words_all_the_same(cooks):
    result = subprocess.run(
        [sys.executable, "-m", "firebox", "review"],
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        cwd=ROOT,
    )
    assert result.returncode == 0, result.stderr
    assert b"target 120 C +- 8 C" in result.stdout


# --- what is known of the pit --------------------------------------------------------------------


def test_what_is_known_of_the_pit_is_told_and_can_be_forgotten(cooks):
    path = locations.known_file("north")
    what = {"flaming_time": Learned(value=1200.0, spread=0.2)}
    kept.keep(path, KnownPit(parameters=what, cooks=(START,), hours=3.3, learned=at(200)))
    told = run("1", "--full").stdout
    assert "What is known of the pit" in told
    assert "it flames for" in told
    result = run("--forget")
    assert result.exit_code == 0
    assert result.stdout.startswith("north: forgotten; its cooks stay in the journal, and")
    assert "--learn, learns from them again" in result.stdout
    assert not path.exists()
    assert run("--forget").stdout == "north: nothing was known\n"
    assert "What is known of the pit" not in run("1").stdout


def test_what_is_known_and_cannot_be_read_keeps_nobody_from_looking_back(cooks):
    locations.known_file("north").write_text("{")
    result = run("1")
    assert result.exit_code == 0
    assert "firebox review --forget" in result.stderr
    assert run("--forget").exit_code == 0


def test_a_journal_without_cooks_that_teach_is_told(home):
    (home / "config").mkdir()
    (home / "config" / "north.toml").write_text("")
    write([*cook(60, lambda _: 120.0, lit())], locations.journal_file("north"), days=1)
    result = run("--learn")
    assert (result.exit_code, result.stderr) == (0, "cook 1: nothing to be learned from it\n")
    assert "nothing is known yet" in result.stdout


@pytest.mark.parametrize("words", [["--learn", "--demo"], ["--forget", "--practice"]])
def test_a_fire_that_was_no_real_one_teaches_nothing(words):
    result = run(*words)
    assert result.exit_code == 2
    assert "teaches nothing of a real pit" in result.stderr


# --- from the journal ----------------------------------------------------------------------------


def test_looking_back_needs_no_more_than_the_thinned_readings(cooks):
    path = locations.journal_file("north")
    first, _ = export.list_cooks(path)
    thinned = list(lookback.thinned(path, first))
    everything = [decode(line) for line in export.json_lines(path, 1, answers=True)]
    assert [type(r) for r in thinned] == [type(r) for r in everything if not isinstance(r, Tick)]
    assert {Reading, Split, Outlook, Alarm} <= {type(record) for record in thinned}
    assert review(thinned)[0] == review(everything)[0]


# --- Parquet -------------------------------------------------------------------------------------


def test_a_parquet_file_holds_every_record_with_the_number_of_its_cook(cooks, tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet")
    path = tmp_path / "cooks.parquet"
    result = CliRunner().invoke(cli, ["export", "--format", "parquet", "--cook", "all", "--all", "-o", str(path)])
    assert (result.exit_code, result.output) == (0, "")
    rows = parquet.read_table(path).to_pylist()
    lines = [
        decode(line)
        for number in (1, 2)
        for line in export.json_lines(locations.journal_file("north"), number, answers=True)
    ]
    assert len(rows) == len(lines)
    assert {row["cook"] for row in rows} == {1, 2}
    for row, record in zip(rows, lines, strict=True):
        assert row["time"] == record.time
        if isinstance(record, Reading):
            assert (row["type"], row["probe"], row["celsius"], row["status"]) == (
                "reading",
                record.probe,
                record.celsius,
                "good",
            )
            assert row["body"] is None
        elif not isinstance(record, Tick):
            assert decode(row["body"]) == record
    assert {row["name"] for row in rows} >= {"split", "fire-dying", None}


def test_a_parquet_file_wants_a_file(cooks):
    result = CliRunner().invoke(cli, ["export", "--format", "parquet"])
    assert result.exit_code == 2
    assert "-o FILE" in result.stderr


def test_an_alarm_at_a_known_minute_is_told_at_that_minute(cooks):
    assert at(90).strftime("%H:%M") == "17:30"
    assert "17:30" in run("1").stdout
