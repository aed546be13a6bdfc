"""What the owner tells of the ways in and out of the program: ports, brokers, recordings.

Data only, so that a configuration can be checked without loading a driver. The classes in `drivers` take these
structs; they are told apart by `kind`.
"""

import re
from collections.abc import Mapping
from enum import StrEnum
from typing import Annotated, Literal

from msgspec import Meta, Struct

from firebox.records import Name, Status
from firebox.sensors import HwmonOptions, I2cOptions, IioOptions, OneWireOptions, Seconds, SpiOptions

Port = Annotated[int, Meta(ge=1, le=65535)]
FilePath = Annotated[str, Meta(min_length=1, max_length=4096)]
Topic = Annotated[str, Meta(min_length=1, max_length=1024)]


class Scale(StrEnum):
    """A temperature scale that a device may speak."""

    C = "C"
    F = "F"
    K = "K"


# --- lines ---------------------------------------------------------------------------------------


class LineField(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What one field of a line stands for."""

    probe: Name | None = None
    """Name in the records; None: the field's own name."""
    unit: Scale | None = None
    """Scale of this field; None: that of the line."""


class LineFormat(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the lines of a device are read.

    Attributes
    ----------
    format : "json", "pattern" or "columns"
        A JSON object with a value per probe; a regular expression with named groups; values between separators.
    pattern : str or None
        Only with "pattern", searched for in each line. Groups are named after probes or after keys of `fields`.
    columns : tuple of str
        Only with "columns": a name per column, left to right; "" passes a column over.
    separator : str
        Only with "columns": what stands between two values.
    unit : Scale
        Scale of every field that does not say otherwise.
    fields : dict
        Field name (JSON key, group, column) -> another probe name, another unit, or both.
    ignore : tuple of str
        Fields that are no probes (a counter, a battery).
    words : dict
        What the device writes in place of a number -> what it means, e.g. `{"---" = "open"}`. The words open,
        shorted and failed are always understood.
    """

    format: Literal["json", "pattern", "columns"] = "json"
    pattern: Annotated[str, Meta(max_length=1000)] | None = None
    columns: tuple[Annotated[str, Meta(max_length=64)], ...] = ()
    separator: Annotated[str, Meta(min_length=1, max_length=8)] = ","
    unit: Scale = Scale.C
    fields: Mapping[str, LineField] = {}
    ignore: tuple[str, ...] = ()
    words: Mapping[str, Literal["open", "shorted", "failed"]] = {}

    def __post_init__(self) -> None:
        """Refuse a format whose parts do not belong together (ValueError)."""
        if (self.format == "pattern") != (self.pattern is not None):
            raise ValueError('pattern and format = "pattern" go together; one is there without the other')
        if (self.format == "columns") != bool(self.columns):
            raise ValueError('columns and format = "columns" go together; one is there without the other')
        if self.pattern is not None:
            _check_pattern(self.pattern)
        named = [name for name in self.columns if name]
        if self.columns and (not named or len(set(named)) < len(named)):
            raise ValueError('columns needs at least one name and none twice; "" passes a column over')

    def status_of(self, word: str) -> Status | None:
        """Return what a word in place of a number means; None where it means nothing."""
        if word in self.words:
            return Status(self.words[word])
        folded = word.strip().lower()
        return Status(folded) if folded in {"open", "shorted", "failed"} else None


def _check_pattern(pattern: str) -> None:
    try:
        groups = re.compile(pattern).groupindex
    except re.error as error:
        raise ValueError(f"pattern: not a regular expression: {error}") from error
    if not groups:
        raise ValueError("pattern: no named group; write (?P<grate>...) around the number of each probe")


class SerialOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="serial"):
    """A probe node on a serial port.

    Attributes
    ----------
    port : str
        A path (`/dev/ttyACM0`); a path with `*`, `?` or `[` (`/dev/serial/by-id/*node*`), of which the first match in
        name order is taken; or `usb:VID:PID` or `usb:VID:PID:SERIAL`, ids in hexadecimal, for the first such device.
    baud : int
        Bits a second; no matter for a board with its own USB.
    dtr : bool
        Whether "data terminal ready" (and "request to send" with it) stays raised while the port is open. Boards
        with USB of their own send nothing without it; false is for the rare board that stays in reset under it.
    lines : LineFormat
    """

    name: Name = "serial"
    port: FilePath
    baud: Annotated[int, Meta(ge=300, le=4_000_000)] = 115_200
    dtr: bool = True
    lines: LineFormat = LineFormat()

    def __post_init__(self) -> None:
        """Refuse a `usb:` port that names no device (ValueError)."""
        _check_port(self.port)


def _check_port(port: str) -> None:
    if port.startswith("usb:") and not USB.fullmatch(port):
        raise ValueError('port: "usb:" is followed by two ids of four hexadecimal digits, as in usb:2e8a:000a')


USB = re.compile(r"usb:(?P<vid>[0-9a-fA-F]{4}):(?P<pid>[0-9a-fA-F]{4})(?::(?P<serial>.+))?")
"""A device by its USB ids and, where there are several alike, its serial number."""


# --- Modbus --------------------------------------------------------------------------------------


class ModbusProbe(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A register, or two, of an input module.

    Attributes
    ----------
    station : int
        The module's address on the line.
    register : int
        As it goes over the line, counted from 0; a manual that writes 30001 or 40001 means 0.
    table : "input" or "holding"
        Registers that can only be read, or those that can be written too.
    type : str
        What the bits are; 32 bits are two registers, the upper one first unless `swapped`.
    scale : float
        What a step is worth: 0.1 where 1214 is 121.4.
    unit : Scale
    codes : dict
        Numbers, before scaling, that are no temperature -> what they mean, e.g. `{"32767" = "open"}`.
    """

    probe: Name
    station: Annotated[int, Meta(ge=1, le=247)] = 1
    register: Annotated[int, Meta(ge=0, le=65535)]
    table: Literal["input", "holding"] = "input"
    type: Literal["int16", "uint16", "int32", "uint32", "float32"] = "int16"
    swapped: bool = False
    scale: Annotated[float, Meta(gt=0, le=1000)] = 0.1
    unit: Scale = Scale.C
    codes: Mapping[str, Literal["open", "shorted", "failed"]] = {}

    def __post_init__(self) -> None:
        """Refuse a code that is no whole number (ValueError)."""
        for code in self.codes:
            if not re.fullmatch(r"-?\d{1,10}", code):
                raise ValueError(f'codes: "{code}" is no whole number, as in {{ "32767" = "open" }}')


class ModbusOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="modbus"):
    """Input modules on a serial line that speaks Modbus RTU; needs the extra `modbus`.

    Attributes
    ----------
    port : str
        As in `SerialOptions`.
    """

    name: Name = "modbus"
    port: FilePath
    baud: Annotated[int, Meta(ge=300, le=4_000_000)] = 9600
    parity: Literal["none", "even", "odd"] = "none"
    stop_bits: Literal[1, 2] = 1
    probes: Annotated[tuple[ModbusProbe, ...], Meta(min_length=1)]
    every: Seconds = 1.0

    def __post_init__(self) -> None:
        """Refuse a `usb:` port that names no device (ValueError)."""
        _check_port(self.port)


# --- MQTT ----------------------------------------------------------------------------------------


class Tls(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An encrypted link; the broker's certificate and name are always checked."""

    ca_file: FilePath | None = None
    """Certificates that vouch for the broker; None: those the system trusts."""
    certificate_file: FilePath | None = None
    """The client's own certificate, where the broker asks for one."""
    key_file: FilePath | None = None

    def __post_init__(self) -> None:
        """Refuse half a client certificate (ValueError)."""
        if (self.certificate_file is None) != (self.key_file is None):
            raise ValueError("certificate_file and key_file go together; one is there without the other")


class Broker(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An MQTT broker and how to be let in.

    The password is never here: `password_file` names a file that holds it (first line), `password_env` an
    environment variable; at most one of them, and only with `user`.
    """

    host: Annotated[str, Meta(min_length=1, max_length=255)] = "localhost"
    port: Port | None = None
    """None: 8883 with TLS, 1883 without."""
    protocol: Literal["3.1.1", "5"] = "3.1.1"
    tls: Tls | None = None
    user: Annotated[str, Meta(min_length=1, max_length=256)] | None = None
    password_file: FilePath | None = None
    password_env: Annotated[str, Meta(min_length=1, max_length=128)] | None = None
    keepalive_seconds: Annotated[int, Meta(ge=5, le=3600)] = 30

    def __post_init__(self) -> None:
        """Refuse a password without a user, and two passwords (ValueError)."""
        if self.password_file is not None and self.password_env is not None:
            raise ValueError("password_file and password_env are both there; keep one")
        if self.user is None and (self.password_file or self.password_env):
            raise ValueError("a password without a user; add user, or leave the password out")

    def port_number(self) -> int:
        """Return the TCP port; those of IANA's registry where none is given."""
        return self.port or (8883 if self.tls else 1883)


class TopicMap(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which probe a topic stands for.

    Attributes
    ----------
    topic : str
        With `+` and `#` as MQTT defines them.
    probe : str or None
        `{1}` stands for what the first wildcard matched, `{2}` for the second. None: the message names its probes
        itself, as a record of a reading or as a JSON object with a value per probe.
    pointer : str or None
        Where in a JSON message the value is (RFC 6901); None: the message is the value.
    unit : Scale
    """

    topic: Topic
    probe: Name | None = None
    pointer: Annotated[str, Meta(max_length=1024)] | None = None
    unit: Scale = Scale.C

    def __post_init__(self) -> None:
        """Refuse a topic filter or a pointer that cannot be (ValueError)."""
        check_filter(self.topic)
        if self.pointer:
            check_pointer(self.pointer)
        if self.pointer is not None and self.probe is None:
            raise ValueError("pointer without probe; say which probe the value is")
        wildcards = sum(level in {"+", "#"} for level in self.topic.split("/"))
        for number in re.findall(r"\{(\d+)\}", self.probe or ""):
            if not 1 <= int(number) <= wildcards:
                raise ValueError(f"probe: {{{number}}} but the topic has {wildcards} wildcards")


def check_filter(topic: str) -> None:
    """Refuse what is no topic filter (ValueError): MQTT 5.0 (OASIS, 2019), section 4.7.1."""
    levels = topic.split("/")
    if "#" in topic and (topic.count("#") > 1 or levels[-1] != "#"):
        raise ValueError(f'topic: "{topic}": # stands alone, at the end')
    if any("+" in level and level != "+" for level in levels):
        raise ValueError(f'topic: "{topic}": + stands alone between slashes')
    if "\0" in topic:
        raise ValueError("topic: contains a null character")


def check_pointer(pointer: str) -> None:
    """Refuse what is no JSON pointer (ValueError): RFC 6901 (IETF, 2013), section 3."""
    if pointer and not pointer.startswith("/"):
        raise ValueError(f'pointer: "{pointer}" does not start with a slash, as in /pit/celsius')
    if re.search(r"~(?![01])", pointer):
        raise ValueError(f'pointer: "{pointer}": a tilde is written ~0 and a slash inside a name ~1')


class MqttSourceOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="mqtt"):
    """Readings that others publish."""

    name: Name = "mqtt"
    broker: Broker = Broker()
    topics: Annotated[tuple[TopicMap, ...], Meta(min_length=1)]
    retained: bool = False
    """Whether to take what the broker kept from earlier, of unknown age, as a reading of now."""


class MqttOutletOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="mqtt"):
    """Where the watch is published, and whether entries are taken from there."""

    name: Name = "mqtt"
    broker: Broker = Broker()
    root: Topic | None = None
    """Topic above all others; None: `pits/` and the pit's name."""
    accept_entries: bool = False
    """Whether entries from other devices, on `<root>/entry`, count as the cook's own."""

    def __post_init__(self) -> None:
        """Refuse a root with wildcards or slashes around it (ValueError)."""
        if self.root is not None and (re.search(r"[+#\0]", self.root) or self.root != self.root.strip("/")):
            raise ValueError('root: without +, # and slashes at the ends, as in "yard/north-pit"')


# --- recordings and practice ---------------------------------------------------------------------


class ReplayOptions(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="replay"):
    """A recorded cook, played as fast as the keeper's clock runs."""

    name: Name = "replay"
    file: FilePath
    """JSON lines, or CSV where the name ends in `.csv`, as `firebox export` writes them."""


class PracticeOptions(
    Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind", tag="practice"
):
    """The practice fire; how fast it burns is the keeper's clock."""

    name: Name = "practice"
    scenario: Annotated[str, Meta(min_length=1, max_length=64)] = "lantern"
    seed: Annotated[int, Meta(ge=0, le=2**63 - 1)] | None = None
    """Of the weather and the hand; None: the scene's own."""


SourceOptions = (
    SerialOptions
    | ModbusOptions
    | MqttSourceOptions
    | IioOptions
    | HwmonOptions
    | OneWireOptions
    | SpiOptions
    | I2cOptions
    | ReplayOptions
    | PracticeOptions
)
"""Any way in."""
