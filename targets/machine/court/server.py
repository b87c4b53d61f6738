"""The server of the court page: one thread beside the replay's own, which neither waits for the other.

The replay's thread takes what phones asked from `stops` and `inbox` and hands back what they are shown. A stop goes
into `stops` as soon as its request is read, whatever else there is to do.
"""

import asyncio
import json
import ssl
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from queue import SimpleQueue
from typing import Generic, NamedTuple, TypeVar

from . import asks, bounded, words
from .address import LOOPBACK, Address, address_of, certificate, own_address
from .bounded import Unacceptable, WebRequest
from .door import Door, NoEntry, Phone
from .page import Files

S = TypeVar("S")
"""What a page says in an exchange."""

MOST_CONNECTIONS = 128
MOST_AT_ONCE, MOST_WAITING = 8, 64
"""Connections taken before a stop is looked for again, since each may cost a handshake; more wait meanwhile."""
STALE_S = 0.5
"""A replay that has not looked for so long is late, and phones must not take its last state for the present one."""
RATE, BURST = 40.0, 80.0
"""Requests in a second of one phone, or of all strangers together, and how many may come at once. A stop always may."""
STOP_S = 0.5
"""How long the end waits for the server's thread."""


@dataclass(frozen=True, slots=True)
class Arrived(Generic[S]):
    """An exchange of a phone, or with `asks` None that it has joined, at the second at which it arrived."""

    at_s: float
    phone: Phone
    asks: S | None


@dataclass(frozen=True, slots=True)
class Told:
    """What phones are told: the state at a second, ready to send, and of each phone what became of its asks."""

    at_s: float
    state: dict[str, object]
    phones: dict[Phone, dict[str, object]]
    over: bool = False
    """Whether the run has ended: this state stays true, however old it gets."""
    final: bool = False
    """Whether nothing will follow."""


class Bucket:
    """Requests that may still come: BURST at once, RATE in a second."""

    def __init__(self) -> None:
        self._left, self._at = BURST, time.monotonic()

    def take(self) -> bool:
        now = time.monotonic()
        self._left, self._at = min(BURST, self._left + (now - self._at) * RATE), now
        if self._left < 1:
            return False
        self._left -= 1
        return True


