"""Where files belong: the only module that knows.

=================  =================================================  ================================
what               with FIREBOX_HOME in the environment               otherwise
=================  =================================================  ================================
a pit's file       ``$FIREBOX_HOME/config/<pit>.toml``                the user's configuration folder
its calibrations   ``$FIREBOX_HOME/config/<pit>.calibration.json``    the same
journals, logs,    ``$FIREBOX_HOME/state/``                           the user's state folder
remembered looks,
what is known of
the pits
practice rounds    ``$FIREBOX_HOME/state/practice/``                  the same
=================  =================================================  ================================
"""

import os
from pathlib import Path
from typing import Final

import platformdirs

HOME: Final = "FIREBOX_HOME"
"""Name of the environment variable that puts everything in one folder: for services, tests and removable disks."""


def _home() -> Path | None:
    home = os.environ.get(HOME)
    return Path(home).expanduser().absolute() if home else None


def config_folder() -> Path:
    """Return the folder of the pits' files; it need not exist."""
    home = _home()
    return home / "config" if home else platformdirs.user_config_path("firebox")


def state_folder() -> Path:
    """Return the folder of journals, logs and remembered looks; it need not exist."""
    home = _home()
    return home / "state" if home else platformdirs.user_state_path("firebox")


def config_file(pit: str) -> Path:
    """Return where the file of a pit belongs."""
    return config_folder() / f"{pit}.toml"


def calibration_file(pit: str) -> Path:
    """Return where the checks of a pit's probes are kept."""
    return config_folder() / f"{pit}.calibration.json"


def journal_file(pit: str) -> Path:
    """Return where the journal of a pit belongs."""
    return state_folder() / f"{pit}.sqlite"


def log_file(pit: str) -> Path:
    """Return where the keeper of a pit writes its log."""
    return state_folder() / f"{pit}.log"


def look_file(pit: str) -> Path:
    """Return where it is remembered how the cook last had the dashboard of a pit."""
    return state_folder() / f"{pit}.look.json"


def practice_folder() -> Path:
    """Return the folder of practice rounds: their journal, their log and what they came to; it need not exist.

    It is a folder of its own, so that no pit's name can lead there.
    """
    return state_folder() / "practice"


def known_file(pit: str) -> Path:
    """Return where it is kept what cooks have taught of a pit."""
    return state_folder() / f"{pit}.known.json"


def configured() -> list[Path]:
    """Return the files of all pits, by name."""
    return sorted(config_folder().glob("*.toml"))
