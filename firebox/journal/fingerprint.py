"""A mark that changes when anything changes that a frozen state depends on."""

import sys
from hashlib import blake2b
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

CORE: Final = (
    "watch", "estimate", "warn", "advise", "meat", "pit", "cooklog", "setup", "records", "units",
)  # fmt: skip
"""Modules and packages of `firebox` that the state is made of."""

ARITHMETIC: Final = ("numpy", "simple-pid", "msgspec")
"""Others whose versions may change a result in its last bit, or how it is frozen."""


def fingerprint() -> str:
    """Return the mark of the core as installed: equal for equal sources and equal versions of what they compute with."""
    mark = blake2b(sys.version.encode(), digest_size=12)
    root = Path(str(import_module("firebox").__file__)).parent
    for name in CORE:
        for source in sorted((root / name).rglob("*.py")) or [root / f"{name}.py"]:
            mark.update(source.relative_to(root).as_posix().encode())
            if source.exists():
                mark.update(source.read_bytes())
    for name in ARITHMETIC:
        try:
            mark.update(version(name).encode())
        except PackageNotFoundError:
            mark.update(b"-")
    return mark.hexdigest()
