"""What a page gets of the files beside its script, and what it may change: over its own messages, without a socket."""

import asyncio
import json
import math
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from feedwright.targets.desk.script_file import ScriptFile
from feedwright.targets.desk.session import session

from ..shipped import FOLDER

FIRST = (FOLDER / "02-first-script.feed").read_text("utf-8")
Ask = Callable[[str, dict[str, Any]], Coroutine[Any, Any, dict[str, Any]]]
Course = Callable[[Ask, dict[str, str]], Coroutine[Any, Any, None]]


class Said:
    """What a session wrote to its page."""

    def __init__(self) -> None:
        self.messages: list[dict[str, Any]] = []

    def write(self, data: str | bytes) -> None:
        self.messages.append(json.loads(data))


def on_a_page(
    folder: Path, text: str, course: Callable[[Ask, dict[str, str]], Coroutine[Any, Any, None]]
) -> list[dict[str, Any]]:
    """Plays what a page does with a script: it asks with a method and its parameters. What the page is told."""
    (folder / "a.feed").write_text(text, "utf-8")
    said, worker = Said(), ThreadPoolExecutor(1)

    async def run() -> None:
        server = session("0", ScriptFile(folder, "a.feed"), worker)
        server.protocol.set_writer(said, include_headers=False)  # type: ignore[arg-type]

        async def ask(method: str, params: dict[str, Any]) -> dict[str, Any]:
            number = len(said.messages) + 1
            assert server.take(json.dumps({"jsonrpc": "2.0", "id": f"{number}", "method": method, "params": params}))
            async with asyncio.timeout(60):
                while not (found := [one for one in said.messages if one.get("id") == f"{number}"]):
                    await asyncio.sleep(0.001)
            return found[0]

        await ask("initialize", {"capabilities": {}, "processId": None, "rootUri": None})
        about = {"uri": server.uri}
        document = {**about, "languageId": "feed", "version": 1, "text": text}
        opens = {"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {"textDocument": document}}
        assert server.take(json.dumps(opens))
        await course(ask, about)
        assert not any("error" in message for message in said.messages)
        server.shutdown()

    asyncio.run(run())
    return said.messages


def test_a_profile_behind_a_link_out_of_the_folder_is_not_read(tmp_path: Path) -> None:
    outside, inside = tmp_path / "outside", tmp_path / "inside"
    outside.mkdir(), inside.mkdir()
    (outside / "mine.toml").write_text("secret = 1", "utf-8")
    (inside / "mine.toml").symlink_to(outside / "mine.toml")

    async def course(ask: Ask, about: dict[str, str]) -> None:
        told = await ask("textDocument/hover", {"textDocument": about, "position": {"line": 0, "character": 0}})
        assert told["result"] is None

    said = on_a_page(inside, FIRST.replace("machine club", "machine mine"), course)
    (last,) = [one["params"] for one in said if one.get("method") == "textDocument/publishDiagnostics"]
    assert any("link out of the folder" in one["message"] for one in last["diagnostics"])
    assert "secret" not in json.dumps(said)


@pytest.mark.parametrize(
    ("metres", "written"), [(0.2, True), (1e9, False), (math.inf, False), (math.nan, False), ("1", False)]
)
def test_a_ball_is_dragged_no_farther_than_the_court_and_its_run_off(
    tmp_path: Path, metres: object, written: bool
) -> None:
    async def course(ask: Ask, about: dict[str, str]) -> None:
        told = await ask("desk/move", {"ball": "high", "by": {"depth": metres}})
        assert bool(told["result"]["edits"]) is written

    on_a_page(tmp_path, FIRST, course)


def test_a_name_that_another_file_makes_is_not_changed(tmp_path: Path) -> None:
    """A page writes its own script alone."""
    (tmp_path / "aims.feed").write_text('variation past "past"\n', "utf-8")

    async def course(ask: Ask, about: dict[str, str]) -> None:
        for line, column, changed in ((1, 12, False), (1, 5, True)):
            place = {"textDocument": about, "position": {"line": line, "character": column}}
            made = (await ask("textDocument/rename", {**place, "newName": "other"}))["result"]
            assert bool(made) is changed

    on_a_page(tmp_path, 'use "aims.feed"\nfeed a aims past\n', course)
    assert (tmp_path / "aims.feed").read_text("utf-8") == 'variation past "past"\n'


@pytest.mark.parametrize("what", [[], {}, 7, None, "session", "__class__"])
def test_a_form_that_is_none_is_refused_in_words(tmp_path: Path, what: object) -> None:
    async def course(ask: Ask, about: dict[str, str]) -> None:
        told = await ask("desk/add", {"what": what, "blanks": {}})
        assert told["result"] == {"problem": "no form writes this"}

    on_a_page(tmp_path, "", course)
