"""What a server works out when an editor asks, stops asking and types on: each text once, and none that nobody has."""

import asyncio
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event
from typing import Any

import pytest

from feedwright.targets.editor import server as editor_server
from feedwright.targets.editor.answers import editor
from feedwright.targets.editor.server import Editor

from ..shipped import FOLDER

URI = "file:///nowhere/a.feed"
SLIP = "program x\nfeed a\n    hieght 1 m over net\n"
PLACE: dict[str, object] = {"textDocument": {"uri": URI}, "position": {"line": 0, "character": 0}}
ACTION: dict[str, object] = {
    "textDocument": {"uri": URI}, "context": {"diagnostics": []},
    "range": {"start": {"line": 0, "character": 0}, "end": {"line": 9, "character": 0}},
}  # fmt: skip


class Line:
    """To a server, and what it wrote."""

    def __init__(self) -> None:
        self.server: Editor = editor("0")
        self.said: list[dict[str, Any]] = []
        self.server.protocol.set_writer(self, include_headers=False)  # type: ignore[arg-type]
        self.say("initialize", {"capabilities": {}, "processId": None, "rootUri": None}, 0)

    def write(self, data: str | bytes) -> None:
        self.said.append(json.loads(data))

    def say(self, method: str, params: object, number: int | None = None) -> None:
        asked = {} if number is None else {"id": number}
        text = json.dumps({"jsonrpc": "2.0", "method": method, "params": params, **asked})
        structured = json.loads(text, object_hook=self.server.protocol.structure_message)
        self.server.protocol.handle_message(structured)

    def open(self, text: str) -> None:
        self.say(
            "textDocument/didOpen", {"textDocument": {"uri": URI, "languageId": "feed", "version": 1, "text": text}}
        )

    async def answer(self, number: int) -> dict[str, Any]:
        async with asyncio.timeout(60):
            while not (found := [one for one in self.said if one.get("id") == number and "method" not in one]):
                await asyncio.sleep(0.001)
        return found[0]


class Gate:
    """Lets work begin only once it is open, and counts it."""

    def __init__(self, work: Callable[..., Any]) -> None:
        self.work, self.began, self.open = work, 0, Event()

    def __call__(self, *args: Any, **named: Any) -> Any:
        self.began += 1
        assert self.open.wait(60)
        return self.work(*args, **named)


@contextmanager
def gated(name: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[Gate]:
    gate = Gate(getattr(editor_server, name))
    monkeypatch.setattr(editor_server, name, gate)
    try:
        yield gate
    finally:
        gate.open.set()


async def begun(gate: Gate) -> None:
    async with asyncio.timeout(60):
        while not gate.began:
            await asyncio.sleep(0.001)


@pytest.mark.parametrize(
    ("work", "method", "params"),
    [("compile_read", "textDocument/hover", PLACE), ("compile_source", "textDocument/codeAction", ACTION)],
    ids=["balls", "remedies"],
)
def test_who_stops_asking_does_not_undo_the_work(
    work: str, method: str, params: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An editor cancels what it asked as soon as the cursor moves, and asks again."""

    async def course() -> None:
        line = Line()
        with gated(work, monkeypatch) as gate:
            line.open(SLIP)
            line.say(method, params, 1)
            await begun(gate)
            line.say("$/cancelRequest", {"id": 1})
            line.say(method, params, 2)
            gate.open.set()
            assert "error" in await line.answer(1) and "error" not in await line.answer(2)
            assert gate.began == 1
        line.server.shutdown()

    asyncio.run(course())


def test_a_script_that_is_closed_is_not_worked_out_to_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    async def course() -> None:
        line = Line()
        with gated("read_source", monkeypatch) as gate:
            line.open((FOLDER / "02-first-script.feed").read_text("utf-8"))
            await begun(gate)
            line.say("textDocument/hover", PLACE, 1)
            line.say("textDocument/didClose", {"textDocument": {"uri": URI}})
            gate.open.set()
            assert (await line.answer(1))["result"] is None
        published = [one["params"] for one in line.said if one.get("method") == "textDocument/publishDiagnostics"]
        assert [one["diagnostics"] for one in published] == [[]]
        line.server.shutdown()

    asyncio.run(course())


def test_remedies_are_of_the_text_that_stands_there(monkeypatch: pytest.MonkeyPatch) -> None:
    async def course() -> None:
        line = Line()
        with gated("compile_source", monkeypatch) as gate:
            line.open(SLIP)
            line.say("textDocument/codeAction", ACTION, 1)
            await begun(gate)
            about = {"uri": URI, "version": 2}
            line.say("textDocument/didChange", {"textDocument": about, "contentChanges": [{"text": f"# {SLIP}"}]})
            gate.open.set()
            assert (await line.answer(1))["result"] == []
            line.say("textDocument/codeAction", ACTION, 2)
            edits = [one["edit"]["changes"][URI][0]["range"]["start"] for one in (await line.answer(2))["result"]]
            assert {"line": 2, "character": 4} in edits
        line.server.shutdown()

    asyncio.run(course())


def test_what_is_taken_back_is_told_before_the_work_on_it_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    async def course() -> None:
        line = Line()
        line.open(SLIP)
        line.say("textDocument/hover", PLACE, 1)
        await line.answer(1)
        with gated("read_source", monkeypatch) as gate:
            for version, text in ((2, f"# {SLIP}"), (3, SLIP)):
                about = {"uri": URI, "version": version}
                line.say("textDocument/didChange", {"textDocument": about, "contentChanges": [{"text": text}]})
                await asyncio.sleep(0)
            last = [one["params"] for one in line.said if one.get("method") == "textDocument/publishDiagnostics"][-1]
            assert last["version"] == 3 and last["diagnostics"]
            assert not gate.open.is_set()
        line.server.shutdown()

    asyncio.run(course())


def test_work_that_ends_too_late_does_not_replace_what_was_told(monkeypatch: pytest.MonkeyPatch) -> None:
    text = (FOLDER / "02-first-script.feed").read_text("utf-8")
    text = text.replace("interval  6 s", "interval  0.7 s") + "    rset 1 min\n"
    headless = text.replace("program ", "porgram ")  # no ball of it is worked out, so nothing stops the work on it

    async def course() -> None:
        line = Line()
        line.open(text)
        line.say("textDocument/hover", PLACE, 1)
        await line.answer(1)
        with gated("read_source", monkeypatch) as gate:
            for version, changed in ((2, headless), (3, text)):
                about = {"uri": URI, "version": version}
                line.say("textDocument/didChange", {"textDocument": about, "contentChanges": [{"text": changed}]})
                await begun(gate)
            gate.open.set()
            here = {"start": PLACE["position"], "end": PLACE["position"]}
            line.say("textDocument/codeAction", {**ACTION, "range": here}, 2)
            await line.answer(2)
        found = [one["params"] for one in line.said if one.get("method") == "textDocument/publishDiagnostics"]
        codes = [[one["code"] for one in told["diagnostics"]] for told in found if told["version"] == 3]
        assert codes and all({"interval-short", "unexpected-word"} <= set(some) for some in codes)
        line.server.shutdown()

    asyncio.run(course())
