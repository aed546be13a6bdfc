"""Probe nodes on a serial port: one named thread reads bytes, the loop does the rest.

Opening without endless resets
------------------------------
Many small boards restart when "data terminal ready" (DTR) rises, and the kernel raises it at every opening unless it
is up already. So "hang up on close" (HUPCL) is switched off once the port is open: DTR then stays up when the port is
let go, also by a process that was killed, and opening it again changes nothing. A board restarts at the first opening
after it was plugged in, at most. RTS always follows DTR, because the usual reset circuits act when the two differ.
"""

import asyncio
import errno
import glob
import os
import termios
import threading
from collections.abc import AsyncIterator, Callable
from typing import Any, Final

import serial
from msgspec.structs import replace
from serial.tools import list_ports

from drivers.lines import Framer, Line, make_parser
from drivers.mailbox import Mailbox
from drivers.threads import in_thread
from firebox.errors import SourceError
from firebox.links import USB, SerialOptions
from firebox.ports import Clock, SourceHealth
from firebox.records import Entry, Problem, Reading

CHUNK = 4096
"""Bytes taken at once at most."""


def find_port(port: str) -> str:
    """Return the path of the device that `SerialOptions.port` describes.

    Raises
    ------
    SourceError
        Nothing there fits; the message lists what is there.
    """
    usb = USB.fullmatch(port)
    if usb is not None:
        return _find_usb(port, int(usb["vid"], 16), int(usb["pid"], 16), usb["serial"])
    if not os.path.lexists(port) and glob.has_magic(port):
        found = sorted(glob.glob(port))  # noqa: PTH207  Path.glob takes no absolute pattern
        if not found:
            raise SourceError(f"{port}: no such device; there are {_those_there()}")
        return found[0]
    return port


def _find_usb(port: str, vid: int, pid: int, serial_number: str | None) -> str:
    for there in list_ports.comports():
        if (there.vid, there.pid) == (vid, pid) and serial_number in {None, there.serial_number}:
            return str(there.device)
    raise SourceError(f"{port}: no such device; there are {_those_there()}")


def _those_there() -> str:
    return ", ".join(sorted(str(there.device) for there in list_ports.comports())) or "none"


def open_port(options: SerialOptions) -> Any:  # serial.Serial, which has no types
    """Return the port, opened for this process alone.

    Raises
    ------
    SourceError
        It is not there, or busy, or not ours to open.
    """
    path = find_port(options.port)
    port = serial.Serial(baudrate=options.baud, timeout=None, exclusive=True)
    port.port, port.dtr, port.rts = path, options.dtr, options.dtr
    try:
        port.open()
        settings = termios.tcgetattr(port.fileno())
        settings[2] &= ~termios.HUPCL
        termios.tcsetattr(port.fileno(), termios.TCSANOW, settings)
    except (OSError, termios.error, ValueError) as error:
        port.close()
        raise SourceError(f"{path}: cannot be opened: {_plainly(error)}") from error
    return port


_REASONS: Final = {
    errno.ENOENT: "not there; is the node plugged in?",
    errno.ENXIO: "not there; is the node plugged in?",
    errno.EACCES: "not ours to open; add this user to the port's group (often dialout)",
    errno.EPERM: "not ours to open; add this user to the port's group (often dialout)",
    errno.EAGAIN: "held by another program",
    errno.EBUSY: "held by another program",
    errno.ENOTTY: "no serial port",
    errno.EIO: "does not answer; unplug it and plug it in again",
}


def _plainly(error: Exception) -> str:
    """Return in plain words why a port cannot be opened; the library's own where the reason is a rare one."""
    number = getattr(error, "errno", None)
    return _REASONS.get(number, str(error)) if isinstance(number, int) else str(error)


def _close(port: Any) -> None:  # serial.Serial
    port.close()


