"""Input modules on a serial line, by Modbus RTU: temperatures in registers.

Modbus Application Protocol Specification V1.1b3 (2012) and Modbus over Serial Line V1.02 (2006), through pymodbus. All
probes of a module are one device: where it does not answer, the line is not held up by asking it again for each.
"""

import logging
import struct
from collections.abc import Iterator
from typing import Any, Final

from drivers.bench import Bench, Place, failed
from drivers.lines import Heard, Sample, hear_number
from drivers.polling import PolledSource
from drivers.serial_lines import find_port
from firebox.errors import SourceError
from firebox.links import ModbusOptions, ModbusProbe
from firebox.ports import Clock
from firebox.records import Status

ANSWER_SECONDS: Final = 0.5
"""In which a module answers, or is asked once more. The specification leaves it to the owner; modules answer within a
tenth."""

PARITIES: Final = {"none": "N", "even": "E", "odd": "O"}
FORMATS: Final = {"int16": ">h", "uint16": ">H", "int32": ">i", "uint32": ">I", "float32": ">f"}
REFUSALS: Final = {
    1: "it does not read this table",
    2: "it has no such register",
    3: "it does not read so many registers",
    4: "it has failed itself",
    6: "it is busy",
}
"""Exception codes of the specification, section 7, in plain words."""

UNREACHED: Final = frozenset({10, 11})
"""Exception codes with which a gateway answers for a module that it does not reach."""


def open_client(options: ModbusOptions) -> Any:  # a pymodbus client, imported only where one is configured
    """Return a client with its port open.

    Raises
    ------
    SourceError
        The port is not there or not ours, or the extra is not installed.
    """
    try:
        from pymodbus.client import ModbusSerialClient  # noqa: PLC0415  an extra
    except ImportError as error:
        raise SourceError('Modbus needs the package pymodbus; pip install "firebox[modbus]"') from error
    logging.getLogger("pymodbus.logging").setLevel(logging.CRITICAL)  # what goes wrong is raised, and told once
    client = ModbusSerialClient(
        find_port(options.port),
        baudrate=options.baud,
        parity=PARITIES[options.parity],
        stopbits=options.stop_bits,
        timeout=ANSWER_SECONDS,
        retries=1,
    )
    if not client.connect():
        raise SourceError(f"{options.port}: cannot be opened: not there, held by another program, or not permitted")
    return client


class Station:
    """One module on the line, with its probes."""

    def __init__(self, client: Any, probes: list[ModbusProbe]) -> None:  # a pymodbus client
        self._client = client
        self._probes = probes

    def ask(self) -> Heard:
        """Return what its probes show now.

        Raises
        ------
        SourceError
            It does not answer, or the port is gone.
        """
        heard = [self._ask(probe) for probe in self._probes]
        return Heard(
            tuple(sample for one in heard for sample in one.samples),
            tuple(text for one in heard for text in one.problems),
        )

    def _ask(self, probe: ModbusProbe) -> Heard:
        from pymodbus.exceptions import ModbusException  # noqa: PLC0415  as above

        count = struct.calcsize(FORMATS[probe.type]) // 2
        read = self._client.read_input_registers if probe.table == "input" else self._client.read_holding_registers
        try:
            answer = read(probe.register, count=count, device_id=probe.station)
        except (ModbusException, OSError) as error:
            raise SourceError(f"station {probe.station} does not answer") from error
        if answer.isError():
            code = getattr(answer, "exception_code", 0)
            if code in UNREACHED:
                raise SourceError(f"station {probe.station} does not answer")
            why = REFUSALS.get(code, f"exception {code}")
            return failed(
                [probe.probe], f"station {probe.station} refuses {probe.table} register {probe.register}: {why}"
            )
        if len(answer.registers) != count:
            return failed([probe.probe], f"station {probe.station} answers with {len(answer.registers)} registers")
        return hear_registers(probe, answer.registers)

    def close(self) -> None:
        """Nothing is held of a station."""


def hear_registers(probe: ModbusProbe, registers: list[int]) -> Heard:
    """Return what the registers of a probe mean.

    Examples
    --------
    >>> hear_registers(ModbusProbe(probe="grate", register=0), [1214]).samples[0].celsius
    121.4
    >>> hear_registers(ModbusProbe(probe="grate", register=0, codes={"32767": "open"}), [32767]).samples[0].status
    <Status.OPEN: 'open'>
    """
    words = reversed(registers) if probe.swapped else registers
    (value,) = struct.unpack(FORMATS[probe.type], b"".join(word.to_bytes(2) for word in words))
    code = probe.codes.get(str(int(value))) if value == value // 1 else None
    if code is not None:
        return Heard((Sample(probe.probe, None, Status(code)),))
    return hear_number(probe.probe, round(value * probe.scale, 6), probe.unit)


class ModbusRig:
    """The modules on one port.

    Raises
    ------
    SourceError
        The port cannot be opened.
    """

    def __init__(self, options: ModbusOptions) -> None:
        self._client = open_client(options)
        self._port = options.port
        stations: dict[int, list[ModbusProbe]] = {}
        for probe in options.probes:
            stations.setdefault(probe.station, []).append(probe)
        self._bench = Bench([self._place(probes) for probes in stations.values()])

    def _place(self, probes: list[ModbusProbe]) -> Place:
        return Place(tuple(probe.probe for probe in probes), lambda: Station(self._client, probes))

    def sample(self) -> Iterator[Heard]:
        """Ask every module once.

        Raises
        ------
        SourceError
            Not one of them answers, or the port is gone.
        """
        try:
            yield from self._bench.sample()
        except SourceError as error:
            raise SourceError(f"{self._port}: {error}") from error

    def close(self) -> None:
        """Let go of the port."""
        self._client.close()


def source(name: str, clock: Clock, *, options: ModbusOptions) -> PolledSource:
    """Return the modules of a configuration as a probe source."""
    return PolledSource(name, clock, connect=lambda: ModbusRig(options), every=options.every)
