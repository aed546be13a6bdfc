"""The wheel holds exactly the three import packages."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_wheel_holds_the_three_packages_and_the_command(tmp_path: Path) -> None:
    subprocess.run(
        [
            sys.executable,
            "-m",
            "pip",
            "wheel",
            "-q",
            "--no-deps",
            "--disable-pip-version-check",
            "-w",
            str(tmp_path),
            str(ROOT),
        ],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    tops = {name.split("/")[0] for name in names if ".dist-info/" not in name}
    assert tops == {"firebox", "drivers", "tui"}
    for package in tops:
        assert f"{package}/py.typed" in names
    for page in ("firebox/guide.md", "tui/dashboard.tcss", "tui/practice/practice.tcss"):
        assert page in names
    entry_points = next(name for name in names if name.endswith("entry_points.txt"))
    assert "firebox = firebox.__main__:main" in zipfile.ZipFile(wheel).read(entry_points).decode()
