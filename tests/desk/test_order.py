"""In which order a page hears what its text comes to: sentences, then balls, and remedies only once it asks."""

import asyncio
import json
from pathlib import Path
from typing import Any

from websockets.asyncio.client import ClientConnection, connect

from ..shipped import FOLDER
from .served import Served, answer, served
from .test_killed import say

FIRST = (FOLDER / "02-first-script.feed").read_text("utf-8")
QUICK = FIRST.replace("interval  6 s", "interval  0.7 s")


async def heard(line: ClientConnection, version: int) -> list[set[str]]:
    """The codes of each publication of a version, until it is said that these are all."""
    found = []
    while True:
        message = json.loads(await asyncio.wait_for(line.recv(), 110))
        params = message.get("params") or {}
        if message.get("method") == "textDocument/publishDiagnostics" and params["version"] == version:
            found.append({one["code"] for one in params["diagnostics"]})
        if message.get("method") == "desk/judged" and params["version"] == version:
            return found


def test_sentences_are_told_before_balls_and_remedies_once_they_are_asked_for(tmp_path: Path) -> None:
    folder = tmp_path / "Zo\u00eb's practices"  # an address has to escape this
    folder.mkdir()
    (folder / "a.feed").write_text(QUICK, "utf-8")

    async def page(desk: Served) -> None:
        origin: Any = desk.origin
        async with connect(desk.socket, origin=origin) as line:
            await say(line, "initialize", {"capabilities": {}, "processId": None, "rootUri": None}, asks=True)
            await say(line, "initialized", {})
            uri = (await say(line, "desk/open", {}, asks=True))["uri"]
            document = {"uri": uri, "languageId": "feed", "version": 0, "text": QUICK}
            await say(line, "textDocument/didOpen", {"textDocument": document})
            (first,) = await heard(line, 0)
            assert "interval-short" in first and "unexpected-word" not in first
            # The slip is told at once, beside what was known of the balls; then all that holds of the new text.
            slip = {"text": QUICK.replace("surface   hard", "surfaze   hard")}
            await say(
                line, "textDocument/didChange", {"textDocument": {"uri": uri, "version": 1}, "contentChanges": [slip]}
            )
            at_once, *_, last = await heard(line, 1)
            assert {"unexpected-word", "interval-short"} <= at_once and "unexpected-word" in last
            # Of texts that follow each other faster than they can be worked out, the last one is worked out.
            for version in range(2, 8):
                text = {"text": QUICK.replace("1.2 m, falling", f"1.{version} m, falling")}
                about = {"uri": uri, "version": version}
                await say(line, "textDocument/didChange", {"textDocument": about, "contentChanges": [text]})
            assert "unexpected-word" not in (await heard(line, 7))[-1]
            whole = {"start": {"line": 0, "character": 0}, "end": {"line": 99, "character": 0}}
            asked = {"textDocument": {"uri": uri}, "range": whole, "context": {"diagnostics": []}}
            actions = await say(line, "textDocument/codeAction", asked, asks=True)
            assert any(action["title"].startswith("Write: interval") for action in actions)
            about = {"uri": uri, "version": 8}
            await say(line, "textDocument/didChange", {"textDocument": about, "contentChanges": [{"text": FIRST}]})
            await say(line, "desk/picture", {"ball": "high"}, asks=True)
            paper = await asyncio.to_thread(answer, desk, f"/{desk.word}/paper")
            assert paper[0] == 200 and b"page 2 of 2" in paper[1]
            head = paper[1].partition(b"\r\n\r\n")[0]
            assert b"default-src 'none'; style-src 'unsafe-inline';" in head and b"script-src" not in head

    with served(folder) as desk:
        asyncio.run(page(desk))
