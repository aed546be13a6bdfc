"""Readings that others publish on an MQTT broker.

The client's network thread only hands messages to the loop. When the broker is lost the source ends with an error
and is opened again by who owns it, like any device that was unplugged; every connection subscribes anew.
"""

import asyncio
from collections.abc import AsyncIterator
from typing import Any

from msgspec.structs import replace
from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.reasoncodes import ReasonCode

from drivers.broker import CONNECT_SECONDS, make_client, place
from drivers.lines import Heard, excerpt
from drivers.mailbox import Mailbox
from drivers.payloads import TopicReader
from drivers.threads import in_thread
from firebox.errors import SourceError
from firebox.links import MqttSourceOptions
from firebox.ports import Clock, SourceHealth
from firebox.records import Entry, Problem, Reading
from firebox.secret import Secret


class MqttSource:
    """Readings from topics of a broker.

    Parameters
    ----------
    name : str
        What messages call it.
    clock : Clock
        Stamps the readings.
    options : MqttSourceOptions
    password : Secret, optional
        Goes with `options.broker.user`.
    """

    def __init__(
        self, name: str, clock: Clock, *, options: MqttSourceOptions, password: Secret | None = None
    ) -> None:
        self._name = name
        self._clock = clock
        self._options = options
        self._password = password
        self._readers = [TopicReader(mapping) for mapping in options.topics]
        self._topics = list(dict.fromkeys(mapping.topic for mapping in options.topics))
        self._health = SourceHealth()
        self._client: Client | None = None
        self._box: Mailbox | None = None
        self._count = 0

    @property
    def name(self) -> str:
        return self._name

    @property
    def health(self) -> SourceHealth:
        return self._health

    async def open(self) -> None:
        """Connect, and return once the broker has taken the subscriptions.

        Raises
        ------
        SourceError
            No broker there, or it refuses the user, the certificate or every topic.
        """
        await self.close()
        try:
            await self._connect()
        except TimeoutError as error:
            await self.close()
            raise self._failure(f"{place(self._options.broker)}: no answer") from error
        except (OSError, ValueError) as error:
            await self.close()
            raise self._failure(f"{place(self._options.broker)}: {error}") from error
        except BaseException:
            await self.close()
            raise
        self._health = replace(self._health, connected=True)

    async def _connect(self) -> None:
        broker = self._options.broker
        client = make_client(broker, self._password, reconnect=False)
        box = Mailbox(self._name)
        answer: asyncio.Future[list[ReasonCode]] = asyncio.get_running_loop().create_future()
        self._listen(client, box, answer)
        self._client, self._box = client, box
        await in_thread(
            f"mqtt-open-{self._name}",
            lambda: client.connect(broker.host, broker.port_number(), broker.keepalive_seconds),
        )
        client.loop_start()
        granted = await asyncio.wait_for(answer, CONNECT_SECONDS)
        refused = [topic for topic, code in zip(self._topics, granted, strict=False) if code.is_failure]
        if len(refused) == len(self._topics):
            raise ValueError(f"the broker refuses to tell {', '.join(refused)}")
        for topic in refused:
            self._note(box, (f"the broker refuses to tell {topic}",))

    def _listen(self, client: Client, box: Mailbox, answer: "asyncio.Future[list[ReasonCode]]") -> None:
        post = asyncio.get_running_loop().call_soon_threadsafe
        topics = [(topic, 1) for topic in self._topics]

        def connected(client: Client, _data: Any, _flags: Any, reason: ReasonCode, _more: Any) -> None:
            if reason.is_failure:
                post(_settle, answer, ValueError(f"the broker refuses: {reason}"))
            else:
                client.subscribe(topics)

        def subscribed(_client: Client, _data: Any, _mid: int, reasons: list[ReasonCode], _more: Any) -> None:
            post(_settle, answer, reasons)

        def disconnected(_client: Client, _data: Any, _flags: Any, reason: ReasonCode, _more: Any) -> None:
            post(_settle, answer, ValueError(f"the link was cut: {reason}"))
            post(self._lose, box, str(reason))

        def messaged(_client: Client, _data: Any, message: MQTTMessage) -> None:
            post(self._hear, box, message)

        client.on_connect = connected
        client.on_subscribe = subscribed
        client.on_disconnect = disconnected
        client.on_message = messaged

    async def records(self) -> AsyncIterator[Reading | Entry | Problem]:
        """Yield readings and problems as they are heard.

        Raises
        ------
        SourceError
            The broker was lost, or never connected.
        """
        if self._box is None:
            raise SourceError(f"{place(self._options.broker)}: not open")
        async for item in self._box.items():
            yield item

    async def close(self) -> None:
        """Disconnect; the client's thread has ended when this returns."""
        client, self._client = self._client, None
        if self._box is not None:
            self._box.end()
            self._box = None
        self._health = replace(self._health, connected=False)
        if client is not None:
            await in_thread(f"mqtt-close-{self._name}", lambda: _stop(client))

    def _hear(self, box: Mailbox, message: MQTTMessage) -> None:
        if message.retain and not self._options.retained:
            return  # of unknown age: what the broker kept, not what a probe says now
        self._count += 1
        self._health = replace(self._health, lines=self._count)
        try:
            topic = message.topic
        except UnicodeDecodeError:
            self._note(box, ("a topic that is not UTF-8",))
            return
        said = [reader.hear(topic, bytes(message.payload)) for reader in self._readers]
        for heard in said:
            if heard is not None:
                self._take(box, heard)
        if said.count(None) == len(said):
            self._note(box, (f"{excerpt(topic)}: no mapping fits",))

    def _take(self, box: Mailbox, heard: Heard) -> None:
        now = self._clock.now()
        for sample in heard.samples:
            box.put(Reading(time=now, probe=sample.probe, celsius=sample.celsius, status=sample.status))
        if heard.problems:
            self._note(box, heard.problems)

    def _note(self, box: Mailbox, problems: tuple[str, ...]) -> None:
        for text in problems:
            box.put(Problem(source=self._name, line=self._count, text=text))
        self._health = replace(self._health, bad_lines=self._health.bad_lines + 1, last_problem=problems[-1])

    def _lose(self, box: Mailbox, why: str) -> None:
        if box is self._box:
            box.end(self._failure(f"{place(self._options.broker)}: lost: {why}"))

    def _failure(self, text: str) -> SourceError:
        self._health = replace(self._health, connected=False, last_problem=text)
        return SourceError(text)


def _settle(answer: "asyncio.Future[list[ReasonCode]]", outcome: "list[ReasonCode] | Exception") -> None:
    if answer.done():
        return
    if isinstance(outcome, Exception):
        answer.set_exception(outcome)
    else:
        answer.set_result(outcome)


def _stop(client: Client) -> None:
    client.disconnect()
    client.loop_stop()
