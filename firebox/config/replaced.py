"""A small JSON file, replaced as a whole: whoever reads it finds the old one or the new one, never half of either."""

import os
from pathlib import Path

import msgspec

from firebox.errors import ConfigError


def write(path: Path, value: msgspec.Struct) -> None:
    """Write a value in place of what the file held; it is on disk when this returns.

    Raises
    ------
    ConfigError
        The file cannot be written.
    """
    fresh = path.with_name(f".{path.name}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with fresh.open("wb") as file:
            file.write(msgspec.json.format(msgspec.json.encode(value)) + b"\n")
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    except OSError as error:
        raise ConfigError(f"{path}: cannot be written: {error.strerror or error}") from error
