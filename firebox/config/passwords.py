"""Where secrets are read: a file or the environment, never the command line or the pit's own file."""

import os
from pathlib import Path

from firebox.errors import ConfigError
from firebox.links import Broker
from firebox.secret import Secret
from firebox.ways import PushOptions


def password(broker: Broker) -> Secret | None:
    """Return the password that goes with a broker's user; None where none is wanted.

    Raises
    ------
    ConfigError
        The file cannot be read or is empty, or the environment variable is not set.
    """
    return _secret("password", broker.password_file, broker.password_env)


def address(options: PushOptions) -> Secret:
    """Return the address that notices are sent to.

    Raises
    ------
    ConfigError
        The file cannot be read or is empty, or the environment variable is not set.
    """
    found = _secret("url", options.url_file, options.url_env)
    assert found is not None  # the options have one of the two
    return found


def _secret(what: str, file: str | None, variable: str | None) -> Secret | None:
    if variable is not None:
        text = os.environ.get(variable)
        if not text:
            raise ConfigError(f"{what}_env: the environment variable {variable} is not set")
        return Secret(text)
    if file is None:
        return None
    path = Path(file)
    try:
        lines = path.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigError(f"{what}_file: {path} cannot be read: {error}") from error
    if not lines or not lines[0]:
        raise ConfigError(f"{what}_file: {path} is empty; its first line is the {what}")
    return Secret(lines[0])
