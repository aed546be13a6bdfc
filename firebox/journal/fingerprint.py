"""A mark that changes when anything changes that a frozen state depends on."""

import sys
from hashlib import blake2b
from importlib import import_module
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

SHELL: Final = frozenset({
    "__main__.py", "commands", "wiring", "keeper", "stream.py", "journal", "config", "ports.py", "links.py",
    "secret.py", "review", "report", "practice",
})  # fmt: skip
"""Modules and packages of `firebox` that no state is made of; all others count."""

ARITHMETIC: Final = ("numpy", "simple-pid", "msgspec")
"""Others whose versions may change a result in its last bit, or how it is frozen."""


def fingerprint() -> str:
    """Return the mark of the core as installed: equal for equal sources and equal versions of what they compute with."""
    mark = blake2b(sys.version.encode(), digest_size=12)
    root = Path(str(import_module("firebox").__file__)).parent
    for source in sorted(root.rglob("*.py")):
        place = source.relative_to(root)
        if place.parts[0] not in SHELL:
            mark.update(place.as_posix().encode())
            mark.update(source.read_bytes())
    for name in ARITHMETIC:
        try:
            mark.update(version(name).encode())
        except PackageNotFoundError:
            mark.update(b"-")
    return mark.hexdigest()
