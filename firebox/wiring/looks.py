"""How a dashboard looks at first, and the changes that are remembered."""

import logging
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from firebox.config.schema import Config

if TYPE_CHECKING:
    from tui.preferences import Preferences

log = logging.getLogger(__name__)


def first_look(
    config: Config, remembered: Mapping[str, Any], theme: str | None, *, ascii_only: bool
) -> "Preferences":
    """Return how the dashboard begins: as told now, else as it was last changed at a key, else as configured."""
    from tui.preferences import Preferences

    configured = {
        "degrees": config.units.degrees,
        "hours": config.units.clock,
        "mass": config.units.mass,
        "theme": config.dashboard.theme,
        "ascii": config.dashboard.ascii,
        "history_hours": config.dashboard.history_hours,
    }
    told = {"theme": theme, "ascii": ascii_only or None}
    wanted = {**_given(configured), **remembered, **_given(told)}
    return msgspec.convert(wanted, Preferences)


def _given(values: Mapping[str, Any]) -> dict[str, Any]:  # of several types, None where not given
    return {key: value for key, value in values.items() if value is not None}


def changed_look(path: Path) -> dict[str, Any]:  # parts of the preferences, by name
    """Return what was changed at a key before; a file that cannot be used is passed over, and the log says so."""
    from tui.preferences import Preferences

    try:
        kept = msgspec.json.decode(path.read_bytes(), type=dict[str, str | int])
        msgspec.convert(kept, Preferences)
    except FileNotFoundError:
        return {}
    except (OSError, msgspec.DecodeError) as error:  # a part that is not known or out of range is one, too
        log.warning("look not remembered: %s: %s; the configured one is used", path, error)
        return {}
    return dict(kept)


def remembering(path: Path, begun: "Preferences") -> Callable[["Preferences"], None]:
    """Return what writes down the changes made at keys, and only those: the rest stays as configured."""
    before = msgspec.to_builtins(begun)

    def remember(preferences: "Preferences") -> None:
        now = msgspec.to_builtins(preferences)
        changed = {key: value for key, value in now.items() if value != before[key]}
        before.update(now)
        kept = {**changed_look(path), **changed}  # another dashboard may have changed other parts meanwhile
        fresh = path.with_name(f"{path.name}.new")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            fresh.write_bytes(msgspec.json.format(msgspec.json.encode(kept)))
            fresh.replace(path)
        except OSError as error:
            log.warning("look not written: %s: %s", path, error)

    return remember
