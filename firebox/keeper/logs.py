"""Where the keeper's own doings are written: a file that is turned over before it grows."""

import logging
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import Final

BYTES: Final = 1_000_000
OLDER: Final = 3
"""Four files of a megabyte hold months of a keeper that has nothing to complain of."""


def write_log(path: Path, level: int = logging.INFO) -> logging.Handler:
    """Let everything that is logged be written to a file, and return the handler that does it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handler = RotatingFileHandler(path, maxBytes=BYTES, backupCount=OLDER, encoding="utf-8", delay=True)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    root = logging.getLogger()
    root.addHandler(handler)
    root.setLevel(level)
    return handler
