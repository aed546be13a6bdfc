"""A client for an MQTT broker, made as the owner describes it."""

import secrets
import ssl
from pathlib import Path
from typing import Final

from paho.mqtt.client import Client, MQTTv5, MQTTv311
from paho.mqtt.enums import CallbackAPIVersion

from firebox.links import Broker, Tls
from firebox.secret import Secret

CONNECT_SECONDS: Final = 5.0
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
        A certificate file cannot be read or used; the message names it.
    """
    context = tls_context(broker.tls) if broker.tls is not None else None
    client = Client(
        CallbackAPIVersion.VERSION2,
        client_id=f"firebox{secrets.token_hex(6)}",  # every broker takes 23 letters and digits (MQTT 3.1.1, 3.1.3.1)
        protocol=MQTTv5 if broker.protocol == "5" else MQTTv311,
        reconnect_on_failure=reconnect,
    )
    client.connect_timeout = CONNECT_SECONDS
    if broker.user is not None:
        client.username_pw_set(broker.user, password.reveal() if password else None)
    if context is not None:
        client.tls_set_context(context)
    return client


def tls_context(tls: Tls) -> ssl.SSLContext:
    """Return the rules of an encrypted link: the broker's certificate and name are checked.

    Raises
    ------
    OSError
        A file cannot be read or used; the message names it.
    """
    for file in (tls.ca_file, tls.certificate_file, tls.key_file):
        if file is not None:
            _check(file)
    try:
        context = ssl.create_default_context(cafile=tls.ca_file)
        if tls.certificate_file is not None:
            context.load_cert_chain(tls.certificate_file, tls.key_file)
    except ssl.SSLError as error:
        files = ", ".join(file for file in (tls.ca_file, tls.certificate_file, tls.key_file) if file is not None)
        raise OSError(f"{files}: not certificates and a key that go together: {error}") from error
    context.sslsocket_class = _ClosingSocket
    return context


class _ClosingSocket(ssl.SSLSocket):
    """A socket that is closed when its handshake fails; the client would leave that to the garbage collector."""

    def do_handshake(self, block: bool = False) -> None:  # noqa: FBT001, FBT002  the library's signature
        try:
            super().do_handshake(block)
        except OSError:
            self.close()
            raise


def _check(file: str) -> None:
    """Raise with the file's name where it cannot be read; the encryption library's own errors leave it out."""
    try:
        Path(file).read_bytes()
    except OSError as error:
        raise OSError(f"{file}: {error.strerror}") from error


def place(broker: Broker) -> str:
    """Return host and port as messages name them."""
    return f"{broker.host}:{broker.port_number()}"