class _Pump:
    """The thread that moves bytes from one open port to the loop, until stopped or the port is gone."""

    def __init__(self, name: str, port: Any, heard: Callable[[bytes], None], gone: Callable[[str], None]) -> None:
        self._port = port
        self._heard = heard
        self._gone = gone
        self._loop = asyncio.get_running_loop()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        try:
            while not self._stopping.is_set():
                chunk = self._port.read(max(1, min(CHUNK, self._port.in_waiting)))
                if chunk:
                    self._loop.call_soon_threadsafe(self._heard, chunk)
        except OSError as error:  # SerialException is one; the cable was pulled or the far end closed
            self._loop.call_soon_threadsafe(self._gone, str(error))

    def stop(self) -> None:
        """End the thread and close the port; blocks until both are done."""
        self._stopping.set()
        self._port.cancel_read()
        self._thread.join()
        self._port.close()  # only here: a thread that closed it by itself could do so in the middle of the line above


class SerialSource:
    """Readings from a probe node on a serial port.

    Parameters
    ----------
    name : str
        What messages call it.
    clock : Clock
        Stamps the readings.
    options : SerialOptions
    """

    def __init__(self, name: str, clock: Clock, *, options: SerialOptions) -> None:
        self._name = name
        self._clock = clock
        self._options = options
        self._parse = make_parser(options.lines)
        self._health = SourceHealth()
        self._framer = Framer()
        self._box: Mailbox | None = None
        self._pump: _Pump | None = None
        self._count = 0
        self.node: dict[str, Any] | None = None  # the node's own words
        """What the node last told of itself."""

    @property
    def name(self) -> str:
        return self._name

    @property
    def health(self) -> SourceHealth:
        return self._health

    async def open(self) -> None:
        """Open the port and start to listen.

        Raises
        ------
        SourceError
            The port is not there, busy, or not ours to open.
        """
        await self.close()
        try:
            port = await in_thread(f"serial-open-{self._name}", lambda: open_port(self._options), discard=_close)
        except SourceError as error:
            self._health = replace(self._health, last_problem=str(error))
            raise
        self._framer, box = Framer(), Mailbox(self._name)
        self._box = box
        self._pump = _Pump(
            f"serial-{self._name}", port, lambda chunk: self._hear(box, chunk), lambda why: self._lose(box, why)
        )
        self._health = replace(self._health, connected=True)

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield readings and problems as they are heard.

        Raises
        ------
        SourceError
            The device has gone away, or was never opened.
        """
        if self._box is None:
            raise SourceError(f"{self._options.port}: not open")
        async for item in self._box.items():
            yield item

    async def close(self) -> None:
        """Let go of the port; its thread has ended when this returns."""
        pump, self._pump = self._pump, None
        if self._box is not None:
            self._box.end()
            self._box = None
        self._health = replace(self._health, connected=False)
        if pump is not None:
            await in_thread(f"serial-close-{self._name}", pump.stop)

    def _hear(self, box: Mailbox, chunk: bytes) -> None:
        for line in self._framer.feed(chunk):
            if line.data or line.too_long:
                self._hear_line(box, line)

    def _hear_line(self, box: Mailbox, line: Line) -> None:
        if line.torn and (line.too_long or self._options.lines.format != "json"):
            return  # digits may be missing at its front, which would make a wrong temperature
        heard = self._parse(line.data)
        if line.torn and heard.problems:
            return
        problems = ("longer than 512 bytes; skipped",) if line.too_long else heard.problems
        self._count += 1
        now = self._clock.now()
        if not line.too_long:
            for sample in heard.samples:
                box.put(Reading(time=now, probe=sample.probe, celsius=sample.celsius, status=sample.status))
        for text in problems:
            box.put(Problem(source=self._name, line=self._count, text=text))
        self.node = heard.node or self.node
        self._health = replace(
            self._health,
            lines=self._count,
            bad_lines=self._health.bad_lines + bool(problems),
            last_problem=problems[-1] if problems else self._health.last_problem,
        )

    def _lose(self, box: Mailbox, why: str) -> None:
        text = f"{self._options.port}: gone: {why}"
        self._health = replace(self._health, connected=False, last_problem=text)
        box.end(SourceError(text))
