"""The server of the court page: who may come in, what a phone can do, and what attacks come to."""

import asyncio
import contextlib
import socket
import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest

from feedwright.compiler.model.plan import GoalRecord
from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.court import bounded, page, server, words
from feedwright.targets.machine.court.asks import Ask, PhoneAsk
from feedwright.targets.machine.court.door import MOST_PHONES, WRONG_TRIES
from feedwright.targets.machine.court.phones import MOST_IN_A_TURN
from feedwright.targets.machine.court.server import Arrived
from feedwright.targets.machine.court.shown import shown
from feedwright.targets.machine.replay.flow import Halt, RunPhase

from .stage import Client, Stage, staged, until


@pytest.fixture(scope="module")
def ready() -> Iterator[Stage]:
    """Nothing is armed, so that nothing moves on."""
    with staged(RunPhase.READY) as made:
        yield made


def renewed(stage: Stage) -> str:
    """A new word; whoever was there is sent away."""
    for phone in stage.door.phones():
        stage.press("x")
        stage.press(str(phone.number % 10))
    stage.press("j")
    return stage.door.word


# ---- what a phone can do


def test_a_phone_is_shown_the_next_ball_and_marks_the_last() -> None:
    with staged() as stage:
        stage.throw(2)
        ana = stage.client()
        state = ana.exchange()[1]["state"]
        assert state["headline"] == "LIVE" and state["next"]["number"] == 3 and state["last"]["place"] == 2  # type: ignore[index]
        assert 0 < state["next"]["in_s"] <= 60 and state["streak"]["goal"] == "5 in a row"  # type: ignore[index]
        state = ana.ask("hit", 2)["state"]
        assert (state["hits"], state["last"]["verdict"], state["streak"]["now"]) == (1, "hit", 1)  # type: ignore[index]
        assert ana.ask("undo")["state"]["hits"] == 0  # type: ignore[index]
        assert stage.host.state.thrown[1].verdict is Verdict.NOT_JUDGED


def test_of_a_goal_among_so_many_balls_the_last_so_many_are_told() -> None:
    with staged() as stage:
        stage.throw(4)
        with stage.lock:
            for place, hit in enumerate((True, True, False, True), start=1):
                stage.host.mark(stage.street.now, hit, place)
            goals = {shot.variation: GoalRecord(hits=3, among=4) for shot in stage.host.shelf.shots.values()}
            now = shown(stage.host, stage.street.now, 0.0, goals).streak  # type: ignore[arg-type]
    assert now and (now.now, now.best, now.among, now.goal) == (3, 3, 4, "3 of 4")


def test_a_pause_holds_and_a_stop_ends() -> None:
    with staged() as stage:
        ana = stage.client()
        ana.ask("pause")
        until(lambda: stage.host.phase is RunPhase.READY)
        assert (stage.host.halt, stage.host.why) == (Halt.PAUSED, "paused by Ana")
        assert ana.stop() == (200, {"heard": True})
        until(lambda: stage.host.phase is RunPhase.ENDED)
        assert stage.host.ending.why == "Stopped by Ana" and stage.host.ending.stopped
        state = ana.exchange()[1]["state"]
        assert state["giant"] == ["STOPPED"] and state["alarm"] and state["over"]  # type: ignore[index]


def test_phones_are_named_beside_the_machine_and_sent_away(ready: Stage) -> None:
    ben = ready.client("Ben\u202e", renewed(ready))
    number = next(phone.number for phone in ready.door.phones() if phone.name.startswith("Ben"))
    assert f"Ben\\u202e has joined as phone {number}: it can stop, pause and mark." in ready.host.messages
    ready.press("x")
    ready.press(str(number % 10))
    assert ready.host.messages[-1] == "Ben\\u202e was sent away."
    assert ben.exchange()[0] == ben.stop()[0] == 403
    assert ready.host.phase is RunPhase.READY


