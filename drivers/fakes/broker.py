"""A real MQTT broker of one's own: mosquitto where it is installed, else the broker of the `amqtt` package."""

import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Final

MOSQUITTO: Final = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin")
START_SECONDS: Final = 15.0


class BrokerProcess:
    """A broker on a free port of this machine, with nothing kept over a restart.

    Parameters
    ----------
    directory : Path
        For its configuration and log.
    users : dict, optional
        Name -> password; without it everybody is let in. Needs mosquitto.
    certificates : Path, optional
        Directory with `ca.pem`, `broker.pem` and `broker.key`: only encrypted links, and only clients with a
        certificate of that authority. Needs mosquitto.
    """

    def __init__(
        self, directory: Path, *, users: dict[str, str] | None = None, certificates: Path | None = None
    ) -> None:
        self.host = "localhost"
        self.port = free_port()
        self._directory = directory
        self._users = users
        self._certificates = certificates
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start and wait until it answers.

        Raises
        ------
        RuntimeError
            It does not; the message holds its log.
        """
        log = self._directory / f"broker-{self.port}.log"
        with log.open("ab") as out:
            self._process = subprocess.Popen(self._command(), stdout=out, stderr=out)  # noqa: S603  a fixed program
        deadline = time.monotonic() + START_SECONDS
        while not self._answers():
            if time.monotonic() > deadline or self._process.poll() is not None:
                self.stop()
                raise RuntimeError(f"the broker does not start: {log.read_text(errors='replace')}")
            time.sleep(0.02)

    def stop(self) -> None:
        """End it at once, as a power cut would."""
        if self._process is not None:
            self.resume()
            self._process.kill()
            self._process.wait()
            self._process = None

    def pause(self) -> None:
        """Let it hang: links stay open, nothing is answered."""
        if self._process is not None:
            self._process.send_signal(signal.SIGSTOP)

    def resume(self) -> None:
        """Let it go on after `pause`."""
        if self._process is not None:
            self._process.send_signal(signal.SIGCONT)

    def _answers(self) -> bool:
        try:
            with socket.create_connection((self.host, self.port), timeout=1.0):
                return True
        except OSError:
            return False

    def _command(self) -> list[str]:
        if MOSQUITTO is not None:
            config = self._directory / f"broker-{self.port}.conf"
            config.write_text("\n".join(self._lines()) + "\n")
            return [MOSQUITTO, "-c", str(config)]
        if self._users is not None or self._certificates is not None:
            raise RuntimeError("users and certificates need mosquitto, which is not installed")
        config = self._directory / f"broker-{self.port}.yaml"
        config.write_text(
            f"listeners:\n  default:\n    type: tcp\n    bind: {self.host}:{self.port}\n"
            "plugins:\n  amqtt.plugins.authentication.AnonymousAuthPlugin:\n    allow_anonymous: true\n"
        )
        return [sys.executable, "-m", "amqtt.scripts.broker_script", "-c", str(config)]

    def _lines(self) -> list[str]:
        lines = ["user root", "persistence false", f"listener {self.port} {self.host}"]
        if self._certificates is not None:
            lines += [f"cafile {self._certificates / 'ca.pem'}", f"certfile {self._certificates / 'broker.pem'}"]
            lines += [f"keyfile {self._certificates / 'broker.key'}", "require_certificate true"]
        if self._users is None:
            return [*lines, "allow_anonymous true"]
        words = self._directory / f"broker-{self.port}.passwords"
        words.write_text("")
        words.chmod(0o600)
        for name, password in self._users.items():
            subprocess.run(["mosquitto_passwd", "-b", str(words), name, password], check=True, capture_output=True)  # noqa: S603, S607  test users only
        return [*lines, "allow_anonymous false", f"password_file {words}"]


def free_port() -> int:
    """Return a TCP port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("localhost", 0))
        return int(probe.getsockname()[1])
