"""The watch, published on an MQTT broker; and entries taken from there where the owner allows it.

What is published is the present state of each thing, kept by the broker (retained), so that who comes late sees all
of it. Readings, outlooks and the like are held here as the latest of each topic: a slow or absent broker costs old
values, never memory. Alarms are told in order, every change, one at a time until the broker has acknowledged it.
"""

import asyncio
import sys
from collections import deque
from collections.abc import Callable, Sequence
from typing import Any, Final
from urllib.parse import quote

import msgspec
from msgspec import Struct
from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.reasoncodes import ReasonCode

from drivers.broker import make_client, place
from drivers.lines import excerpt
from drivers.payloads import PAYLOAD_LIMIT
from drivers.threads import in_thread
from firebox.errors import RecordError
from firebox.links import MqttOutletOptions
from firebox.ports import Clock, Kind
from firebox.records import (
    Alarm,
    Entry,
    Fire,
    Instant,
    Meat,
    Move,
    Outlook,
    ProbeHealth,
    Problem,
    Question,
    Reading,
    Record,
    Resumed,
    Tick,
    Timetable,
    Trouble,
    from_plain,
    parse,
    payload,
)
from firebox.records import Clock as ClockSet
from firebox.secret import Secret

READING_SECONDS: Final = 1.0
"""Real seconds between two readings of a probe on the broker, at least."""

IN_FLIGHT: Final = 32
"""Messages handed to the network and not yet sent, at most; the rest waits here, newest only."""

GOODBYE_SECONDS: Final = 1.5
"""How long closing waits until the broker has taken the last status."""

HEARTBEAT_SECONDS: Final = 10.0
"""Real seconds between two signs of life, at least."""

NOTHING_MORE: Final = "nothing more is done"
"""What the first outlook assumes; any other is one under recommended moves."""


class Message(Struct, frozen=True):
    """What goes to one topic below the root."""

    topic: str
    payload: bytes
    certain: bool = False
    """Whether it is sent until acknowledged (QoS 1)."""
    kept: bool = True
    """Whether the broker keeps it for who comes later (retained)."""


class Heartbeat(Struct, frozen=True, kw_only=True):
    """A sign of life: the watch has turned and written a tick; and what sort of fire it looks at."""

    time: Instant
    kind: Kind = Kind.LIVE
    rate: float = 1.0


def topic_safe(name: str) -> str:
    """Return a name as one level of a topic: slash, wildcards, percent and control characters as %XX.

    Two names never become one.

    Examples
    --------
    >>> topic_safe("point/flat #2"), topic_safe("grate")
    ('point%2Fflat %232', 'grate')
    """
    return "".join(c if c.isprintable() and c not in "/+#%" else quote(c, safe="", errors="replace") for c in name)


def message_for(record: Record) -> Message | None:
    """Return what is published of a record; None for those that stay inside."""
    match record:
        case Reading(probe=probe):
            return Message(f"reading/{topic_safe(probe)}", payload(record))
        case ProbeHealth(probe=probe):
            return Message(f"probe/{topic_safe(probe)}", payload(record))
        case Outlook(assumes=assumes):
            return Message("outlook" if assumes == NOTHING_MORE else "outlook/recommended", payload(record))
        case Move():
            return Message("move", payload(record))
        case Fire():
            return Message("fire", payload(record))
        case Meat(probe=probe):
            return Message(f"meat/{topic_safe(probe)}", payload(record))
        case Timetable():
            return Message("plan", payload(record))
        case Question():
            return Message("question", payload(record))
        case Alarm(alarm=alarm):
            return Message(f"alarm/{topic_safe(alarm)}", payload(record), certain=True)
        case _:
            return None


def read_entry(data: bytes, clock: Clock) -> Entry:
    """Return the entry that a message from another device holds, stamped with the present time.

    Raises
    ------
    RecordError
        It is none, or one that only the program itself makes.
    """
    if len(data) > PAYLOAD_LIMIT:
        raise RecordError(f"{len(data)} bytes; no entry is longer than {PAYLOAD_LIMIT}")
    plain = parse(data)
    if not isinstance(plain, dict):
        raise RecordError("not a JSON object")
    record = from_plain({**plain, "type": "entry", "time": clock.now().isoformat()})
    if not isinstance(record, Entry) or isinstance(record, ClockSet | Resumed | Trouble):
        raise RecordError(f'"{plain.get("entry")}" is no entry of a cook')
    return record


