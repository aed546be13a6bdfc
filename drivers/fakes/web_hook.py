"""A web server on this machine that remembers what is posted to it, or refuses it."""

import json
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

HOST = "127.0.0.1"


class WebHook:
    """Takes JSON from `start` to `stop`.

    Attributes
    ----------
    posted : list of (str, object)
        Path and JSON of everything that was posted, also of what was refused.
    status : int
        What it answers.
    """

    def __init__(self) -> None:
        self.posted: list[tuple[str, Any]] = []  # any JSON
        self.status = 200
        hook = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                hook.posted.append((self.path, json.loads(body)))
                self.send_response(hook.status)
                self.end_headers()

            def log_message(self, *_: object) -> None:
                """Say nothing on standard error."""

        self._server = ThreadingHTTPServer((HOST, 0), Handler)
        self._thread = threading.Thread(target=self._server.serve_forever, name="web-hook", daemon=True)

    @property
    def place(self) -> str:
        """Host and port."""
        return f"{HOST}:{self._server.server_address[1]}"

    def start(self) -> None:
        """Take what comes."""
        self._thread.start()

    def stop(self) -> None:
        """Be gone: whoever comes is refused a connection. May be called twice."""
        if self._thread.is_alive():
            self._server.shutdown()
            self._thread.join()
        self._server.server_close()
