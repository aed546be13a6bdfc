"""Where it is kept what cooks have taught of a pit: one JSON file beside its journal.

It holds only what a cook may learn anew at any time: taking it away makes the next cook begin as the first did.
"""

from pathlib import Path

import msgspec

from firebox.config import replaced
from firebox.errors import ConfigError
from firebox.setup import KnownPit


def read(path: Path) -> KnownPit | None:
    """Return what is known of a pit; None where there is no file.

    Raises
    ------
    ConfigError
        It cannot be read or used; `firebox review --forget` makes a clean start.
    """
    try:
        return msgspec.json.decode(path.read_bytes(), type=KnownPit)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise ConfigError(f"{path}: cannot be read: {error.strerror or error}") from error
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise ConfigError(
            f"{path}: not what `firebox review --learn` writes: {error}; `firebox review --forget` takes it away"
        ) from error


def keep(path: Path, known: KnownPit) -> None:
    """Write what is known of a pit in place of what was.

    Raises
    ------
    ConfigError
        The file cannot be written.
    """
    replaced.write(path, known)


def forget(path: Path) -> bool:
    """Take away what is known of a pit, also what cannot be used; return whether there was anything.

    Raises
    ------
    ConfigError
        The file cannot be taken away.
    """
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise ConfigError(f"{path}: cannot be taken away: {error.strerror or error}") from error
    return True
