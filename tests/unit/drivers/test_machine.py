"""How the machine itself is, by the kernel's files."""

from pathlib import Path

import pytest

from drivers.fakes.sysfs import KernelTree
from drivers.machine import SysfsMachine


@pytest.fixture
def tree(tmp_path: Path) -> KernelTree:
    return KernelTree(tmp_path)


def _zone(tree: KernelTree, number: int, celsius: float, **trips: float) -> Path:
    place = tree.thermal / f"thermal_zone{number}"
    files = {"type": "cpu-thermal", "temp": f"{1000 * celsius:.0f}"}
    for count, (kind, limit) in enumerate(trips.items()):
        files |= {f"trip_point_{count}_type": kind, f"trip_point_{count}_temp": f"{1000 * limit:.0f}"}
    tree.plug(place, **files)
    return place


def _pi(tree: KernelTree, low: str = "0") -> Path:
    place = tree.hwmon / "hwmon1"
    tree.plug(place, name="rpi_volt", in0_lcrit_alarm=low)
    return place


def _told(machine: SysfsMachine) -> dict[str, str | None]:
    return {one.what: one.text for one in machine.look()}


def test_a_machine_that_tells_nothing_ails_nothing(tmp_path: Path, tree: KernelTree) -> None:
    assert SysfsMachine(tmp_path).look() == []
    assert SysfsMachine(tmp_path / "nowhere").look() == []


def test_a_supply_that_is_too_low_is_told_and_its_end_as_well(tmp_path: Path, tree: KernelTree) -> None:
    place, machine = _pi(tree), SysfsMachine(tmp_path)
    assert _told(machine) == {"power": None}
    tree.write(place / "in0_lcrit_alarm", "1")
    assert _told(machine) == {"power": "the supply voltage of this computer is too low"}
    tree.write(place / "in0_lcrit_alarm", "0")
    assert _told(machine) == {"power": None}


def test_a_pi_is_hot_from_eighty_degrees_and_well_again_five_under(tmp_path: Path, tree: KernelTree) -> None:
    _pi(tree)
    place, machine = _zone(tree, 0, 79.0, critical=110.0), SysfsMachine(tmp_path)
    heats = []
    for celsius in (79, 80, 76, 74):
        tree.write(place / "temp", f"{1000 * celsius}")
        heats.append(_told(machine)["heat"] is not None)
    assert heats == [False, True, True, False]


def test_another_computer_is_hot_where_its_trip_points_say(tmp_path: Path, tree: KernelTree) -> None:
    place, machine = _zone(tree, 0, 90.0, active=60.0, passive=98.0, critical=105.0), SysfsMachine(tmp_path)
    assert _told(machine) == {"heat": None}
    tree.write(place / "temp", "95500")
    assert _told(machine) == {"heat": "this computer is at 96 C (cpu-thermal)"}


def test_a_zone_without_trip_points_or_without_a_number_tells_nothing(tmp_path: Path, tree: KernelTree) -> None:
    place = _zone(tree, 0, 120.0)
    assert SysfsMachine(tmp_path).look() == []
    tree.write(place / "temp", "hot")
    assert SysfsMachine(tmp_path).look() == []
