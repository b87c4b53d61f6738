"""What may come in to a desk, each rule attacked over a real connection: the Fetch standard (Origin), RFC 9110 (Host),
Content Security Policy Level 3."""

import asyncio
import json
import os
import re
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed, InvalidStatus

from feedwright.targets.desk import serving
from feedwright.targets.desk.door import MOST_BYTES, MOST_CONNECTIONS, MOST_PAGES

from ..test_shape import FILES, imports_of, module_of
from .served import Served, answer, served

UPGRADE = {"Upgrade": "websocket", "Connection": "Upgrade", "Sec-WebSocket-Version": "13",
           "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="}  # fmt: skip  # the key of RFC 6455, 1.3
SCRIPT = (Path(__file__).parents[2] / "programs" / "02-first-script.feed").read_text("utf-8")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    here = tmp_path_factory.mktemp("desk")
    (here / "a.feed").write_text(SCRIPT, "utf-8")
    return here


@pytest.fixture(scope="module")
def desk(folder: Path) -> Iterator[Served]:
    with served(folder) as made:
        yield made


def test_the_page_is_served_to_who_knows_the_word_and_comes_from_nowhere_else(desk: Served) -> None:
    for headers in ({}, {"Origin": desk.origin}):
        status, data = answer(desk, f"/{desk.word}/", headers)
        assert status == 200 and b"<title>Desk</title>" in data
    assert len(desk.word) >= 43  # 32 bytes in base64, RFC 4648


def test_it_listens_on_the_loopback_address_alone(desk: Served) -> None:
    listening = Path("/proc/net/tcp").read_text().splitlines()[1:] + Path("/proc/net/tcp6").read_text().splitlines()[1:]
    own = [
        line.split()[1]
        for line in listening
        if line.split()[3] == "0A" and line.split()[1].endswith(f"{desk.port:04X}")
    ]
    assert own == [f"0100007F:{desk.port:04X}"]  # proc(5): 127.0.0.1 in the machine's order


@pytest.mark.parametrize("name", ["", "desk.js", "socket"])
@pytest.mark.parametrize("host", ["evil.example:{port}", "localhost:{port}", "127.0.0.1", "127.0.0.1:80",
                                  "[::1]:{port}", "127.0.0.1:{port}.evil.example"])  # fmt: skip
def test_another_host_is_refused(desk: Served, host: str, name: str) -> None:
    headers = {"Host": host.format(port=desk.port), "Origin": desk.origin, **(UPGRADE if name == "socket" else {})}
    assert answer(desk, f"/{desk.word}/{name}", headers)[0] == 403


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1", "http://localhost:{port}",
                                    "https://127.0.0.1:{port}",
                                    "http://127.0.0.1:{port}.evil.example", ""])  # fmt: skip
def test_another_page_is_refused(desk: Served, origin: str) -> None:
    headers = {"Origin": origin.format(port=desk.port)}
    assert answer(desk, f"/{desk.word}/", headers)[0] == 403
    assert answer(desk, f"/{desk.word}/socket", {**headers, **UPGRADE})[0] == 403


def test_a_socket_has_to_say_where_it_comes_from(desk: Served) -> None:
    assert answer(desk, f"/{desk.word}/socket", UPGRADE)[0] == 403


def test_guessed_words_are_refused(desk: Served) -> None:
    word = desk.word
    guesses = ["", "/", "/socket", f"/{word[:-1]}/", f"/{word}x/", f"/{word.swapcase()}/", f"//{word}/",
               f"/%{ord(word[0]):02x}{word[1:]}/", f"/x/../{word}/", f"/{word}", "/\xe4/", f"/{word}\0/",
               f"http://127.0.0.1:{desk.port}/{word}/"]  # fmt: skip
    for guess in guesses:
        status, data = answer(desk, guess or "/", {"Origin": desk.origin, **UPGRADE})
        assert status in (0, 400, 403) and b"Desk" not in data, guess


def test_nothing_but_the_page_has_a_name(desk: Served, folder: Path) -> None:
    for path in ("../a.feed", "a.feed", "..%2fa.feed", "%2e%2e/%2e%2e/etc/passwd", "../../../../etc/passwd",
                 "page/desk.js", "desk.py", "serving.py", "/etc/passwd", "drawing.css/..", "socket/",
                 "desk.js?x"):  # fmt: skip
        status, data = answer(desk, f"/{desk.word}/{path}")
        assert status == 404 and b"root:" not in data and b"aims" not in data, path


def test_only_get_is_answered(desk: Served) -> None:
    for method in ("POST", "PUT", "DELETE", "HEAD", "OPTIONS", "TRACE", "CONNECT"):
        assert answer(desk, f"/{desk.word}/", method=method)[0] in (0, 400, 405), method
    assert answer(desk, f"/{desk.word}/", {"Content-Length": "9"})[0] in (0, 400)


