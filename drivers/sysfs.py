"""What the kernel's files under /sys have in common."""

import errno
import os
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final

from firebox.errors import SourceError

GONE: Final = frozenset({errno.ENODEV, errno.ENOENT, errno.ENXIO, errno.ENOTDIR})
"""What reading a file says whose device was unplugged or unbound."""

BUSY: Final = frozenset({errno.EBUSY, errno.EAGAIN})
"""What it says while somebody else reads the device; no fault."""

TRIES: Final = 4
PAUSE: Final = 0.05
"""Seconds before a busy device is asked again; a conversion of the usual chips takes a tenth of a second."""

Read = Callable[[Path], str]


def read_attribute(path: Path) -> str:
    """Return what a file of the kernel says, without its line end.

    Read in one go and not buffered: each read may start a conversion, and its error is the device's own.

    Raises
    ------
    OSError
        As the driver of the device has it.
    """
    file = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
    try:
        return os.read(file, 4096).decode("utf-8", "replace").strip()
    finally:
        os.close(file)


def write_attribute(path: Path, text: str) -> None:
    """Tell the driver behind a file something.

    Raises
    ------
    OSError
        As the driver has it, or because this user may not.
    """
    file = os.open(path, os.O_WRONLY | os.O_CLOEXEC)
    try:
        os.write(file, text.encode())
    finally:
        os.close(file)


def read_patiently(read: Read, path: Path) -> str:
    """Return what a file says, asking again while its device is busy.

    Raises
    ------
    OSError
        As `read`; busy, where it stays so.
    """
    for _ in range(TRIES - 1):
        try:
            return read(path)
        except OSError as error:
            if error.errno not in BUSY:
                raise
            time.sleep(PAUSE)
    return read(path)


def read_if_there(read: Read, path: Path) -> str | None:
    """Return what a file says, None where there is no such file."""
    return read(path) if path.exists() else None


def device_folders(root: Path, pattern: str) -> list[Path]:
    """Return the folders of devices whose name fits a pattern, in the order of the numbers in their names.

    Raises
    ------
    SourceError
        There is no such place.
    """
    try:
        found = [path for path in root.iterdir() if re.fullmatch(pattern, path.name)]
    except OSError as error:
        raise SourceError(
            f"{root}: {error.strerror}; no device of this kind is switched on in the boot configuration"
        ) from error
    return sorted(found, key=lambda path: [int(part) for part in re.findall(r"\d+", path.name)])


def whole_number(text: str, path: Path) -> int:
    """Return the whole number in a file.

    Raises
    ------
    ValueError
        It is none; the message says what stands there.
    """
    if not re.fullmatch(r"-?\d{1,12}", text):
        raise ValueError(f'{path.name} says "{text[:40]}", which is no whole number')
    return int(text)


def decimal_number(text: str, path: Path) -> float:
    """Return the number in a file.

    Raises
    ------
    ValueError
        It is none; the message says what stands there.
    """
    if not re.fullmatch(r"-?\d{1,12}(\.\d{1,12})?", text):
        raise ValueError(f'{path.name} says "{text[:40]}", which is no number')
    return float(text)
