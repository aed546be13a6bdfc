"""How the machine itself is: its supply voltage and its temperature, by what the kernel says under /sys.

=================  ==========================================================================================
file               what it says
=================  ==========================================================================================
`hwmonN/name`      `rpi_volt` is the kernel's watch over the supply of a Raspberry Pi
`in0_lcrit_alarm`  1: the supply has fallen under what the board needs, about 4.63 V (raspberrypi-hwmon, from memory)
`thermal_zoneN`    `temp` in thousandths of a degree, `trip_point_M_type` and `trip_point_M_temp` beside it
=================  ==========================================================================================
"""

from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from drivers.sysfs import Read, device_folders, read_attribute, read_if_there, whole_number
from firebox.ports import Ailment

SUPPLY: Final = "rpi_volt"

HOT_CELSIUS: Final = 80.0
"""Where a Raspberry Pi begins to slow down (from memory), which its trip points do not say; those of others do."""

BEFORE_TRIP: Final = 3.0
"""So long before the kernel slows or stops the machine it is told. [K]"""

COOLED: Final = 5.0
"""So far under that it must come before it is well again. [K]"""

_TRIPS: Final = frozenset({"passive", "hot", "critical"})
"""Trip points at which the kernel does something; `active` ones only start a fan."""


class SysfsMachine:
    """A `firebox.ports.Machine` that reads the kernel's files.

    Parameters
    ----------
    root : Path
        /sys, or a tree like it.
    read : Read
        How a file is read.
    """

    def __init__(self, root: Path = Path("/sys"), read: Read = read_attribute) -> None:
        self._root = root
        self._read = read
        self._hot: set[str] = set()

    def look(self) -> Sequence[Ailment]:
        """Return how supply and temperatures are."""
        supplies = [folder for folder in self._folders("hwmon") if self._said(folder / "name") == SUPPLY]
        return [*self._voltages(supplies), *self._zones(HOT_CELSIUS if supplies else None)]

    def _folders(self, kind: str) -> list[Path]:
        """Return the devices of a class of the kernel; none where there is no such class."""
        place = self._root / "class" / kind
        names = {"hwmon": r"hwmon\d+", "thermal": r"thermal_zone\d+"}
        return device_folders(place, names[kind]) if place.is_dir() else []

    def _voltages(self, supplies: list[Path]) -> list[Ailment]:
        out = []
        for folder in supplies:
            low = self._said(folder / "in0_lcrit_alarm")
            if low is not None:
                text = "the supply voltage of this computer is too low" if low == "1" else None
                out.append(Ailment(what="power", name="supply", text=text))
        return out

    def _zones(self, known: float | None) -> list[Ailment]:
        out = []
        for folder in self._folders("thermal"):
            celsius, limit = self._degrees(folder / "temp"), self._limit(folder, known)
            if celsius is None or limit is None:
                continue
            name = self._said(folder / "type") or folder.name
            limit -= COOLED if name in self._hot else 0.0
            text = f"this computer is at {celsius:.0f} C ({name})" if celsius >= limit else None
            (self._hot.discard if text is None else self._hot.add)(name)
            out.append(Ailment(what="heat", name=name, text=text))
        return out

    def _limit(self, zone: Path, known: float | None) -> float | None:
        """Return the temperature from which a zone is too hot [degC]; None: neither it nor anybody says."""
        trips = [
            celsius - BEFORE_TRIP
            for number in range(12)
            if self._said(zone / f"trip_point_{number}_type") in _TRIPS
            and (celsius := self._degrees(zone / f"trip_point_{number}_temp")) is not None
        ]
        limits = [*(celsius for celsius in trips if celsius > 0.0), *([] if known is None else [known])]
        return min(limits, default=None)

    def _degrees(self, path: Path) -> float | None:
        said = self._said(path)
        if said is None:
            return None
        with suppress(ValueError):  # what is no number tells nothing
            return whole_number(said, path) / 1000.0
        return None

    def _said(self, path: Path) -> str | None:
        """Return what a file says; None where it is not there or its driver refuses."""
        with suppress(OSError):  # a zone that is switched off answers with an error: it tells nothing
            return read_if_there(self._read, path)
        return None
