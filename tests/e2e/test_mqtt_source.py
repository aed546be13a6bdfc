"""Readings from a real broker: both protocol versions, secured links, restarts, and what the broker kept."""

import random
import subprocess

import pytest

from drivers.fakes.broker import MOSQUITTO, BrokerProcess
from drivers.mqtt_topics import MqttSource
from firebox.errors import SourceError
from firebox.links import Broker, MqttSourceOptions, Scale, Tls, TopicMap
from firebox.records import Status
from firebox.secret import Secret

pytestmark = pytest.mark.e2e
needs_mosquitto = pytest.mark.skipif(
    MOSQUITTO is None,
    reason="needs mosquitto: amqtt 0.12 speaks 3.1.1 only, unsealed, and tells kept messages wrongly",
)

GRATE = TopicMap(topic="node/grate", probe="grate")


def options(broker, *topics, **more):
    link = {key: more.pop(key) for key in ("protocol", "tls", "user") if key in more}
    return MqttSourceOptions(
        broker=Broker(host=broker.host, port=broker.port, **link), topics=topics or (GRATE,), **more
    )


@pytest.mark.parametrize("protocol", ["3.1.1", pytest.param("5", marks=needs_mosquitto)])
async def test_both_versions_of_the_protocol_are_spoken(broker, ear, clock, listening, until, protocol):
    source = MqttSource("yard", clock, options=options(broker, protocol=protocol))
    await source.open()
    speaker = ear()
    async with listening(source) as ears:
        speaker.say("node/grate", "121.4")
        speaker.say("node/other", "99")
        speaker.say("node/grate", "open")
        await until(lambda: len(ears.items) == 2)
    await source.close()
    assert [(item.celsius, item.status, item.time) for item in ears.items] == [
        (121.4, Status.GOOD, clock.now()),
        (None, Status.OPEN, clock.now()),
    ]


async def test_topics_pointers_scales_and_wildcards_are_mapped(broker, ear, clock, listening, until):
    topics = (
        TopicMap(topic="shed/+/state", probe="{1}", pointer="/temps/0/value", unit=Scale.F),
        TopicMap(topic="lines/#"),
        TopicMap(topic="pits/other/reading/+"),
    )
    source = MqttSource("yard", clock, options=options(broker, *topics))
    await source.open()
    speaker = ear()
    async with listening(source) as ears:
        speaker.say("shed/grate2/state", '{"temps": [{"value": 212}]}')
        speaker.say("lines/a/b", '{"flat": 63.1, "point": {"celsius": null, "status": "shorted"}}')
        speaker.say(
            "pits/other/reading/x", '{"time":"2020-01-01T00:00:00Z","probe":"x","celsius":21.5,"status":"good"}'
        )
        speaker.say("shed/grate2/state", "{}")
        await until(lambda: len(ears.items) == 5)
    await source.close()
    assert ears.values("grate2") == [100.0]
    assert (ears.values("flat"), ears.values("point"), ears.values("x")) == ([63.1], [None], [21.5])
    assert ears.problems() == ["'shed/grate2/state': b'{}': nothing at \"/temps/0/value\""]


async def test_what_the_broker_kept_is_not_taken_for_a_fresh_reading(broker, ear, clock, listening, until):
    speaker = ear()
    speaker.say("node/grate", "99.0", retain=True)
    source = MqttSource("yard", clock, options=options(broker))
    await source.open()
    async with listening(source) as ears:
        speaker.say("node/grate", "121.4", retain=True)  # told live, though the broker keeps it as well
        await until(ears.values)
    await source.close()
    assert ears.values() == [121.4]


@needs_mosquitto
async def test_what_the_broker_kept_is_taken_where_the_owner_says_so(broker, ear, clock, listening, until):
    ear().say("node/grate", "99.0", retain=True)
    source = MqttSource("yard", clock, options=options(broker, retained=True))
    await source.open()
    async with listening(source) as ears:
        await until(lambda: ears.values() == [99.0])
    await source.close()


async def test_a_broker_restarted_in_mid_watch_is_listened_to_again(broker, ear, clock, listening, until):
    source = MqttSource("yard", clock, options=options(broker))
    speaker = ear()
    for turn in range(2):
        await source.open()
        async with listening(source) as ears:
            speaker.say("node/grate", str(turn))
            await until(lambda turn=turn, ears=ears: ears.values() == [turn])
            broker.stop()
            await until(lambda ears=ears: ears.ended)
        assert "lost" in str(ears.error)
        with pytest.raises(SourceError, match=f"{broker.host}:{broker.port}: .*refused"):
            await source.open()
        broker.start()
    await source.close()


async def test_a_host_without_a_name_is_told(clock):
    source = MqttSource(
        "yard", clock, options=MqttSourceOptions(broker=Broker(host="no-such-host.invalid"), topics=(GRATE,))
    )
    with pytest.raises(SourceError, match=r"no-such-host\.invalid:1883"):
        await source.open()


