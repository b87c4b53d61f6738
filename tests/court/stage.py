"""A real replay with phones beside it in one process: a host, a machine in virtual time that keeps pace with ours, the
page's server on the loopback address, and people to ask it."""

import contextlib
import http.client
import json
import secrets
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from feedwright.compiler.model.plan import GoalRecord
from feedwright.targets.machine.court.address import Address
from feedwright.targets.machine.court.asks import exchange
from feedwright.targets.machine.court.door import Door
from feedwright.targets.machine.court.page import FILES
from feedwright.targets.machine.court.phones import Phones
from feedwright.targets.machine.court.server import CourtServer
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.places import Place, RunShelf

from ..replay.club import built
from ..replay.street import STEP, Street
from ..replay.world import BLOCKS, SETTINGS

SHOTS = {shot.id: shot for shot in built()[0].shots}
NAME = next(iter(SHOTS))


class Stage:
    def __init__(self, *, every_s: float, balls: int, guard: bool, watching: bool) -> None:
        places = tuple(Place(n, (n - 1) * every_s, (NAME,), 0, 0) for n in range(1, balls + 1))
        self.street = Street(shelf=RunShelf(SHOTS, {shot: SETTINGS["steady"] for shot in SHOTS}, BLOCKS), places=places)
        self.door = Door(watching)
        self.server = CourtServer(Address("127.0.0.1", 0), self.door, lambda: self.street.now, FILES, exchange)
        goals = {shot.variation: GoalRecord(hits=5, among=5) for shot in SHOTS.values() if shot.variation}
        self.phones = Phones(
            self.street.host, self.server, self.door, guard=guard, goals=goals, draws=False,
            clock=lambda: self.street.now,
        )  # fmt: skip
        self.phones.begin()
        self.lock, self._over = threading.Lock(), False
        self.halted = self.still = False
        """Halted, nobody looks at what phones ask; still, time stands, and phones are heard and told all the same."""
        self._thread = threading.Thread(target=self._run, daemon=True)

    @property
    def host(self):  # type: ignore[no-untyped-def]
        return self.street.host

    def to(self, phase: RunPhase) -> "Stage":
        """In a time of its own, before it keeps pace with ours."""
        self.street.arms = int(phase not in (RunPhase.READY, RunPhase.GREETING))
        self.street.to(phase)
        return self

    def run(self) -> None:
        self._thread.start()

    def _run(self) -> None:
        while not self._over:
            with self.lock:
                if not self.halted:
                    if self.still:
                        pass
                    elif self.host.phase is not RunPhase.ENDED:
                        self.street.turn()
                    else:
                        self.street.now += STEP
                    self.phones.turn(self.street.now)
            time.sleep(STEP)

    def throw(self, balls: int) -> None:
        """Until so many have left, as fast as it goes."""
        with self.lock:
            self.street.until(lambda: len(self.host.state.thrown) >= balls, 600.0)
            self.phones.turn(self.street.now)

    def press(self, key: str) -> None:
        with self.lock:
            if not self.phones.took(key):
                self.phones.pressed(self.street.now, key)

    def close(self) -> None:
        self._over = True
        self._thread.join(5)
        self.phones.close()

    def client(self, name: str = "Ana", word: str | None = None) -> "Client":
        made = Client(self.server.port)
        status, _ = made.join(name, word or self.door.word)
        assert status == 200
        until(lambda: made.exchange()[1].get("phone") is not None)
        return made


@contextmanager
def staged(
    phase: RunPhase = RunPhase.LIVE, every_s: float = 60.0, balls: int = 4, guard: bool = False, watching: bool = False,
    still: bool = False,
) -> Iterator[Stage]:  # fmt: skip
    made = Stage(every_s=every_s, balls=balls, guard=guard, watching=watching)
    made.still = still
    try:
        made.to(phase).run()
        yield made
    finally:
        made.close()


class Client:
    """A phone in a few lines: what a browser sends."""

    def __init__(self, port: int) -> None:
        self.port, self.token, self.number = port, secrets.token_hex(16), 0
        self._line = http.client.HTTPConnection("127.0.0.1", port, timeout=5)

    def send(self, method: str, path: str, body: object = None, **headers: str) -> tuple[int, dict[str, object]]:
        data = body if isinstance(body, bytes) else b"" if body is None else json.dumps(body).encode()
        here = {"Origin": f"http://127.0.0.1:{self.port}", "X-Phone": self.token}
        given = {**here, **{name.replace("_", "-"): value for name, value in headers.items()}}
        self._line.request(method, path, data, {name: value for name, value in given.items() if value})
        answer = self._line.getresponse()
        raw = answer.read()
        if answer.getheader("Connection") == "close":
            self._line.close()
        return answer.status, json.loads(raw) if raw.startswith(b"{") else {}

    def join(self, name: str, word: str) -> tuple[int, dict[str, object]]:
        return self.send("POST", "/join", {"word": word, "token": self.token, "name": name})

    def exchange(self, *asks: dict[str, object]) -> tuple[int, dict[str, object]]:
        return self.send("POST", "/exchange", {"asks": list(asks)})

    def ask(self, what: str, ball: int | None = None) -> dict[str, object]:
        """A new ask, repeated until it is done; the state then."""
        self.number += 1
        one = {"number": self.number, "ask": what, **({} if ball is None else {"ball": ball})}
        told: dict[str, object] = {}

        def done() -> bool:
            nonlocal told
            _, told = self.exchange(one)
            return told["phone"]["done"] >= self.number  # type: ignore[index]

        until(done)
        return told

    def stop(self) -> tuple[int, dict[str, object]]:
        return self.send("POST", "/stop", {})

    def close(self) -> None:
        with contextlib.suppress(OSError):
            self._line.close()


def until(true: Callable[[], object], within_s: float = 60.0) -> None:
    end = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < end, "it does not happen"
        time.sleep(0.05)
