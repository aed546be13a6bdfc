"""A real browser without a window, spoken to over its debugging pipe: what it loads, what goes wrong, what is to be seen."""

import base64
import fcntl
import json
import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

DEADLINE = 60.0
"""Seconds until the browser counts as hanging, on a loaded machine."""


def command() -> str | None:
    """Return the browser of this machine; None where there is none."""
    return next(
        (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None
    )


class Browser:
    """One page of a browser.

    Attributes
    ----------
    asked : list of str
        Addresses that the page asked for, its own included.
    trouble : list of str
        Errors of scripts, and what the console says.
    """

    def __init__(self, process: "subprocess.Popen[bytes]", into: int, out: int) -> None:
        self._process, self._into, self._out = process, into, out
        self._heard = b""
        self._count = 0
        self._session: str | None = None
        self.asked: list[str] = []
        self.trouble: list[str] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Network", "Runtime", "Log"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Ask the browser to do something and return its answer."""
        self._count += 1
        message: dict[str, Any] = {"id": self._count, "method": method, "params": parameters}
        if self._session is not None:
            message["sessionId"] = self._session
        os.write(self._into, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._count:
                assert "error" not in answer, answer["error"]
                result: dict[str, Any] = answer["result"]
                return result

    def _next(self) -> dict[str, Any]:
        end = time.monotonic() + DEADLINE
        while b"\0" not in self._heard:
            assert time.monotonic() < end, "the browser hangs"
            self._heard += os.read(self._out, 1 << 20)
        raw, self._heard = self._heard.split(b"\0", 1)
        said: dict[str, Any] = json.loads(raw)
        match said.get("method"):
            case "Network.requestWillBeSent":
                self.asked.append(said["params"]["request"]["url"])
            case "Runtime.exceptionThrown" | "Runtime.consoleAPICalled" | "Log.entryAdded":
                self.trouble.append(json.dumps(said["params"]))
            case _:
                pass
        return said

    def open(self, path: Path, *, width: int = 1100, dark: bool = False) -> None:
        """Open a file, as wide as told, for a reader who likes it light or dark."""
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", features=[scheme])
        self.call(
            "Emulation.setDeviceMetricsOverride", width=width, height=800, deviceScaleFactor=1, mobile=width < 600
        )
        self.call("Page.navigate", url=path.as_uri())
        end = time.monotonic() + DEADLINE
        while self.tell("document.readyState") != "complete":
            assert time.monotonic() < end, "the page does not load"

    def tell(self, expression: str) -> Any:
        """Return what an expression comes to on the page."""
        return self.call("Runtime.evaluate", expression=expression, returnByValue=True)["result"].get("value")

    def picture(self, path: Path) -> None:
        """Write a picture of the whole page."""
        shot = self.call("Page.captureScreenshot", captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(shot["data"]))

    def paper(self, path: Path) -> None:
        """Write the page as it is printed."""
        path.write_bytes(base64.b64decode(self.call("Page.printToPDF", preferCSSPageSize=True)["data"]))


@contextmanager
def browser(home: Path) -> Iterator[Browser]:
    """Start the browser with a profile of its own, and end it."""
    found = command()
    assert found is not None
    near_in, far_in = os.pipe()
    far_out, near_out = os.pipe()

    # The browser hears on descriptor 3 and speaks on 4; a shell puts the pipes there.
    high = [fcntl.fcntl(end, fcntl.F_DUPFD, 10) for end in (near_in, near_out)]
    process = subprocess.Popen(
        ["bash", "-c", f'exec "$@" 3<&{high[0]} 4>&{high[1]}', "bash", found, "--headless=new", "--no-sandbox",
         "--disable-gpu", "--disable-dev-shm-usage", "--remote-debugging-pipe", "--no-first-run", f"--user-data-dir={home}"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, pass_fds=high,
    )  # fmt: skip
    for end in high:
        os.close(end)
    os.close(near_in)
    os.close(near_out)
    try:
        yield Browser(process, far_in, far_out)
    finally:
        process.kill()
        process.wait()
        os.close(far_in)
        os.close(far_out)