async def test_a_storm_of_random_bytes_leaves_the_source_listening(broker, ear, clock, listening, until):
    source = MqttSource("yard", clock, options=options(broker, GRATE, TopicMap(topic="node/#")))
    await source.open()
    speaker = ear()
    dice = random.Random(7)
    async with listening(source) as ears:
        for _ in range(100):
            speaker.say("node/grate", dice.randbytes(dice.randrange(200)), qos=0)
        speaker.say("node/grate", "121.4")
        await until(lambda: 121.4 in ears.values())
        assert not ears.ended
    await source.close()
    assert set(ears.values()) <= {121.4, None}
    assert source.health.bad_lines > 50


# --- being let in ----------------------------------------------------------------------------------


@pytest.fixture
def guarded(tmp_path):
    broker = BrokerProcess(tmp_path, users={"cook": "oak and salt"})
    broker.start()
    yield broker
    broker.stop()


@needs_mosquitto
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_only_the_right_password_opens_and_it_is_never_shown(guarded, clock, caplog, protocol):
    let_in = MqttSource(
        "yard", clock, options=options(guarded, protocol=protocol, user="cook"), password=Secret("oak and salt")
    )
    await let_in.open()
    assert let_in.health.connected
    await let_in.close()
    for secret in (Secret("wrong words"), None):
        kept_out = MqttSource(
            "yard", clock, options=options(guarded, protocol=protocol, user="cook"), password=secret
        )
        with pytest.raises(SourceError, match=r"refuses: (Not authorized|Bad user)") as refusal:
            await kept_out.open()
        assert "wrong words" not in str(refusal.value) + caplog.text


def openssl(directory, *words):
    subprocess.run(["openssl", *words], cwd=directory, check=True, capture_output=True)


def make_authority(directory):
    """A certificate authority for the length of a test, with a broker's and a cook's certificate."""
    directory.mkdir()
    openssl(
        directory, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2", "-subj",
        "/CN=test authority", "-keyout", "ca.key", "-out", "ca.pem",
    )  # fmt: skip
    for name, host in (("broker", "localhost"), ("cook", "cook.invalid"), ("stranger", "elsewhere.invalid")):
        (directory / f"{name}.ext").write_text(f"subjectAltName=DNS:{host}\n")
        openssl(
            directory, "req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-subj", f"/CN={host}",
            "-keyout", f"{name}.key", "-out", f"{name}.csr",
        )  # fmt: skip
        openssl(
            directory, "x509", "-req", "-in", f"{name}.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial",
            "-days", "2", "-extfile", f"{name}.ext", "-out", f"{name}.pem",
        )  # fmt: skip
    return directory


@pytest.fixture
def authority(tmp_path):
    return make_authority(tmp_path / "ours")


@pytest.fixture
def sealed(tmp_path, authority):
    broker = BrokerProcess(tmp_path, certificates=authority)
    broker.start()
    yield broker
    broker.stop()


def tls(directory, name="cook", ca=None):
    key = None if name is None else str(directory / f"{name}.key")
    return Tls(
        ca_file=str((ca or directory) / "ca.pem"), certificate_file=key and key.replace(".key", ".pem"), key_file=key
    )


@needs_mosquitto
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
async def test_an_encrypted_link_with_a_client_certificate_is_let_in(sealed, authority, clock, protocol):
    source = MqttSource("yard", clock, options=options(sealed, protocol=protocol, tls=tls(authority)))
    await source.open()
    assert source.health.connected
    await source.close()


@needs_mosquitto
async def test_a_broker_that_our_authority_does_not_vouch_for_is_refused(sealed, authority, tmp_path, clock):
    other = make_authority(tmp_path / "theirs")
    source = MqttSource("yard", clock, options=options(sealed, tls=tls(authority, ca=other)))
    with pytest.raises(SourceError, match="certificate verify failed"):
        await source.open()


@needs_mosquitto
async def test_a_broker_of_another_name_is_refused(tmp_path, authority, clock):
    for end in ("pem", "key"):
        (authority / f"stranger.{end}").replace(authority / f"broker.{end}")
    broker = BrokerProcess(tmp_path, certificates=authority)
    broker.start()
    source = MqttSource("yard", clock, options=options(broker, tls=tls(authority)))
    with pytest.raises(SourceError, match="not valid for 'localhost'"):
        await source.open()
    broker.stop()


@needs_mosquitto
async def test_a_client_without_a_certificate_is_refused(sealed, authority, clock):
    source = MqttSource("yard", clock, options=options(sealed, tls=tls(authority, name=None)))
    with pytest.raises(SourceError):
        await source.open()


async def test_a_certificate_file_that_is_not_there_is_told(clock):
    link = Broker(tls=Tls(ca_file="/nowhere/ca.pem"))
    source = MqttSource("yard", clock, options=MqttSourceOptions(broker=link, topics=(GRATE,)))
    with pytest.raises(SourceError, match=r"/nowhere/ca\.pem: No such file"):
        await source.open()


async def test_a_certificate_file_that_holds_none_is_told(tmp_path, clock):
    (tmp_path / "ca.pem").write_text("not a certificate")
    link = Broker(tls=Tls(ca_file=str(tmp_path / "ca.pem")))
    source = MqttSource("yard", clock, options=MqttSourceOptions(broker=link, topics=(GRATE,)))
    with pytest.raises(SourceError, match=r"/ca\.pem: not certificates"):
        await source.open()
