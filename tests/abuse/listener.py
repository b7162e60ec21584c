"""A port of this machine, to see whether anything reaches out."""

from __future__ import annotations

import contextlib
import socket
import threading

__all__ = ["Listener"]


class Listener:
    """Remembers the first line of each request, "" of one that says nothing, and has no answer."""

    def __enter__(self) -> Listener:
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.port: int = self.socket.getsockname()[1]
        self.server = f"http://127.0.0.1:{self.port}"
        self.asked: list[str] = []
        threading.Thread(target=self._listen, daemon=True).start()
        return self

    def _listen(self) -> None:
        while True:
            try:
                other, _ = self.socket.accept()
            except OSError:
                return
            with other:
                self.asked.append("")  # counts, whatever comes
                with contextlib.suppress(OSError):  # it may say nothing, or be gone
                    other.settimeout(2)
                    self.asked[-1] = other.recv(400).decode("latin-1").partition("\r\n")[0]
                    other.sendall(b"HTTP/1.0 404 Not Found\r\nContent-Length: 0\r\n\r\n")

    def __exit__(self, *_: object) -> None:
        self.socket.close()
