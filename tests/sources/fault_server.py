"""A server on this machine that does what weather services do on bad days."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from collections.abc import Callable, Iterator

Play = Callable[[socket.socket, str], None]


class FaultServer:
    """Answers each connection by the next play of a list, the last for ever; keeps what was asked."""

    def __init__(self) -> None:
        self.plays: list[Play] = []
        self.asked: list[str] = []
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.url = f"http://127.0.0.1:{self._listening.getsockname()[1]}"
        self._ended = threading.Event()
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self) -> None:
        while not self._ended.is_set():
            try:
                line, _ = self._listening.accept()
            except OSError:
                return
            threading.Thread(target=self._answer, args=(line,), daemon=True).start()

    def _answer(self, line: socket.socket) -> None:
        with line, contextlib.suppress(OSError):
            asked = b""
            while b"\r\n\r\n" not in asked:
                part = line.recv(4096)
                if not part:
                    return
                asked += part
                if asked[:1] == b"\x16":  # TLS begins: this server speaks none
                    line.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n")
                    self.asked.append("")
                    return
            place = min(len(self.asked), len(self.plays) - 1)
            self.asked.append(asked.decode())
            self.plays[place](line, asked.decode())

    def ends(self) -> None:
        self._ended.set()
        self._listening.close()

    def header(self, name: str, which: int = -1) -> str | None:
        found = [one for one in self.asked[which].split("\r\n") if one.lower().startswith(f"{name.lower()}:")]
        return found[0].partition(":")[2].strip() if found else None


def serving() -> Iterator[FaultServer]:
    server = FaultServer()
    yield server
    server.ends()


def says(
    status: str = "200 OK", body: bytes = b"{}", kind: str = "application/json", length: int | None = None, **more: str
) -> Play:
    """Return a play that answers as told; ``length`` may lie."""

    def play(line: socket.socket, _: str) -> None:
        heads = {"Content-Type": kind, "Content-Length": str(len(body) if length is None else length)}
        heads |= {name.replace("_", "-"): value for name, value in more.items()}
        text = "".join(f"{name}: {value}\r\n" for name, value in heads.items() if value)
        line.sendall(f"HTTP/1.1 {status}\r\n{text}Connection: close\r\n\r\n".encode() + body)

    return play


def hangs(line: socket.socket, _: str) -> None:
    """Take the question and say nothing."""
    line.settimeout(20)
    line.recv(1)


def drips(start: bytes) -> Play:
    """Return a play that says one byte every 50 ms after a start, for 20 s."""

    def play(line: socket.socket, _: str) -> None:
        line.sendall(start)
        for _ in range(400):
            line.sendall(b" ")
            time.sleep(0.05)

    return play


def floods(line: socket.socket, _: str) -> None:
    """Say 200 MB without telling so before."""
    line.sendall(b"HTTP/1.1 200 OK\r\nContent-Type: application/json\r\nConnection: close\r\n\r\n[")
    for _ in range(200):
        line.sendall(b" " * 1_000_000)