def test_a_phone_that_gets_the_number_of_another_gets_nothing_else_of_it() -> None:
    with staged() as stage:
        stage.throw(1)
        ana = stage.client()
        ana.ask("hit", 1)
        stage.press("x")
        stage.press("1")
        stage.press("j")
        other = Client(stage.server.port)
        with stage.lock:  # before the replay has looked
            assert other.join("Ana", stage.door.word)[0] == 200
            assert other.exchange()[1]["phone"] is None
        until(lambda: (other.exchange()[1]["phone"] or {}).get("done") == 0)  # type: ignore[attr-defined]
        assert stage.door.phones()[0].number == 1
        assert other.ask("miss", 1)["state"]["misses"] == 1  # type: ignore[index]


def test_who_only_watches_sees_and_can_ask_for_nothing() -> None:
    with staged(watching=True) as stage:
        eve = stage.client("Eve", stage.door.watch_word)
        fay = stage.client("Fay", stage.door.watch_word)
        assert eve.exchange({"number": 1, "ask": "pause"})[0] == 200
        assert eve.stop()[0] == 403
        time.sleep(0.05)
        assert stage.host.phase is RunPhase.LIVE and stage.host.state.wish is None
        stage.press("x")
        stage.press("w")
        assert eve.exchange()[0] == fay.exchange()[0] == 403
        assert stage.door.phones() == ()


def test_a_replay_that_is_late_is_not_shown_as_the_present() -> None:
    with staged(RunPhase.READY) as stage:
        ana = stage.client()
        with stage.lock:
            stage.halted = True
            stage.street.now += server.STALE_S + 0.1
        status, told = ana.exchange()
        assert status == 503 and "state" not in told
        stage.halted = False
        until(lambda: ana.exchange()[0] == 200)


def test_at_the_end_phones_are_told_how_it_ended() -> None:
    with staged() as stage:
        ana = stage.client()
        ana.stop()
        until(lambda: stage.host.phase is RunPhase.ENDED)
        until(lambda: ana.exchange()[1]["state"]["over"])  # type: ignore[index]
        with stage.lock:  # the last bells ring, and the log is closed: nobody looks for a while
            stage._over = True
            stage.street.now += 5.0
        stage._thread.join(5)
        status, answer = ana.exchange()
        assert status == 200 and answer["state"]["giant"] == ["STOPPED"], "how it ended stays true"  # type: ignore[index]
        told: list[object] = []

        def listens() -> None:
            while not told or not told[-1]["state"]["afterwards"]:  # type: ignore[index]
                told.append(ana.exchange()[1])

        listener = threading.Thread(target=listens, daemon=True)
        listener.start()
        stage.phones.finish(("clear: longest streak 2 hits.",))
        listener.join(5)
        assert list(told[-1]["state"]["afterwards"]) == ["clear: longest streak 2 hits."]  # type: ignore[index]


# ---- who may come in


def test_a_word_lets_one_phone_in_and_the_same_phone_again(ready: Stage) -> None:
    word = renewed(ready)
    ana, other = Client(ready.server.port), Client(ready.server.port)
    assert ana.join("Ana", word)[0] == 200
    assert ana.join("Ana", word)[0] == 200, "its answer may have been lost"
    status, told = other.join("Mallory", word)
    assert status == 403 and "used up or wrong" in str(told["why"])
    assert other.exchange()[0] == other.stop()[0] == 403
    assert sum(phone.name == "Ana" for phone in ready.door.phones()) >= 1
    assert all(phone.name != "Mallory" for phone in ready.door.phones())


def test_words_cannot_be_tried_one_after_another(ready: Stage) -> None:
    word, mallory = renewed(ready), Client(ready.server.port)
    for n in range(WRONG_TRIES):
        assert mallory.join("Mallory", f"guess{n}")[0] == 403
    status, told = mallory.join("Mallory", word)
    assert status == 403 and "Too many wrong words" in str(told["why"])
    assert mallory.join("Mallory", renewed(ready))[0] == 200


def test_no_more_than_ten_phones() -> None:
    with staged(RunPhase.READY) as stage:
        for n in range(MOST_PHONES):
            stage.press("j")
            assert Client(stage.server.port).join(f"p{n}", stage.door.word)[0] == 200
        stage.press("j")
        status, told = Client(stage.server.port).join("one more", stage.door.word)
        assert (status, told["why"]) == (403, "No more phones can join.")


