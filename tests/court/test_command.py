"""`feedwright replay --court` as a process on a pseudo-terminal, with a phone beside it; and how it is refused."""

import contextlib
import http.client
import re
import shutil
import socket
import sqlite3
import ssl
import subprocess
import threading
from pathlib import Path
from typing import Any

import pytest

from feedwright.targets.command.cli import main
from feedwright.targets.machine.court.invitation import code
from feedwright.targets.machine.court.phones import served
from feedwright.targets.machine.replay.request import Request

from ..replay.club import built, written
from ..replay.hindered import held
from ..replay.outside import Machine, Terminal, replay
from .stage import Client, until

# Real processes against the clock, on a machine that may be busy: a moment too late is tried again.
pytestmark = pytest.mark.flaky(reruns=2)


def test_a_practice_with_a_phone_from_the_code_to_the_log(tmp_path: Path) -> None:
    plan, db = written(tmp_path), tmp_path / "practice.db"
    machine = Machine(built()[0].feeder.device)
    with held(db, "nothing"):
        more = ("--db", str(db), "--court", "127.0.0.1:0", "--guard")  # with the bells, which ring for two seconds more
        terminal = Terminal(*replay(plan, machine.port, *more), size=(80, 24))
        try:
            where = terminal.see(r"http://127\.0\.0\.1:(\d+)/#(\w{12})")
            drawn = code(where[0])
            assert drawn
            terminal.see(r"any other key  close")
            assert all(line in terminal.cells.text for line in drawn), "the code is drawn whole"
            white_on_black = b"\x1b[38;5;231;48;5;16m", b"\x1b[38;2;255;255;255;48;2;0;0;0m", b"\x1b[97;40m"
            assert any(b"%s%s" % (one, drawn[3].encode()[:20]) in terminal.raw for one in white_on_black)
            ana = Client(int(where[1]))
            assert ana.join("Ana", where[2])[0] == 200
            terminal.see("Ana has joined as phone 1: it can stop, pause and mark and guards")
            over = threading.Event()
            beats = threading.Thread(target=lambda: _beat(ana, over), daemon=True)
            beats.start()
            terminal.arm()
            until(lambda: len(machine.thrown) >= 2)
            over.set()
            beats.join(5)
            place = ana.exchange()[1]["state"]["last"]["place"]  # type: ignore[index]
            assert ana.ask("hit", place)["state"]["hits"] == 1  # type: ignore[index]
            before = len(machine.stops)
            assert ana.stop()[0] == 200
            until(lambda: len(machine.stops) > before)
            told: dict[str, Any] = {}
            until(lambda: told.update(ana.exchange()[1].get("state") or {}) or told.get("afterwards"))  # type: ignore[call-overload,func-returns-value]
            assert "rally: longest streak 1 hit." in told["afterwards"]
            assert any("judged so far, too few for advice" in line for line in told["afterwards"]), (
                "what the log advises"
            )
            assert terminal.end() == 0
            shown = " ".join(terminal.cells.all.split())
            assert "Stopped by Ana." in shown and "The machine is stopped and said so." in shown
            with pytest.raises(OSError):
                Client(int(where[1])).exchange()
        finally:
            machine.close()
    with sqlite3.connect(db) as log:
        assert [one for (one,) in log.execute("SELECT verdict FROM balls")].count("h") == 1


def _beat(phone: Client, over: threading.Event) -> None:
    while not over.wait(0.2):
        phone.exchange()


def test_with_a_certificate_the_page_is_served_over_tls(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("no openssl here to make a certificate")
    key, pem = tmp_path / "key.pem", tmp_path / "both.pem"
    ask = ("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2")
    names = ("-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost")
    subprocess.run([openssl, *ask, *names, "-keyout", str(key), "-out", str(pem)], check=True, capture_output=True)
    pem.write_bytes(pem.read_bytes() + key.read_bytes())

    server, _, notes = served("localhost:0", str(pem), False, lambda: 1.0)
    server.start()
    try:
        trusted = ssl.create_default_context(cafile=str(pem))
        line = http.client.HTTPSConnection("localhost", server.port, context=trusted, timeout=5)
        line.request("GET", "/")
        answer = line.getresponse()
        assert answer.status == 200 and b"STOP" in answer.read()
        assert server.origin.startswith("https://localhost:") and not any("certificate" in note for note in notes)
        with socket.create_connection(("localhost", server.port), timeout=5) as stranger:
            stranger.sendall(b"GET / HTTP/1.1\r\n\r\n")  # without TLS
            with contextlib.suppress(OSError):
                while stranger.recv(4096):
                    pass
        assert capfd.readouterr().err == "", "nothing of it reaches the terminal"
        line.request("POST", "/stop", b"{}", {"Origin": server.origin.replace("https", "http")})
        assert line.getresponse().status == 403, "a page without TLS is another origin"
    finally:
        server.close()


def refusal(capsys: pytest.CaptureFixture[str], plan: Path, *more: str) -> str:
    assert main(["replay", str(plan), "--port", "simulated", *more]) == 2
    return re.sub(r"\s+", " ", capsys.readouterr().err)


def test_options_without_a_page_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = written(tmp_path)
    for option in (("--court-view",), ("--guard",), ("--certificate", "x.pem")):
        assert "--court-view, --guard and --certificate belong to --court" in refusal(capsys, plan, *option)


def test_a_run_that_goes_on_keeps_its_page() -> None:
    line = Request("a.plan.json", "PORT", court="", court_view=True, guard=True).again("abc")
    assert line == "feedwright replay a.plan.json --port PORT --court --court-view --guard --continue abc"
    line = Request("a.plan.json", "PORT", court="10.0.0.2", certificate="c.pem").again("abc")
    assert line == "feedwright replay a.plan.json --port PORT --court 10.0.0.2 --certificate c.pem --continue abc"
