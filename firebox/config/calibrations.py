"""Where the checks of a pit's probes are kept: one JSON file beside the pit's own, written by `firebox probes`.

Only the checks are kept. A correction is worked out of them anew, so that a file that somebody edited is held to the
same limits as a check just made.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from firebox.config import replaced
from firebox.errors import ConfigError, RangeError
from firebox.records import Instant, Name
from firebox.thermo.calibration import Check, Correction, correction


class Calibration(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """When a probe was checked, and what it showed."""

    time: Instant
    checks: Annotated[tuple[Check, ...], Meta(min_length=1, max_length=2)]

    @property
    def correction(self) -> Correction:
        """What makes the truth of what the probe shows."""
        return correction(*self.checks)


class Calibrations(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Probe -> how it was last checked."""

    probes: Mapping[Name, Calibration] = {}


def read(path: Path) -> Mapping[str, Calibration]:
    """Return the calibrations in a file; none where there is no file.

    Raises
    ------
    ConfigError
        It cannot be read or used; taking the file away makes a clean start.
    """
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise ConfigError(f"{path}: cannot be read: {error.strerror or error}") from error
    try:
        found = msgspec.json.decode(raw, type=Calibrations)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise ConfigError(
            f"{path}: not what `firebox probes --calibrate` writes: {error}; take the file away and check the probes anew"
        ) from error
    for name, one in found.probes.items():
        try:
            correction(*one.checks)
        except RangeError as error:
            raise ConfigError(f"{path}: {name}: {error}; `firebox probes --forget {name}` puts it away") from error
    return found.probes


def keep(path: Path, probe: str, calibration: Calibration) -> None:
    """Write a probe's calibration in place of the one before.

    Raises
    ------
    ConfigError
        The file cannot be read or written.
    """
    found = _found(path)
    replaced.write(path, replace(found, probes={**found.probes, probe: calibration}))


def forget(path: Path, probe: str) -> bool:
    """Take a probe's calibration away, also one that cannot be used; return whether there was one.

    Raises
    ------
    ConfigError
        The file cannot be read or written.
    """
    found = _found(path)
    if probe not in found.probes:
        return False
    replaced.write(path, replace(found, probes={name: one for name, one in found.probes.items() if name != probe}))
    return True


def _found(path: Path) -> Calibrations:
    """Return what a file holds, whether or not it makes sense."""
    try:
        return msgspec.json.decode(path.read_bytes(), type=Calibrations)
    except FileNotFoundError:
        return Calibrations()
    except OSError as error:
        raise ConfigError(f"{path}: cannot be read: {error.strerror or error}") from error
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise ConfigError(f"{path}: not what `firebox probes --calibrate` writes: {error}; take it away") from error
