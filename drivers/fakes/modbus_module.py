"""Input modules on a serial line: a real Modbus server behind two pseudo-terminals joined by a wire.

The server opens one end and the driver under test the other, a symbolic link that stays the same over plugging and
unplugging.
"""

import asyncio
import errno
import os
import tty
from pathlib import Path
from typing import Any

from pymodbus.constants import ExcCodes
from pymodbus.server import ModbusSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice

READ_INPUT = 4
"""Function code of the protocol."""


class ModbusLine:
    """A line with modules of eight registers each.

    Attributes
    ----------
    path : Path
        The driver's end.
    registers : dict
        Station -> its registers, which may be changed while it runs.
    table : int
        The only function with which they may be read: 4 for input, 3 for holding registers.
    """

    def __init__(self, path: Path, stations: tuple[int, ...] = (1,), *, baud: int = 9600) -> None:
        self.path = path
        self.registers = {station: [0] * 8 for station in stations}
        self.table = READ_INPUT
        self.mute: set[int] = set()
        """Stations without power: what is sent to them is answered by nobody."""
        self._baud = baud
        self._ends: list[int] = []
        self._server: ModbusSerialServer | None = None
        self._serving: asyncio.Task[None] | None = None

    async def plug(self) -> None:
        """Put the line up."""
        here, here_end = os.openpty()
        there, there_end = os.openpty()
        self._ends = [here, here_end, there, there_end]
        for end in (here_end, there_end):
            tty.setraw(end)
        loop = asyncio.get_running_loop()
        loop.add_reader(here, self._carry, here, there)
        loop.add_reader(there, self._carry, there, here)
        self.path.unlink(missing_ok=True)
        self.path.symlink_to(os.ttyname(there_end))
        devices = [self._device(station) for station in self.registers]
        self._server = ModbusSerialServer(devices, port=os.ttyname(here_end), baudrate=self._baud)
        self._serving = asyncio.create_task(self._server.serve_forever(), name="modbus server")

    def _device(self, station: int) -> SimDevice:
        async def answer(function: int, *rest: Any) -> ExcCodes | None:  # the library's own five
            if function != self.table:
                return ExcCodes.ILLEGAL_FUNCTION
            current: list[int] = rest[3]  # of the whole module, to be changed in place
            for offset, value in enumerate(self.registers[station]):
                current[offset] = value & 0xFFFF
            return None

        return SimDevice(station, SimData(0, count=8, values=0, datatype=DataType.REGISTERS), action=answer)

    def _carry(self, source: int, target: int) -> None:
        try:
            frame = os.read(source, 4096)
            if frame[0] not in self.mute:  # a frame begins with the address of its station, either way
                os.write(target, frame)
        except OSError as error:
            if error.errno != errno.EIO:  # nobody has the other end open
                raise

    async def unplug(self) -> None:
        """Take the line away: the driver's port is gone."""
        if self._server is None or self._serving is None:
            return
        await self._server.shutdown()  # type: ignore[no-untyped-call]
        await asyncio.wait([self._serving])
        self._server = self._serving = None
        loop = asyncio.get_running_loop()
        self.path.unlink(missing_ok=True)
        for master in self._ends[::2]:
            loop.remove_reader(master)
        for end in self._ends:
            os.close(end)
        self._ends = []
