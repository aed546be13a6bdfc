"""A pit that another computer keeps, looked at over MQTT: what a dashboard is handed there, and its own alarm.

The broker hands on what it kept, then what comes. Whether the keeper lives is judged here, by its heartbeat: a keeper
or a network that is silent for half a minute is an alarm of this device's own, whatever the last will says.
"""

import secrets
import sys
import time
from collections import deque
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import Any, Final

import msgspec
from msgspec.structs import replace
from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.reasoncodes import ReasonCode

from drivers.broker import make_client, place
from drivers.mqtt_outlet import Heartbeat, topic_safe
from drivers.payloads import PAYLOAD_LIMIT
from drivers.silence import ALARM, Silence, acknowledge, look
from firebox.errors import JournalError, RecordError, printable
from firebox.links import MqttOutletOptions
from firebox.ports import KeeperStatus, Kind
from firebox.records import Acknowledge, Entry, Record, Tick, from_plain, parse, payload
from firebox.secret import Secret
from firebox.setup import Setup

WAITING: Final = 10_000
"""Messages that wait to be looked at, at most; the oldest go first."""

LEAVE_SECONDS: Final = 5.0
"""How long a broker may take to acknowledge an entry."""

WORDS: Final = frozenset({"reading", "probe", "outlook", "move", "fire", "meat", "plan", "alarm", "question"})
"""First levels of topics below the root that hold records, and the types of these."""


class MqttLink:
    """A `firebox.ports.WatchLink` over a broker; for one thread at a time.

    Parameters
    ----------
    options : MqttOutletOptions
        As the keeper has them.
    pit : str
    setup : Setup
        What this device knows of the pit; told before the first record.
    password : Secret, optional
        Goes with `options.broker.user`.
    wall, steady : callable
        The clocks of the machine.
    """

    def __init__(
        self,
        options: MqttOutletOptions,
        pit: str,
        setup: Setup,
        *,
        password: Secret | None = None,
        wall: Callable[[], datetime] = lambda: datetime.now(UTC),
        steady: Callable[[], float] = time.monotonic,
    ) -> None:
        self._options = options
        self._pit = pit
        self._root = options.root or f"pits/{topic_safe(pit)}"
        self._wall = wall
        self._steady = steady
        self._messages: deque[tuple[str, bytes]] = deque(maxlen=WAITING)
        self._link_problem: str | None = "connecting"
        self._bad: str | None = None
        self._setup: Setup | None = setup
        self._local: list[Record] = []
        self._silence = Silence(heard=steady())
        self._heartbeat: Heartbeat | None = None
        self._client = self._connected(password)

    def _connected(self, password: Secret | None) -> Client:
        broker = self._options.broker
        client = make_client(broker, password, reconnect=True)
        client.reconnect_delay_set(min_delay=1, max_delay=10)
        below = f"{self._root}/#"

        # These run in the client's thread; all that they do is to set one value, or to add to the queue.
        def connected(client: Client, _data: Any, _flags: Any, reason: ReasonCode, _more: Any) -> None:
            if reason.is_failure:
                self._link_problem = f"{place(broker)}: the broker refuses: {reason}"
            else:
                client.subscribe(below, qos=1)

        def subscribed(_client: Client, _data: Any, _mid: int, reasons: list[ReasonCode], _more: Any) -> None:
            refused = any(reason.is_failure for reason in reasons)
            self._link_problem = f"{place(broker)}: the broker refuses to tell {below}" if refused else None

        def not_connected(_client: Client, _data: Any) -> None:
            self._link_problem = f"{place(broker)}: {sys.exc_info()[1]}"  # called from the client's `except` block

        def disconnected(_client: Client, _data: Any, _flags: Any, reason: ReasonCode, _more: Any) -> None:
            self._link_problem = f"{place(broker)}: lost: {reason}"

        def messaged(_client: Client, _data: Any, message: MQTTMessage) -> None:
            self._messages.append((message.topic, bytes(message.payload)))

        client.on_connect = connected
        client.on_subscribe = subscribed
        client.on_connect_fail = not_connected
        client.on_disconnect = disconnected
        client.on_message = messaged
        client.connect_async(broker.host, broker.port_number(), broker.keepalive_seconds)
        client.loop_start()
        return client

    # --- in --------------------------------------------------------------------------------------

    def news(self) -> Sequence[Record]:
        """Return what has come since the last call, in the order of its time; and this device's own alarm."""
        found: list[Record] = []
        while self._messages:
            topic, data = self._messages.popleft()
            try:
                record = self._read(topic.removeprefix(f"{self._root}/"), data)
            except (RecordError, msgspec.DecodeError) as error:
                self._bad = printable(f"{topic}: {error}")[:300]
                continue
            if record is not None:
                found.append(record)
        found.sort(key=lambda record: record.time)
        self._silence, alarm = look(self._silence, self._steady(), self._wall(), self._link_problem)
        local, self._local = self._local, []
        if found and self._setup is not None:  # before everything else, however long ago that was
            found.insert(0, replace(self._setup, time=found[0].time))
            self._setup = None
        return [*found, *local, *([alarm] if alarm is not None else [])]

    def _read(self, topic: str, data: bytes) -> Record | None:
        """Return the record in a message; None where it is none, but something of the keeper's own."""
        if len(data) > PAYLOAD_LIMIT:
            raise RecordError(f"{len(data)} bytes; no record is longer than {PAYLOAD_LIMIT}")
        if topic == "status":
            self._silence = replace(self._silence, gone=data == b"offline")
            return None
        if topic == "heartbeat":
            self._heartbeat = msgspec.json.decode(data, type=Heartbeat)
            self._silence = replace(self._silence, heard=self._steady(), gone=False)
            return Tick(time=self._heartbeat.time)
        word = topic.partition("/")[0]
        if word not in WORDS:
            return None
        plain = parse(data)
        return from_plain({**plain, "type": word} if isinstance(plain, dict) else plain)

    def status(self) -> KeeperStatus:
        """Return how the keeper is, as far as it is heard."""
        known = self._heartbeat
        alive = known is not None and not self._silence.is_silent(self._steady())
        return KeeperStatus(
            alive=alive,
            pit=self._pit,
            kind=known.kind if known else Kind.LIVE,
            rate=known.rate if known else 1.0,
            problem=self._link_problem or self._bad,
        )

    # --- out -------------------------------------------------------------------------------------

    def leave(self, entry: Entry) -> None:
        """Leave an entry with the broker for the keeper; the broker has it when this returns.

        Raises
        ------
        JournalError
            It could not be left; the message says why.
        """
        if isinstance(entry, Acknowledge) and entry.alarm == ALARM:
            self._silence, alarm = acknowledge(self._silence, self._wall())
            self._local += [alarm] if alarm is not None else []
            return
        if entry.id is None:
            entry = replace(entry, id=f"afar-{secrets.token_hex(6)}")
        if self._link_problem is not None:
            raise JournalError(f"the entry could not be left: {self._link_problem}")
        sent = self._client.publish(f"{self._root}/entry", payload(entry), qos=1)
        try:
            sent.wait_for_publish(LEAVE_SECONDS)
        except (RuntimeError, ValueError) as error:
            raise JournalError(f"the entry could not be left: {place(self._options.broker)}: {error}") from error
        if not sent.is_published():
            raise JournalError(
                f"the entry could not be left: {place(self._options.broker)} did not answer within {LEAVE_SECONDS:.0f} s"
            )
        self._local.append(entry)

    def close(self) -> None:
        """Disconnect; may be called twice."""
        self._client.disconnect()
        self._client.loop_stop()
