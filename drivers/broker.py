"""A client for an MQTT broker, made as the owner describes it."""

import secrets
import ssl
from typing import Final

from paho.mqtt.client import Client, MQTTv5, MQTTv311
from paho.mqtt.enums import CallbackAPIVersion

from firebox.links import Broker, Tls
from firebox.secret import Secret

CONNECT_SECONDS: Final = 10.0
"""How long a broker may take to answer; common practice, no source."""


def make_client(broker: Broker, password: Secret | None, *, reconnect: bool) -> Client:
    """Return a client that is not connected yet.

    Parameters
    ----------
    broker : Broker
    password : Secret or None
        Read by the configuration from a file or the environment.
    reconnect : bool
        Whether the client's own thread connects again after a loss.

    Raises
    ------
    OSError
        A certificate file cannot be read, or holds no certificate (`ssl.SSLError`).
    """
    client = Client(
        CallbackAPIVersion.VERSION2,
        client_id=f"firebox{secrets.token_hex(6)}",  # every broker takes 23 letters and digits (MQTT 3.1.1, 3.1.3.1)
        protocol=MQTTv5 if broker.protocol == "5" else MQTTv311,
        reconnect_on_failure=reconnect,
    )
    client.connect_timeout = CONNECT_SECONDS
    if broker.user is not None:
        client.username_pw_set(broker.user, password.reveal() if password else None)
    if broker.tls is not None:
        client.tls_set_context(tls_context(broker.tls))
    return client


def tls_context(tls: Tls) -> ssl.SSLContext:
    """Return the rules of an encrypted link: the broker's certificate and name are checked.

    Raises
    ------
    OSError
        A file cannot be read, or holds no certificate (`ssl.SSLError`).
    """
    context = ssl.create_default_context(cafile=tls.ca_file)
    if tls.certificate_file is not None:
        context.load_cert_chain(tls.certificate_file, tls.key_file)
    return context


def place(broker: Broker) -> str:
    """Return host and port as messages name them."""
    return f"{broker.host}:{broker.port_number()}"
