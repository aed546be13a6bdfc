"""Devices side by side, each with probes of its own: one that fails does not silence the others."""

import errno
from collections.abc import Callable, Iterator, Sequence
from typing import Protocol

from msgspec import Struct

from drivers.lines import Heard, Sample
from firebox.errors import SourceError
from firebox.records import Status


class Device(Protocol):
    """Something with probes that answers when asked."""

    def ask(self) -> Heard:
        """Return what its probes show now.

        Raises
        ------
        SourceError, OSError
            It has gone away; it is let go of and looked for again.
        """
        ...

    def close(self) -> None:
        """Let go of it; never raises."""
        ...


class Place(Struct, frozen=True):
    """Where a device belongs: the probes that it is to have, and how to get hold of it."""

    probes: tuple[str, ...]
    find: Callable[[], Device]
    """Raises `SourceError` or `OSError` where it is not there."""


def failed(probes: Sequence[str], why: str) -> Heard:
    """Return probes of which nothing can be told, and why."""
    return Heard(tuple(Sample(probe, None, Status.FAILED) for probe in probes), (f"{', '.join(probes)}: {why}",))


def refused(device: str, error: OSError, bus: str) -> SourceError:
    """Return what to tell of a bus that does not open: what is wrong, and what would be right."""
    if error.errno in {errno.EACCES, errno.EPERM}:
        return SourceError(f"{device}: not permitted; the user of the keeper has to be in the group {bus.lower()}")
    return SourceError(f"{device}: {error.strerror}; is {bus} switched on in the boot configuration?")


def _words(error: SourceError | OSError) -> str:
    if isinstance(error, OSError) and error.strerror:
        return f"{error.filename}: {error.strerror}" if error.filename else error.strerror
    return str(error)


class Bench:
    """Places of devices as one rig; a device that is away is looked for in every round.

    Parameters
    ----------
    places : sequence of Place

    Raises
    ------
    SourceError
        Not one of the devices is there.
    """

    def __init__(self, places: Sequence[Place]) -> None:
        self._places = places
        self._devices: dict[int, Device] = {}
        problems = []
        for number, place in enumerate(places):
            try:
                self._devices[number] = place.find()
            except (SourceError, OSError) as error:
                problems.append(_words(error))
        if not self._devices:
            raise SourceError("; ".join(dict.fromkeys(problems)))

    def sample(self) -> Iterator[Heard]:
        """Ask every device; the probes of one that is away have failed.

        Raises
        ------
        SourceError
            Not one of them is there any more.
        """
        problems = []
        for number, place in enumerate(self._places):
            try:
                heard = self._ask(number, place)
            except (SourceError, OSError) as error:
                self._drop(number)
                problems.append(_words(error))
                heard = failed(place.probes, problems[-1])
            yield heard
        if len(problems) == len(self._places):
            raise SourceError("; ".join(dict.fromkeys(problems)))

    def _ask(self, number: int, place: Place) -> Heard:
        if number not in self._devices:
            self._devices[number] = place.find()
        return self._devices[number].ask()

    def _drop(self, number: int) -> None:
        device = self._devices.pop(number, None)
        if device is not None:
            device.close()

    def close(self) -> None:
        """Let go of every device."""
        for number in list(self._devices):
            self._drop(number)