class MqttOutlet:
    """Publishes the watch under a root topic.

    Parameters
    ----------
    name : str
        What messages call it.
    clock : Clock
        Stamps entries that come in.
    options : MqttOutletOptions
    pit : str
        Part of the root topic where the owner gives no other.
    password : Secret, optional
        Goes with `options.broker.user`.
    hear : callable, optional
        Called on the loop with each `Entry` that comes in, and with a `Problem` for each that is refused.
    kind : Kind
        What sort of fire is watched; told with each heartbeat.
    """

    def __init__(
        self,
        name: str,
        clock: Clock,
        *,
        options: MqttOutletOptions,
        pit: str,
        password: Secret | None = None,
        hear: Callable[[Entry | Problem], None] | None = None,
        kind: Kind = Kind.LIVE,
    ) -> None:
        self._kind = kind
        self._name = name
        self._clock = clock
        self._options = options
        self._root = options.root or f"pits/{topic_safe(pit)}"
        self._password = password
        self._hear = hear
        self._client: Client | None = None
        self._connected = False
        self._last_problem: str | None = None
        self._heard = 0
        self._seen: deque[str] = deque(maxlen=256)
        self._latest: dict[str, Message] = {}
        self._due: dict[str, float] = {}
        """Topic -> loop time from which its latest message may go out."""
        self._next: dict[str, float] = {}
        """Topic of a reading, or of the heartbeat -> loop time before which no other goes out."""
        self._alarms: deque[Message] = deque()
        self._alarm_under_way: int | None = None
        self._under_way: set[int] = set()
        self._wake: asyncio.TimerHandle | None = None
        self._farewell: asyncio.Future[None] | None = None

    @property
    def name(self) -> str:
        return self._name

    @property
    def connected(self) -> bool:
        return self._connected

    @property
    def last_problem(self) -> str | None:
        return self._last_problem

    # --- life --------------------------------------------------------------------------------

    async def open(self) -> None:
        """Start to connect, and go on trying; a broker that is not there is no error.

        Raises
        ------
        OSError
            A certificate file cannot be read or used; the message names it.
        """
        await self.close()
        broker = self._options.broker
        try:
            client = make_client(broker, self._password, reconnect=True)
        except OSError as error:
            self._last_problem = f"{place(broker)}: {error}"
            raise
        client.reconnect_delay_set(min_delay=1, max_delay=30)
        client.max_queued_messages_set(0)
        client.will_set(self._topic("status"), b"offline", qos=1, retain=True)
        self._listen(client)
        self._client, self._alarm_under_way = client, None
        client.connect_async(broker.host, broker.port_number(), broker.keepalive_seconds)
        client.loop_start()

    def _listen(self, client: Client) -> None:
        post = asyncio.get_running_loop().call_soon_threadsafe
        entries = self._topic("entry")

        def connected(client: Client, _data: Any, _flags: Any, reason: ReasonCode, _more: Any) -> None:
            if reason.is_failure:
                post(self._fail, client, f"the broker refuses: {reason}")
            else:
                client.subscribe(entries, qos=1)
                post(self._greet, client)

        def not_connected(client: Client, _data: Any) -> None:
            post(self._fail, client, str(sys.exc_info()[1]))  # the client calls this from its `except` block

        def disconnected(client: Client, _data: Any, _flags: Any, reason: ReasonCode, _more: Any) -> None:
            post(self._fail, client, f"lost: {reason}")

        def published(client: Client, _data: Any, mid: int, _reason: ReasonCode, _more: Any) -> None:
            post(self._sent, client, mid)

        def messaged(_client: Client, _data: Any, message: MQTTMessage) -> None:
            post(self._take, message)

        client.on_connect = connected
        client.on_connect_fail = not_connected
        client.on_disconnect = disconnected
        client.on_publish = published
        client.on_message = messaged

    async def close(self) -> None:
        """Say "offline", disconnect; the client's thread has ended when this returns."""
        client, self._client = self._client, None
        if self._wake is not None:
            self._wake.cancel()
            self._wake = None
        if client is None:
            return
        if self._connected:
            await self._say_goodbye(client)
        self._connected = False
        await in_thread(f"mqtt-close-{self._name}", lambda: _stop(client))

    async def _say_goodbye(self, client: Client) -> None:
        for topic in self._due:
            self._publish(client, self._latest[topic])
        for message in list(self._alarms)[0 if self._alarm_under_way is None else 1 :]:
            self._publish(client, message)
        self._due.clear()
        self._farewell = asyncio.get_running_loop().create_future()
        self._under_way = {client.publish(self._topic("status"), b"offline", qos=1, retain=True).mid}
        taken, _ = await asyncio.wait([self._farewell], timeout=GOODBYE_SECONDS)
        self._farewell = None
        if taken:  # and all that was sent before it
            self._alarms.clear()

    def _greet(self, client: Client) -> None:
        if client is not self._client:
            return
        self._connected, self._last_problem = True, None
        self._under_way.clear()
        client.publish(self._topic("status"), b"online", qos=1, retain=True)
        waiting = {message.topic for message in self._alarms}
        for message in self._latest.values():  # the broker may have forgotten everything
            if not message.kept:
                continue
            if not message.certain:
                self._due.setdefault(message.topic, 0.0)
            elif message.topic not in waiting:
                self._alarms.append(message)
        self._send()

    def _fail(self, client: Client, why: str) -> None:
        if client is not self._client:
            return
        self._connected = False
        self._last_problem = f"{place(self._options.broker)}: {why}"

    # --- out ---------------------------------------------------------------------------------

    def tell(self, records: Sequence[Record]) -> None:
        """Queue records; never raises, never blocks. Called on the loop that opened the outlet."""
        for record in records:
            message = self._beat(record) if isinstance(record, Tick) else message_for(record)
            if message is None:
                continue
            self._latest[message.topic] = message
            if message.certain:
                self._alarms.append(message)
            else:
                self._due.setdefault(message.topic, self._next.get(message.topic, 0.0))
        self._send()

    def _beat(self, tick: Tick) -> Message:
        """Return the sign of life that a tick is; a broker that kept it would show it after the end."""
        beat = Heartbeat(time=tick.time, kind=self._kind, rate=self._clock.rate)
        return Message("heartbeat", msgspec.json.encode(beat), kept=False)

    def _send(self) -> None:
        if self._client is None or not self._connected:
            return
        self._send_alarm(self._client)
        now = asyncio.get_running_loop().time()
        ready = [topic for topic, due in self._due.items() if due <= now]
        for topic in ready[: max(0, IN_FLIGHT - len(self._under_way))]:
            del self._due[topic]
            if topic.startswith("reading/"):
                self._next[topic] = now + READING_SECONDS
            elif topic == "heartbeat":
                self._next[topic] = now + HEARTBEAT_SECONDS
            self._publish(self._client, self._latest[topic])
        self._sleep(now)

    def _send_alarm(self, client: Client) -> None:
        if self._alarms and self._alarm_under_way is None:
            self._alarm_under_way = self._publish(client, self._alarms[0])

    def _publish(self, client: Client, message: Message) -> int:
        info = client.publish(
            self._topic(message.topic), message.payload, qos=1 if message.certain else 0, retain=message.kept
        )
        if not message.certain:
            self._under_way.add(info.mid)
        return info.mid

    def _sleep(self, now: float) -> None:
        if self._wake is not None:
            self._wake.cancel()
            self._wake = None
        later = [due for due in self._due.values() if due > now]
        if later:
            self._wake = asyncio.get_running_loop().call_at(min(later), self._woken)

    def _woken(self) -> None:
        self._wake = None
        self._send()

    def _sent(self, client: Client, mid: int) -> None:
        self._under_way.discard(mid)
        if self._farewell is not None and not self._under_way and not self._farewell.done():
            self._farewell.set_result(None)
        if client is not self._client:
            return
        if mid == self._alarm_under_way:
            self._alarm_under_way = None
            self._alarms.popleft()
        self._send()

    def _topic(self, below: str) -> str:
        return f"{self._root}/{below}"

    # --- in ----------------------------------------------------------------------------------

    def _take(self, message: MQTTMessage) -> None:
        self._heard += 1
        try:
            entry = self._accept(message)
        except RecordError as error:
            self._refuse(f"{self._topic('entry')}: {excerpt(bytes(message.payload))}: {error}")
            return
        if entry is not None and self._hear is not None:
            self._hear(entry)

    def _accept(self, message: MQTTMessage) -> Entry | None:
        if not self._options.accept_entries:
            raise RecordError("refused; accept_entries = true would take entries from other devices")
        if message.retain:
            raise RecordError("refused; a retained entry would count again at every connection")
        entry = read_entry(bytes(message.payload), self._clock)
        if entry.id is not None and entry.id in self._seen:
            return None  # sent twice by a device that missed the acknowledgement
        if entry.id is not None:
            self._seen.append(entry.id)
        return entry

    def _refuse(self, text: str) -> None:
        self._last_problem = text
        if self._hear is not None:
            self._hear(Problem(source=self._name, line=self._heard, text=text))


def _stop(client: Client) -> None:
    client.disconnect()
    client.loop_stop()