def test_the_policy_lets_no_inline_script_run_and_nobody_frame_or_read_the_page(desk: Served) -> None:
    head, _, body = answer(desk, f"/{desk.word}/")[1].partition(b"\r\n\r\n")
    told = {name.lower(): value for name, value in re.findall(r"^([\w-]+): (.*)\r$", head.decode() + "\r", re.M)}
    policy = dict(part.strip().split(" ", 1) for part in told["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'" and policy["script-src"] == "'self'"
    assert policy["connect-src"] == f"ws://127.0.0.1:{desk.port}" and policy["frame-ancestors"] == "'none'"
    assert {policy["base-uri"], policy["form-action"]} == {"'none'"} and "unsafe" not in str(policy)
    nonce = re.search(r"'nonce-([\w-]+)'", policy["style-src"])
    assert nonce and nonce[1].encode() in body and nonce[1] not in answer(desk, f"/{desk.word}/")[1].decode()
    assert (told["referrer-policy"], told["x-content-type-options"]) == ("no-referrer", "nosniff")
    assert told["cross-origin-resource-policy"] == "same-origin" and told["cache-control"] == "no-store"
    for script in re.findall(rb"<script[^>]*>(.*?)</script>", body, re.S):
        assert not script.strip()
    assert not re.search(rb"\son\w+=|style=", body)


def test_megabytes_are_not_taken(desk: Served) -> None:
    assert answer(desk, "/" + "a" * 3_000_000)[0] in (0, 400, 414, 431)
    assert answer(desk, f"/{desk.word}/", {"X-Long": "a" * 3_000_000})[0] in (0, 400, 431)
    assert answer(desk, f"/{desk.word}/", {f"X-{n}": "a" for n in range(5000)})[0] in (0, 400, 431)

    async def large() -> int:
        async with connect(desk.socket, origin=desk.origin, max_size=None) as line:
            with pytest.raises(ConnectionClosed) as ended:
                await line.send("[" * (MOST_BYTES + 1))
                await line.recv()
            return ended.value.rcvd.code if ended.value.rcvd else 0

    assert asyncio.run(large()) in (0, 1009)  # RFC 6455, 7.4.1: too big
    assert answer(desk, f"/{desk.word}/")[0] == 200


def test_a_thousand_sockets_leave_the_desk_as_it_is(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "PATIENCE_S", 600.0)  # none is cut because it says nothing
    lines: list[socket.socket] = []
    with served(folder) as desk:
        try:
            for _ in range(1000):
                lines.append(socket.create_connection(("127.0.0.1", desk.port), 20))
            cut = 0
            for line in lines[MOST_CONNECTIONS + 20 :]:  # the first may wait for what they never ask
                line.settimeout(20)
                try:
                    cut += line.recv(1) == b""
                except ConnectionError:
                    cut += 1
            assert cut == len(lines) - MOST_CONNECTIONS - 20
            own = len(os.listdir("/proc/self/fd")) - len(lines)
            assert own < 300  # both ends are of this process: the desk keeps few of its own
        finally:
            for line in lines:
                line.close()
        while answer(desk, f"/{desk.word}/")[0] != 200:  # until it has seen that they are gone
            pass


def test_who_says_nothing_is_cut(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "PATIENCE_S", 0.1)
    with served(folder) as desk, socket.create_connection(("127.0.0.1", desk.port), 20) as line:
        line.settimeout(20)
        line.sendall(b"GET / HT")
        assert b"200" not in line.recv(4096) and line.recv(1) == b""


def test_more_pages_than_few_are_refused(desk: Served) -> None:
    async def many() -> None:
        lines: list[ClientConnection] = []
        try:
            for _ in range(MOST_PAGES):
                lines.append(await connect(desk.socket, origin=desk.origin))
            with pytest.raises(InvalidStatus) as refused:
                await connect(desk.socket, origin=desk.origin)
            assert refused.value.response.status_code == 503
        finally:
            for line in lines:
                await line.close()

    asyncio.run(many())


HARM = [
    "", "x", "[]", "null", "{", "[" * 50_000, '{"jsonrpc": "2.0"}', "\udcff".encode("utf-8", "surrogatepass"),
    *(json.dumps({"jsonrpc": "2.0", "id": 1, "method": method, "params": {}})
      for method in ("exit", "shutdown", "workspace/executeCommand", "workspace/didChangeWorkspaceFolders", "desk/run",
                     "workspace/didChangeWatchedFiles")),
    *(json.dumps({"jsonrpc": "2.0", "id": 1, "method": method, "params": {"textDocument": {"uri": uri, "text": "x",
                  "languageId": "feed", "version": 1}}})
      for method in ("textDocument/didOpen", "textDocument/formatting")
      for uri in ("file:///etc/passwd", "file:///etc/", "../a.feed", 7, None, "http://evil.example/a.feed")),
]  # fmt: skip
"""What no page says."""


def test_whoever_says_what_no_page_says_is_cut_and_the_desk_goes_on(desk: Served) -> None:
    async def say(words: str | bytes) -> int:
        async with connect(desk.socket, origin=desk.origin) as line:
            await line.send(words)
            with pytest.raises(ConnectionClosed) as ended:
                while True:
                    await asyncio.wait_for(line.recv(), 20)
            return ended.value.rcvd.code if ended.value.rcvd else 0

    async def every() -> None:
        for words in HARM:
            assert await say(words) in (1007, 1008), words[:80]

    asyncio.run(every())
    assert answer(desk, f"/{desk.word}/")[0] == 200


def test_a_desk_cannot_reach_a_machine() -> None:
    """Nothing that it loads, however far, plays a plan or opens a port."""
    paths = {module_of(path): path for path in FILES}
    seen, waiting = set(), [name for name in paths if name.startswith("targets.desk")] + ["targets.command.desk"]
    while waiting:
        name = waiting.pop()
        if name in paths and name not in seen:
            seen.add(name)
            waiting += imports_of(paths[name])
    assert "compiler.pipeline" in seen and "targets.editor.server" in seen
    assert [name for name in seen if re.match(r"targets\.(machine\.(replay|wire)|log)", name)] == []
    assert [name for name in seen if re.search(r"^\s*(import|from) serial", paths[name].read_text("utf-8"), re.M)] == []


def test_two_desks_have_two_words(folder: Path, desk: Served) -> None:
    with served(folder) as other:
        assert other.word != desk.word
        assert answer(other, f"/{desk.word}/")[0] == 403