class CourtServer(Generic[S]):
    def __init__(
        self, address: Address, door: Door, clock: Callable[[], float], files: Files, reads: Callable[[bytes], S],
        tls: ssl.SSLContext | None = None,
    ) -> None:  # fmt: skip
        """AddressRefused if the address cannot be bound. `clock`: the replay's. `files` is what it gives out; `reads`
        what a page says, or BadWords."""
        self._address, self._door, self._clock, self._tls = address, door, clock, tls
        self._files, self._reads = files, reads
        self.stops, self.inbox = deque[Phone](), SimpleQueue[Arrived[S]]()
        self.told: Told | None = None
        self.turned_s = 0.0
        """When the replay last looked."""
        self.fault = ""
        self._strangers, self._buckets = Bucket(), dict[int, Bucket]()
        self._connections = dict[asyncio.Task[None], bool]()
        """Open connections, oldest first, and whether a phone that joined has used them."""
        self.served = 0
        self.finished = set[int]()
        """Phones that know how it ended."""
        self._socket = address.bound()
        self.port = int(self._socket.getsockname()[1])
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._work, name="court page", daemon=True)

    @property
    def origin(self) -> str:
        return f"{'https' if self._tls else 'http'}://{self._address.authority(self.port, self._tls is not None)}"

    def start(self) -> None:
        self._thread.start()

    def close(self) -> None:
        """End within STOP_S; connections that are open end with it."""
        self._over.set()
        if self._thread.ident is not None:
            self._thread.join(STOP_S)

    # ---- on the server's thread

    def _work(self) -> None:
        try:
            asyncio.run(self._serve())
        except Exception as fault:  # the replay goes on, and says that the page does not
            self.fault = f"The court page ended ({type(fault).__name__}): phones can neither stop nor mark"

    async def _serve(self) -> None:
        # How a connection of a stranger breaks off is nobody's news; printed, it would tear the screen.
        asyncio.get_running_loop().set_exception_handler(lambda loop, about: None)
        serving = await asyncio.start_server(
            self._connected, sock=self._socket, ssl=self._tls, limit=bounded.MOST_HEAD, backlog=MOST_AT_ONCE,
            ssl_handshake_timeout=bounded.FIRST_S if self._tls else None,
        )  # fmt: skip
        self._socket.listen(MOST_WAITING)
        try:
            while not self._over.is_set():
                await asyncio.sleep(0.05)
        finally:
            serving.close()
            for task in list(self._connections):
                task.cancel()
            await asyncio.gather(*self._connections, return_exceptions=True)

    async def _connected(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        task = asyncio.current_task()
        assert task is not None
        if len(self._connections) >= MOST_CONNECTIONS:
            # Whoever holds connections open and says nothing must not keep a phone out.
            stranger = next((one for one, known in self._connections.items() if not known), None)
            if stranger is None:
                writer.transport.abort()
                return
            stranger.cancel()
            del self._connections[stranger]
        self._connections[task] = False
        writer.transport.set_write_buffer_limits(high=0)
        try:
            await self._talk(task, reader, writer)
        except (OSError, TimeoutError, asyncio.CancelledError):
            pass
        finally:
            self._connections.pop(task, None)
            writer.transport.abort()

    async def _talk(
        self, task: "asyncio.Task[None]", reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        within_s, more = bounded.FIRST_S, True
        while more:
            try:
                request = await bounded.received(reader, within_s)
                if request is None:
                    return
                status, body, kind = self._answer(task, request)
                more = request.headers.get("connection", "").lower() != "close" and status in (200, 403, 404, 503)
            except Unacceptable as refused:
                status, body, kind, more = refused.status, b"{}", "application/json", False
            self.served += 1
            await bounded.sent(writer, bounded.answer(status, body, kind, close=not more))
            within_s = bounded.HEAD_S

    def _answer(self, task: "asyncio.Task[None]", request: WebRequest) -> tuple[int, bytes, str]:
        # Another page cannot reach in by a name of its own that leads here (DNS rebinding).
        if request.headers.get("host", "").lower() != self.origin.partition("://")[2]:
            raise Unacceptable(421)
        if request.method == "GET":
            self._ration(None)
            file = self._files.get(request.path)
            return (200, *file) if file else (404, b"not here", "text/plain")
        if request.method != "POST":
            raise Unacceptable(405)
        if request.headers.get("origin", "") != self.origin:
            raise Unacceptable(403)
        phone = self._door.who(request.headers.get("x-phone", ""))
        if phone is not None and task in self._connections:
            self._connections[task] = True
        match request.path:
            case "/stop" if phone is not None and not phone.watches:
                self.stops.append(phone)
                return 200, b'{"heard":true}', "application/json"
            case "/exchange" if phone is not None:
                self._ration(phone)
                return self._exchange(phone, request.body)
            case "/join":
                self._ration(None)
                return self._join(request.body)
            case "/stop" | "/exchange":
                self._ration(None)
                return _json(403, {"why": "This phone has not joined, or it was sent away."})
        self._ration(None)
        return 404, b"{}", "application/json"

    def _ration(self, phone: Phone | None) -> None:
        bucket = self._strangers if phone is None else self._buckets.setdefault(phone.number, Bucket())
        if not bucket.take():
            raise Unacceptable(429)

    def _join(self, body: bytes) -> tuple[int, bytes, str]:
        try:
            phone, new = self._door.join(asks.joining(body))
        except asks.BadWords:
            raise Unacceptable(400) from None
        except NoEntry as refused:
            return _json(403, {"why": str(refused)})
        if new:
            self.inbox.put(Arrived(self._clock(), phone, None))
        return _json(200, {"name": phone.name, "watches": phone.watches})

    def _exchange(self, phone: Phone, body: bytes) -> tuple[int, bytes, str]:
        now, told = self._clock(), self.told
        try:
            asked = self._reads(body)
        except asks.BadWords:
            raise Unacceptable(400) from None
        if now - self.turned_s > STALE_S and not (told and told.over):
            return _json(503, {"why": "The program beside the machine is late."})
        self.inbox.put(Arrived(now, phone, asked))
        if told is None:
            return _json(503, {"why": "The program beside the machine is getting ready."})
        if told.final:
            self.finished.add(phone.number)
        return _json(200, {"age": round(now - told.at_s, 3), "state": told.state, "phone": told.phones.get(phone)})


def _json(status: int, given: object) -> tuple[int, bytes, str]:
    return status, json.dumps(given, separators=(",", ":")).encode(), "application/json"


class Served(NamedTuple, Generic[S]):
    """A server that has its address and is not yet started, the door to it, and what to tell before."""

    server: CourtServer[S]
    door: Door
    notes: tuple[str, ...]


def bound(
    where: str, pem: str | None, door: Door, clock: Callable[[], float], files: Files, reads: Callable[[bytes], S]
) -> Served[S]:
    """Bind the address, "" for this computer alone, and load the certificate if there is one; AddressRefused."""
    at = address_of(where or LOOPBACK)
    tls = certificate(pem) if pem else None
    server = CourtServer(at, door, clock, files, reads, tls)
    return Served(server, door, (words.here_alone(own_address()),) if at.loopback else () if tls else (words.NO_TLS,))
