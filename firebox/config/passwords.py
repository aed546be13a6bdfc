"""Where a broker's password is read: a file or the environment, never the command line or the pit's own file."""

import os
from pathlib import Path

from firebox.errors import ConfigError
from firebox.links import Broker
from firebox.secret import Secret


def password(broker: Broker) -> Secret | None:
    """Return the password that goes with a broker's user; None where none is wanted.

    Raises
    ------
    ConfigError
        The file cannot be read or is empty, or the environment variable is not set.
    """
    if broker.password_env is not None:
        text = os.environ.get(broker.password_env)
        if not text:
            raise ConfigError(f"password_env: the environment variable {broker.password_env} is not set")
        return Secret(text)
    if broker.password_file is None:
        return None
    path = Path(broker.password_file)
    try:
        lines = path.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigError(f"password_file: {path} cannot be read: {error}") from error
    if not lines or not lines[0]:
        raise ConfigError(f"password_file: {path} is empty; its first line is the password")
    return Secret(lines[0])
