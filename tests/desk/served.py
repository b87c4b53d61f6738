"""A desk that serves in a thread of the test's own process, and raw requests to it."""

import asyncio
import socket
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Thread
from typing import NamedTuple

from feedwright.targets.desk.serving import DeskServer


class Served(NamedTuple):
    address: str
    port: int

    @property
    def word(self) -> str:
        return self.address.split("/")[3]

    @property
    def origin(self) -> str:
        return self.address.rpartition(f"/{self.word}")[0]

    @property
    def socket(self) -> str:
        return self.address.replace("http", "ws") + "socket"


@contextmanager
def served(folder: Path, name: str = "a.feed", unnamed: bool = False) -> Iterator[Served]:
    found: list[str] = []
    began, ended = Event(), Event()

    async def run() -> None:
        stopped = asyncio.Event()
        loop = asyncio.get_running_loop()

        def ready(address: str) -> None:
            found.append(address)
            began.set()

        waiting = loop.run_in_executor(None, ended.wait)
        task = asyncio.create_task(DeskServer(folder, name, "0", unnamed).run(0, ready, stopped))
        await waiting
        stopped.set()
        await task

    thread = Thread(target=lambda: asyncio.run(run()), daemon=True)
    thread.start()
    assert began.wait(20)
    try:
        yield Served(found[0], int(found[0].split(":")[2].split("/")[0]))
    finally:
        ended.set()
        thread.join(20)


def answer(desk: Served, path: str, headers: Mapping[str, str] | None = None, method: str = "GET") -> tuple[int, bytes]:
    """Status and everything behind it; 0 if the connection ends without an answer."""
    told = {"Host": f"127.0.0.1:{desk.port}", **(headers or {})}
    lines = [f"{method} {path} HTTP/1.1", *(f"{name}: {value}" for name, value in told.items()), "", ""]
    with socket.create_connection(("127.0.0.1", desk.port), 20) as line:
        data = b""
        try:
            line.sendall("\r\n".join(lines).encode("latin-1"))
            while part := line.recv(65536):
                data += part
        except ConnectionError:
            pass
    return (int(data.split(b" ", 2)[1]) if data.startswith(b"HTTP/") else 0), data
