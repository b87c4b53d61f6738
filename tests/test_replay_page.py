"""The run of REPLAY.md, played by the command itself in a time of the test's own: it shows what stands there."""

import io
import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import nullcontext, redirect_stderr, redirect_stdout
from pathlib import Path
from types import SimpleNamespace

import pytest

from feedwright.targets.command.cli import main
from feedwright.targets.machine.replay import loop, picture, playing, stand_in
from feedwright.targets.machine.replay.screen import LiveScreen

PAGE = (Path(__file__).parent.parent / "targets" / "machine" / "replay" / "REPLAY.md").read_text("utf-8")
SHOWN = re.findall(r"^```text\n(.*?)^```$", PAGE, re.S | re.M)
LINE = next(line for line in re.findall(r"^feedwright (replay .*)$", PAGE, re.M) if "--port simulated" in line)


class Player:
    """The keys the page tells of, each a moment after the screen asks for it. Looking at the keyboard takes time."""

    gone = False

    def __init__(self, screen: io.StringIO, more: bool) -> None:
        self.screen, self.now, self._keys = screen, 100.0, self._leaves() if more else self._course()

    def read(self, wait: float) -> list[str]:
        self.now += wait
        return next(self._keys, [])

    def forget(self) -> None:
        pass

    def __enter__(self) -> "Player":
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def _until(self, sign: str, then_s: float) -> Iterator[list[str]]:
        start, seen = self.screen.tell(), None
        while seen is None or self.now - seen < then_s:
            if seen is None and sign in self.screen.getvalue()[start:]:
                seen = self.now
            yield []

    def _course(self) -> Iterator[list[str]]:
        yield from self._until("a  arm", 1.0)
        yield ["a"]
        yield from self._until("To arm, type", 1.0)
        signs = re.findall(r"To arm, type without spaces   (\S)(\S)(\S)(\S)\n", self.screen.getvalue())[-1]
        yield [*(sign.lower() for sign in signs), "enter"]
        yield from self._until("1 ball thrown", 1.0)
        yield ["m"]
        yield from self._until("1 miss", 1.0)
        yield ["p"]
        yield from self._until("Paused", 1.0)
        yield ["space"]

    def _leaves(self) -> Iterator[list[str]]:
        yield from self._until("a  arm", 1.0)
        yield ["space"]


class AtOnce:
    """In the test's own time nothing may take time of its own: what threads do elsewhere is done when it is asked."""

    gone, fault = False, None

    def __init__(self, for_whom: "LiveScreen | str") -> None:
        self._for = for_whom

    def __getattr__(self, name: str) -> object:
        return getattr(self._for, name)

    def hand(self, task: Callable[[], None]) -> None:
        task()

    def close(self, within_s: float) -> bool:
        return True


def sat(monkeypatch: pytest.MonkeyPatch, *more: str) -> tuple[int, str]:
    screen = io.StringIO()
    player = Player(screen, bool(more))
    monkeypatch.setattr(playing, "keyboard", lambda: player)
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(isatty=lambda: True, fileno=lambda: 0))
    monkeypatch.setattr(os, "isatty", lambda _: True)
    monkeypatch.setattr(loop, "Display", AtOnce)
    monkeypatch.setattr(loop, "_still", nullcontext)  # collects all that the tests have loaded
    monkeypatch.setattr(playing, "Writer", AtOnce)
    monkeypatch.setattr(loop, "clock", lambda: player.now)
    monkeypatch.setattr(stand_in, "time", SimpleNamespace(monotonic=lambda: player.now))
    with redirect_stdout(screen), redirect_stderr(screen):
        code = main([*LINE.split(), "--records", "records", *more])
    return code, screen.getvalue()


def test_a_first_run_shows_what_the_page_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FEEDWRIGHT_DB", str(tmp_path / "practice.db"))
    with redirect_stdout(io.StringIO()):
        assert main(["new", "mine.feed", "--from", "02-first-script"]) == 0
        assert main(["build", "mine.feed", "-o", "out"]) == 0
    code, screen = sat(monkeypatch)
    assert code == 0
    place = 0
    for text in SHOWN:
        place = screen.find(text, place)
        assert place >= 0, f"{text}\n----\n{screen}"
        place += len(text)
    code, screen = sat(monkeypatch, "--continue")
    assert code == 0 and "It goes on from ball 2." in screen and "`It goes on from ball 2.`" in PAGE


def test_every_key_that_the_screen_offers_is_in_the_table() -> None:
    offered = {key.split("  ")[0] for keys in picture.KEYS_SHOWN.values() for key in keys}
    table = PAGE[PAGE.index("| key | does |") : PAGE.index("| exit code")]
    for key in offered - {"type the four-character code, then ENTER"}:
        assert re.search(rf"^\| (?:[^|]*, )?{key}(?:,[^|]*)? \|", table, re.M), key
