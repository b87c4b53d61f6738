"""Whichever side dies, in the middle of a word: what was typed is there again, and the file is as it was."""

import asyncio
import json
import os
import signal
import subprocess
import sys
from itertools import count
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest
from websockets.asyncio.client import ClientConnection, connect

from feedwright.targets.desk.script_file import ScriptFile

from .served import served

TYPED = 'program "One"\n    court dou'
numbers = count(1)


async def say(line: ClientConnection, method: str, params: dict[str, Any], asks: bool = False) -> Any:
    """Sends a message, and gives what it is answered if it `asks`."""
    number = {"id": next(numbers)} if asks else {}
    await line.send(json.dumps({"jsonrpc": "2.0", **number, "method": method, "params": params}))
    while asks:
        answer = json.loads(await asyncio.wait_for(line.recv(), 60))
        if answer.get("id") == number["id"]:
            return answer["result"]


async def typing(line: ClientConnection) -> None:
    """A page that opens the script and types, one letter a message."""
    await say(line, "initialize", {"capabilities": {}, "processId": None, "rootUri": None}, asks=True)
    await say(line, "initialized", {})
    opened = await say(line, "desk/open", {}, asks=True)
    document = {"uri": opened["uri"], "languageId": "feed", "version": 0, "text": ""}
    await say(line, "textDocument/didOpen", {"textDocument": document})
    for version in range(1, len(TYPED) + 1):
        about = {"uri": opened["uri"], "version": version}
        await say(
            line, "textDocument/didChange", {"textDocument": about, "contentChanges": [{"text": TYPED[:version]}]}
        )
    await (await line.ping())  # the desk's side has all of it


def comes_back(folder: Path) -> bool:
    """The next desk finds the text; it may still be on its way to the disk."""
    end = monotonic() + 60
    while ScriptFile(folder, "a.feed").draft() != TYPED:
        assert monotonic() < end, ScriptFile(folder, "a.feed").draft()
        sleep(0.01)
    return (folder / "a.feed").read_text() == "# mine\n"


def test_a_page_that_dies_takes_nothing_with_it(tmp_path: Path) -> None:
    (tmp_path / "a.feed").write_text("# mine\n")

    async def page(address: str, origin: Any) -> None:
        async with connect(address, origin=origin) as line:
            await typing(line)
            line.transport.abort()

    with served(tmp_path) as desk:
        asyncio.run(page(desk.socket, desk.origin))
        assert comes_back(tmp_path)
    assert comes_back(tmp_path)


@pytest.mark.skipif(os.name == "nt", reason="no SIGKILL on Windows")
def test_a_desk_that_is_killed_takes_nothing_with_it(tmp_path: Path) -> None:
    (tmp_path / "a.feed").write_text("# mine\n")
    command = [sys.executable, "-m", "feedwright.targets.command.cli", "desk", "a.feed", "--no-browser"]
    process = subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout
        address = process.stdout.readline().split()[-1]

        async def page() -> None:
            origin: Any = address.rsplit("/", 2)[0]
            async with connect(address.replace("http", "ws") + "socket", origin=origin) as line:
                await typing(line)
                async with asyncio.timeout(60):
                    while ScriptFile(tmp_path, "a.feed").draft() != TYPED:  # it was typed, and nothing else was done
                        await asyncio.sleep(0.01)
                process.send_signal(signal.SIGKILL)

        asyncio.run(page())
    finally:
        process.kill()
        process.communicate()
    assert comes_back(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == [".a.feed.draft", "a.feed"]  # no half-written file