# ---- attacks


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Origin": "http://evil.example"}, 403), ({"Origin": "null"}, 403), ({"Origin": ""}, 403),
        ({"Host": "evil.example"}, 421), ({"Host": "127.0.0.1"}, 421),
    ],
)  # fmt: skip
def test_another_page_cannot_reach_in(ready: Stage, headers: dict[str, str], status: int) -> None:
    """Another origin (RFC 6454), and a name that somebody made lead here (DNS rebinding)."""
    ana = ready.client("Ana", renewed(ready))
    for path in ("/stop", "/exchange", "/join"):
        assert ana.send("POST", path, {"asks": []}, **headers)[0] == status
    assert ready.host.phase is RunPhase.READY
    assert ana.exchange()[0] == 200


RAW = (
    (b"GET / HTTP/2\r\n\r\n", 400), (b"nonsense\r\n\r\n", 400), (b"GET http://a/ HTTP/1.1\r\n\r\n", 400),
    (b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n", 400), (b"GET / HTTP/1.1\r\n Host: a\r\n\r\n", 400),
    (b"GET / HTTP/1.1\r\nX: " + b"a" * 9000 + b"\r\n\r\n", 431),
    (b"PUT / HTTP/1.1\r\nHost: HERE\r\n\r\n", 405), (b"OPTIONS /stop HTTP/1.1\r\nHost: HERE\r\n\r\n", 405),
    (b"POST /stop HTTP/1.1\r\nHost: HERE\r\nTransfer-Encoding: chunked\r\n\r\n", 400),
    (b"POST /join HTTP/1.1\r\nHost: HERE\r\nContent-Length: -1\r\n\r\n", 400),
    (b"POST /join HTTP/1.1\r\nHost: HERE\r\nContent-Length: 999999\r\n\r\n", 413),
    (b"POST /join HTTP/1.1\r\nHost: HERE\r\nOrigin: http://HERE\r\nContent-Length: 2\r\n\r\n{}", 400),
)  # fmt: skip


@pytest.mark.parametrize(("raw", "status"), RAW, ids=range(len(RAW)))
def test_what_is_no_request_is_refused_and_the_connection_ends(ready: Stage, raw: bytes, status: int) -> None:
    with socket.create_connection(("127.0.0.1", ready.server.port), timeout=5) as line:
        line.sendall(raw.replace(b"HERE", f"127.0.0.1:{ready.server.port}".encode()))
        got = b""
        while data := line.recv(4096):
            got += data
    assert got.startswith(f"HTTP/1.1 {status} ".encode())


def test_a_flood_is_refused_and_a_stop_in_it_is_heard(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "RATE", 0.0)  # however slow this machine is, it is a flood
    with staged() as stage:
        ana = stage.client()
        statuses = [ana.exchange()[0] for _ in range(int(server.BURST) + 60)]
        assert 429 in statuses
        assert ana.stop()[0] == 200
        until(lambda: stage.host.phase is RunPhase.ENDED)
        assert stage.host.ending.stopped


def test_a_stop_comes_before_all_else_that_phones_have_asked() -> None:
    with staged(still=True) as stage:
        stage.throw(1)
        ana = stage.client()
        (phone,) = stage.door.phones()
        with stage.lock:
            for n in range(1, 501):
                asked = (PhoneAsk(n, Ask.HIT if n % 2 else Ask.MISS, 1),)
                stage.server.inbox.put(Arrived(stage.street.now, phone, asked))
            stage.server.stops.append(phone)
            stage.phones.turn(stage.street.now)
            assert stage.host.phase is RunPhase.STOPPING
            assert stage.phones._board.desks[phone.number].done <= MOST_IN_A_TURN, "the rest waits for the next turns"
        ana.close()


def test_no_more_connections_are_taken_at_once_than_a_stop_can_wait_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """asyncio takes as many at once as its backlog says."""
    given: dict[str, Any] = {}
    start = asyncio.start_server

    async def noted(*args: Any, **how: Any) -> Any:
        given.update(how)
        return await start(*args, **how)

    monkeypatch.setattr(asyncio, "start_server", noted)
    with staged(RunPhase.READY) as stage:
        assert Client(stage.server.port).send("GET", "/")[0] == 200
    assert given["backlog"] == server.MOST_AT_ONCE <= 8


def test_a_stop_is_heard_while_strangers_flood(monkeypatch: pytest.MonkeyPatch) -> None:
    """The flood goes on until the replay has ended: nothing waits for its end."""
    monkeypatch.setattr(server, "RATE", 0.0)
    with staged() as stage:
        ana, over, refused = stage.client(), threading.Event(), list[int]()

        def floods() -> None:
            while not over.is_set():
                stranger = Client(stage.server.port)
                with contextlib.suppress(OSError):
                    refused.append(stranger.send("POST", "/stop", {}, X_Phone="0" * 32)[0])
                stranger.close()

        strangers = [threading.Thread(target=floods, daemon=True) for _ in range(3)]
        for stranger in strangers:
            stranger.start()
        try:
            until(lambda: len(refused) > server.BURST)
            assert ana.stop()[0] == 200
            until(lambda: stage.host.phase is RunPhase.ENDED)
        finally:
            over.set()
        for stranger in strangers:
            stranger.join(5)
        assert set(refused) <= {403, 429} and 429 in refused
        assert stage.host.ending.why == "Stopped by Ana"


def test_connections_that_say_nothing_keep_no_phone_out(ready: Stage) -> None:
    ana = ready.client("Ana", renewed(ready))
    silent = []
    try:
        for _ in range(server.MOST_CONNECTIONS + 20):
            silent.append(socket.create_connection(("127.0.0.1", ready.server.port), timeout=5))
        assert ana.exchange()[0] == 200, "a connection that a phone has used is kept"
        assert Client(ready.server.port).send("GET", "/court.js")[0] == 200
        assert len(ready.server._connections) <= server.MOST_CONNECTIONS
    finally:
        for line in silent:
            line.close()


def test_a_reader_that_does_not_read_is_dropped_and_nobody_waits_for_it(
    ready: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounded, "WRITE_S", 0.3)
    monkeypatch.setattr(server, "RATE", 1e6)  # as many requests as it likes: it is not rationed
    monkeypatch.setattr(server, "BURST", 1e6)
    ana = ready.client("Ana", renewed(ready))
    with socket.socket() as slow:
        slow.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        slow.connect(("127.0.0.1", ready.server.port))
        one = f"GET /court.js HTTP/1.1\r\nHost: 127.0.0.1:{ready.server.port}\r\n\r\n".encode()
        slow.sendall(one * 3000)  # 30 MB of answers, more than the system keeps for a connection
        until(lambda: len(ready.server._connections) == 2)
        assert ana.exchange()[0] == 200
        until(lambda: len(ready.server._connections) == 1)
        assert ana.exchange()[0] == 200


def test_a_connection_that_never_asks_is_ended(ready: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounded, "FIRST_S", 0.2)
    with socket.create_connection(("127.0.0.1", ready.server.port), timeout=5) as line:
        line.sendall(b"GET / HT")
        with contextlib.suppress(ConnectionResetError):
            assert line.recv(10) == b""


def test_every_answer_forbids_scripts_of_others(ready: Stage) -> None:
    ana = Client(ready.server.port)
    for path in (*page.FILES, "/nothing"):
        ana._line.request("GET", path)
        answer = ana._line.getresponse()
        body = answer.read().decode()
        policy = answer.getheader("Content-Security-Policy") or ""
        assert "default-src 'none'" in policy and "script-src 'self'" in policy and "unsafe" not in policy
        assert answer.getheader("X-Content-Type-Options") == "nosniff"
        assert "frame-ancestors 'none'" in policy and answer.getheader("Cache-Control") == "no-store"
        if path == "/":
            assert "<script>" not in body and " on" + "click" not in body and "style=" not in body


def test_a_page_that_fails_is_told_and_a_guarded_run_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    async def fails(self: object) -> None:
        raise MemoryError

    monkeypatch.setattr(server.CourtServer, "_serve", fails)
    with staged(guard=True, phase=RunPhase.READY) as stage:
        until(lambda: stage.server.fault)
        with stage.lock:
            stage.street.arms = 1
        said = "The court page ended (MemoryError): phones can neither stop nor mark."
        until(lambda: said in stage.host.messages)
        until(lambda: stage.host.why == words.NO_GUARD)
        assert stage.host.phase is RunPhase.READY and not stage.host.state.thrown
