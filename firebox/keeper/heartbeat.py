"""A sign of life for the service manager: ready, still turning, and what there is to say.

The protocol of systemd's `sd_notify(3)`: lines of text in one datagram to the socket that `NOTIFY_SOCKET` names. Without
it nothing is sent. The service manager starts a keeper anew that is silent for longer than `WatchdogSec=`.
"""

import logging
import os
import socket
from collections.abc import Mapping
from typing import Final

from firebox.errors import printable

log = logging.getLogger(__name__)

LONGEST_STATUS: Final = 300


class SignOfLife:
    """What is told to the service manager.

    Parameters
    ----------
    address : str, optional
        A path, or a name that begins with `@` (an abstract socket); None: nobody wants to know.
    """

    def __init__(self, address: str | None = None) -> None:
        self._address = None if address is None else "\0" + address[1:] if address.startswith("@") else address
        self._ready = False
        self._failed = False

    @classmethod
    def of(cls, environment: Mapping[str, str] = os.environ) -> "SignOfLife":
        """Return the one that the service manager asks for."""
        return cls(environment.get("NOTIFY_SOCKET") or None)

    def beat(self, status: str) -> None:
        """Tell that the watch has just turned, and in a line how it is; the first time, that it is ready."""
        lines = ["WATCHDOG=1", f"STATUS={printable(status)[:LONGEST_STATUS]}"]
        if not self._ready:
            lines.insert(0, "READY=1")
            self._ready = True
        self._send(lines)

    def end(self) -> None:
        """Tell that the watch ends in order."""
        self._send(["STOPPING=1", "STATUS=ending"])

    def _send(self, lines: list[str]) -> None:
        if self._address is None:
            return
        try:
            with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as link:
                link.setblocking(False)
                link.connect(self._address)
                link.send("\n".join(lines).encode())
        except OSError as error:  # the watch goes on; a service manager that hears nothing starts it anew
            if not self._failed:
                log.warning("no sign of life could be given to the service manager: %s", error)
            self._failed = True
        else:
            self._failed = False
