"""A pit looked at: the dashboard put together and run, here or from afar."""

import logging
from collections.abc import Callable
from datetime import UTC, datetime

from firebox.config import locations
from firebox.config.passwords import password
from firebox.errors import ConfigError
from firebox.ports import Kind, WatchLink
from firebox.records import Notice
from firebox.wiring.looks import changed_look, first_look, remembering
from firebox.wiring.parts import ways
from firebox.wiring.watched import Watched, is_kept, start, stop

log = logging.getLogger(__name__)


def watch(watched: Watched, *, theme: str | None = None, ascii_only: bool = False) -> None:
    """Show a pit on the dashboard, starting its keeper where there is none; a demo ends with its dashboard.

    Raises
    ------
    FireboxError
        The keeper could not be started.
    """
    from firebox.journal.reader import JournalLink

    if not is_kept(watched):
        start(watched)
    link = JournalLink(watched.journal, watched.name)
    _show(watched, link, theme, ascii_only=ascii_only, revive=lambda: start(watched))
    if watched.kind is Kind.DEMO:
        stop(watched)


def watch_afar(watched: Watched, *, theme: str | None = None, ascii_only: bool = False) -> None:
    """Show a pit that another computer keeps, over the broker, and call people in this device's own ways.

    Raises
    ------
    ConfigError
        No broker is configured, a password or an address cannot be read, or a certificate cannot be used.
    """
    from drivers.silence import ALARM
    from firebox.keeper.calling import CallingLink
    from firebox.keeper.clock import SteadyClock

    link = link_afar(watched)
    try:
        called = ways(watched.config, SteadyClock(), lambda: link.status().kind is Kind.LIVE, _logged)
        calling = CallingLink(link, called, ALARM) if called else link
        _show(watched, calling, theme, ascii_only=ascii_only)
    finally:
        link.close()


def _logged(notice: Notice) -> None:
    """Write into the log what became of a notice; this device has no journal."""
    log.info("notice %s by %s: %s", notice.occasion, notice.way, notice.problem or "arrived")


def link_afar(watched: Watched) -> WatchLink:
    """Return the link to a pit that another computer keeps; it listens from now on, until it is closed.

    Raises
    ------
    ConfigError
        As `watch_afar`.
    """
    from drivers.mqtt_link import MqttLink

    options = watched.config.mqtt
    if options is None:
        raise ConfigError(
            f"{watched.config_path}: no [mqtt]: say over which broker the pit is told, as in\n"
            '  [mqtt]\n  broker = { host = "broker.lan" }'
        )
    setup = watched.config.setup(datetime.now(UTC))
    try:
        return MqttLink(options, watched.name, setup, password=password(options.broker))
    except OSError as error:
        raise ConfigError(f"{watched.config_path}: mqtt.broker: {error}") from error


def _show(
    watched: Watched,
    link: WatchLink,
    theme: str | None,
    *,
    ascii_only: bool,
    revive: Callable[[], None] | None = None,
) -> None:
    from firebox.keeper.logs import write_log
    from tui.app import Dashboard

    write_log(watched.log.with_suffix(".dashboard.log"))
    look = locations.look_file(watched.name)
    remembered = changed_look(look)
    preferences = first_look(watched.config, remembered, theme, ascii_only=ascii_only)
    dashboard = Dashboard(
        link,
        preferences,
        revive=revive,
        remember=remembering(look, preferences),
        bell=watched.config.notices.bell,
    )
    dashboard.run()
