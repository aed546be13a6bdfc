"""`firebox probes --calibrate`: from cup and pot to a reading that is put right."""

import asyncio
import json
from functools import partial

import pytest
from click.testing import CliRunner

from drivers import iio
from drivers.fakes.scripted import ScriptedSource
from drivers.fakes.sysfs import KernelTree, Max31856
from firebox import wiring
from firebox.__main__ import cli
from firebox.commands import calibrate
from firebox.commands.calibrate import boiling_point, until_steady
from firebox.config import locations
from firebox.errors import FireboxError, RangeError
from firebox.keeper import clock as clocks
from firebox.sensors import IioOptions, IioProbe
from firebox.thermo import calibration
from firebox.units import Degrees


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("FIREBOX_HOME", str(tmp_path))
    # readings come every 0.05 s, which this clock takes for 2 s; 16 s of them, 0.4 s in all, are enough here
    monkeypatch.setattr(clocks, "SteadyClock", partial(clocks.SteadyClock, rate=40.0))
    monkeypatch.setattr(calibration, "STEADY_SECONDS", 16.0)
    monkeypatch.setattr(calibration, "STEADY_SAMPLES", 4)
    return tmp_path


@pytest.fixture
def chip(home):
    tree = KernelTree(home / "sys")
    chip = Max31856(tree, 0)
    path = home / "config" / "north.toml"
    path.parent.mkdir()
    path.write_text(
        '[units]\ndegrees = "C"\n[[probes]]\nname = "grate"\n[[sources]]\nkind = "iio"\nevery = 0.05\n'
        f'root = "{tree.iio}"\nprobes = [{{ probe = "grate", device = "max31856" }}]\n'
    )
    return chip


@pytest.fixture
def bath(chip, monkeypatch):
    """Return what the chip shows in ice and in boiling water; the guide puts it there."""
    shows = {"Ice": 0.8, "Boiling water": 98.9}

    def put(guide):
        shown = shows[guide.split(".")[0]]
        if shown is not None:
            chip.feel(shown)
        return shown is not None

    monkeypatch.setattr(calibrate, "_is_ready", put)
    return shows


def run(*arguments, given=None):
    return CliRunner().invoke(cli, ["probes", *arguments], given)


def test_ice_and_steam_make_a_correction_that_the_next_watch_applies(chip, bath):
    result = run("--calibrate", "grate", "--air", "950 hPa", given="y\n")
    assert result.exit_code == 0, result.output
    assert "water boils at 98.2 C there" in result.output
    assert "at 0.0 C it shows +0.80 (sure to 0.4)" in result.output
    assert "corrected by -0.70 at 121.0 C, sure to 0.5" in result.output
    chip.feel(121.0)
    result = run()
    assert result.exit_code == 0
    assert "120.3 C" in result.stdout
    assert "corrected by -0.7 at 121 C" in result.stderr
    assert "time to check it again" not in result.stderr


def test_a_correction_can_be_put_away(chip, bath):
    run("--calibrate", "grate", "--air", "950 hPa", given="y\n")
    assert run("--forget", "grate").exit_code == 0
    chip.feel(121.0)
    assert "121.0 C" in run().stdout
    result = run("--forget", "grate")
    assert (result.exit_code, result.stderr) == (2, '--forget: "grate" has no correction\n')


def test_a_check_of_half_a_year_ago_is_said_to_be_due(chip, bath):
    bath["Boiling water"] = None
    run("--calibrate", "grate", given="y\n")
    path = locations.calibration_file("north")
    plain = json.loads(path.read_text())
    plain["probes"]["grate"]["time"] = "2020-01-01T00:00:00Z"
    path.write_text(json.dumps(plain))
    assert "checked on 2020-01-01" in run().stderr
    assert "time to check it again: --calibrate grate" in run().stderr


def test_what_is_not_confirmed_is_not_kept(chip, bath):
    bath["Boiling water"] = None
    assert run("--calibrate", "grate", given="n\n").exit_code == 0
    assert not locations.calibration_file("north").exists()


def test_a_fault_is_refused_and_nothing_is_kept(chip, bath):
    bath["Ice"] = 12.0
    result = run("--calibrate", "grate", "--air", "950 hPa", given="y\n")
    assert result.exit_code == 1
    assert "at 0.0 C the probe shows 12.0; more than 5 off is a fault and no matter for a correction" in result.stderr
    assert "water boils" not in result.output
    assert not locations.calibration_file("north").exists()


