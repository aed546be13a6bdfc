"""What is kept of a calibration, and that a file which somebody edited is held to the same limits."""

import json
from datetime import UTC, datetime

import pytest

from firebox.config import calibrations
from firebox.config.calibrations import Calibration
from firebox.errors import ConfigError
from firebox.thermo.calibration import ICE, Check, Reference, boiling_by_pressure

BOIL = boiling_by_pressure(95_000.0)


def calibration(at_ice=0.8, at_boil=98.9):
    shown = [Reference(celsius=celsius, uncertainty=0.1) for celsius in (at_ice, at_boil)]
    checks = (Check(known=ICE, shown=shown[0]), Check(known=BOIL, shown=shown[1]))
    return Calibration(time=datetime(2026, 5, 2, tzinfo=UTC), checks=checks)


def test_what_is_kept_is_found_again_and_the_others_stay(tmp_path):
    path = tmp_path / "config" / "north.calibration.json"
    assert calibrations.read(path) == {}
    calibrations.keep(path, "grate", calibration())
    calibrations.keep(path, "flat", calibration(0.1, 98.2))
    calibrations.keep(path, "grate", calibration(0.5, 98.5))
    assert calibrations.read(path) == {"grate": calibration(0.5, 98.5), "flat": calibration(0.1, 98.2)}
    assert calibrations.read(path)["grate"].correction.correct(0.5) == pytest.approx(0.0)
    assert [one.name for one in path.parent.iterdir()] == ["north.calibration.json"]


def test_one_can_be_put_away(tmp_path):
    path = tmp_path / "north.calibration.json"
    calibrations.keep(path, "grate", calibration())
    assert not calibrations.forget(path, "flat")
    assert calibrations.forget(path, "grate")
    assert calibrations.read(path) == {}


def test_a_correction_that_somebody_wrote_in_is_refused_if_it_is_a_fault_and_can_be_put_away(tmp_path):
    path = tmp_path / "north.calibration.json"
    calibrations.keep(path, "grate", calibration())
    plain = json.loads(path.read_text())
    plain["probes"]["grate"]["checks"][0]["shown"]["celsius"] = 40.0
    path.write_text(json.dumps(plain))
    with pytest.raises(ConfigError, match=r"grate: at 0\.0 C the probe shows 40\.0 C.*--forget grate"):
        calibrations.read(path)
    assert calibrations.forget(path, "grate")
    assert calibrations.read(path) == {}


@pytest.mark.parametrize("text", ["", "{", '{"probes": {"grate": {}}}', '{"probes": [], "x": 1}', "\xff"])
def test_a_file_that_is_none_is_told(tmp_path, text):
    path = tmp_path / "north.calibration.json"
    path.write_text(text, encoding="latin-1")
    for use in (calibrations.read, lambda path: calibrations.keep(path, "grate", calibration())):
        with pytest.raises(
            ConfigError, match=r"north\.calibration\.json: not what `firebox probes --calibrate` writes"
        ):
            use(path)


def test_a_file_that_cannot_be_read_or_written_is_told(tmp_path):
    folder = tmp_path / "north.calibration.json"
    folder.mkdir()
    with pytest.raises(ConfigError, match="cannot be read"):
        calibrations.read(folder)
    with pytest.raises(ConfigError, match="cannot be read"):
        calibrations.forget(folder, "grate")
    (tmp_path / "file").write_text("")
    with pytest.raises(ConfigError, match="cannot be"):
        calibrations.keep(tmp_path / "file" / "north.calibration.json", "grate", calibration())