def test_a_new_check_is_made_of_what_the_probe_shows_and_not_of_what_was_corrected(chip, bath):
    for _ in range(2):
        result = run("--calibrate", "grate", "--air", "950 hPa", given="y\n")
        assert "at 0.0 C it shows +0.80" in result.output


def test_both_baths_can_be_left_out_by_a_key_but_then_nothing_was_checked(chip):
    result = run("--calibrate", "grate", given="s\nS\n")
    assert (result.exit_code, result.stderr.strip()) == (1, "both were left out; nothing was checked")


def test_a_word_in_the_wrong_place_is_no_enter(chip):
    result = run("--calibrate", "grate", given="350 m\ns\ns\n")
    assert '"350 m" is neither; press Enter alone, or s' in result.stderr
    assert result.exit_code == 1


def test_the_air_is_asked_for_until_it_makes_sense(chip, monkeypatch):
    chip.feel(98.9)
    result = run("--calibrate", "grate", given="s\n\n1013\n950 hPa\nn\n")
    assert (
        '"1013" is neither a pressure nor an altitude; 985 hPa, 29.1 inHg, 350 m or 1200 ft would be' in result.stderr
    )
    assert "water boils at 98.2 C there" in result.output
    assert "at 98.2 C it shows +0.72" in result.output


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--calibrate", "grill"), '"grill" is not among the probes: grate'),
        (("--calibrate", "grate", "--check"), "five things"),
        (("--air", "950 hPa"), "goes with --calibrate"),
    ],
)
def test_what_cannot_be_meant_is_told(chip, arguments, words):
    result = run(*arguments)
    assert result.exit_code == 2
    assert words in result.stderr


def test_a_pit_that_is_watched_holds_its_probes(chip, monkeypatch):
    monkeypatch.setattr(wiring, "is_kept", lambda watched: True)
    result = run("--calibrate", "grate")
    assert (result.exit_code, result.stderr) == (
        1,
        "north is watched, which holds its probes; `firebox stop` first\n",
    )


@pytest.mark.parametrize(
    ("air", "celsius"),
    [
        ("1013.25hPa", 99.974),
        ("950 mbar", 98.178),
        ("85 kPa", 95.125),
        ("29.921 inHg", 99.974),
        ("0 m", 99.974),
        ("5000 ft", 94.903),
    ],
)
def test_the_air_is_taken_as_people_write_it(air, celsius):
    assert boiling_point(air).celsius == pytest.approx(celsius, abs=0.002)


@pytest.mark.parametrize("air", ["", "hPa", "1013", "12 psi", "1e3 hPa", "30 hPa", "9000 m"])
def test_air_that_cannot_be_is_refused(air):
    with pytest.raises(RangeError):
        boiling_point(air)


# --- waiting for a standstill --------------------------------------------------------------------


async def test_a_probe_that_never_stands_still_ends_the_wait(chip, home):
    clock = clocks.SteadyClock()
    options = IioOptions(root=str(home / "sys/bus/iio/devices"), probes=(IioProbe(probe="grate"),), every=0.05)
    source = iio.source("iio", clock, options=options)
    told = []

    async def warm():
        celsius = 20.0
        while True:
            celsius += 1.0
            chip.feel(celsius)
            await asyncio.sleep(0.03)

    task = asyncio.create_task(warm())
    with pytest.raises(FireboxError, match=r"grate did not stand still within 2 s"):
        await until_steady([source], "grate", 2.0, told.append, Degrees.C)
    task.cancel()
    assert told
    assert not source.health.connected


async def test_a_source_that_is_not_there_is_told_and_ends_the_wait_at_once(clock, home):
    options = IioOptions(root=str(home / "nowhere"), probes=(IioProbe(probe="grate"),))
    told = []
    with pytest.raises(FireboxError, match=r"grate was not heard: there is no source left to hear it from"):
        await until_steady([iio.source("iio", clock, options=options)], "grate", 60.0, told.append, Degrees.C)
    assert "nowhere" in told[0]


async def test_a_probe_that_says_nothing_is_not_heard(clock):
    with pytest.raises(FireboxError, match=r"grate was not heard within 0\.1 s"):
        await until_steady([ScriptedSource("one", clock)], "grate", 0.1, print, Degrees.C)
