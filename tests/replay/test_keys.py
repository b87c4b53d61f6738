"""Keys by name, from a terminal and from a console without termios."""

import ast
import importlib
import sys
from collections import deque
from pathlib import Path
from types import ModuleType

import pytest

from feedwright.targets.machine import replay
from feedwright.targets.machine.replay import keys
from feedwright.targets.machine.replay.keyboard import NoKeyboard, keyboard
from feedwright.targets.machine.replay.keys import split

HERE = Path(replay.__file__).parent
OWN = ("loop", "writer", "display", "screen", "layout", "picture", "brake", "bells", "keys", "keyboard", "figures")
ABSENT = ("termios", "tty", "fcntl", "pty", "resource", "grp")
"""What the standard library has on POSIX systems only."""


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> deque[str]:
    """A console of which msvcrt is all there is: a stand-in with the two functions that are used."""
    signs: deque[str] = deque()
    stand_in = ModuleType("msvcrt")
    stand_in.kbhit = lambda: bool(signs)  # type: ignore[attr-defined]
    stand_in.getwch = signs.popleft  # type: ignore[attr-defined]
    for name in ABSENT:
        monkeypatch.setitem(sys.modules, name, None)
    monkeypatch.setitem(sys.modules, "msvcrt", stand_in)
    for name in ("terminal_keys", "console_keys"):
        monkeypatch.delitem(sys.modules, f"{replay.__name__}.{name}", raising=False)
        monkeypatch.delattr(replay, name, raising=False)
    return signs


def test_without_termios_keys_are_read_from_the_console(typed: deque[str]) -> None:
    with keyboard() as board:
        assert type(board).__name__ == "ConsoleKeys" and not board.gone
        assert board.read(0.0) == []
        typed.extend("A \r\x1b\x03\x08\xe0Q\x00I\xe0H\xe0z\u00e4")
        assert board.read(0.0) == ["a", "space", "enter", "escape", "escape", "backspace", "page down", "page up", "up",
                                   "escape", "?"]  # fmt: skip
        typed.extend("hh")
        board.forget()
        assert board.read(0.0) == []


def test_a_flood_of_keys_is_read_in_parts(typed: deque[str]) -> None:
    typed.extend("h" * 1000)
    with keyboard() as board:
        assert 0 < len(board.read(0.0)) <= 64 and typed


def test_where_no_key_can_be_read_nothing_is_played(typed: deque[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "msvcrt", None)
    with pytest.raises(NoKeyboard, match="no way to read keys"):
        keyboard()


@pytest.mark.parametrize(
    "name", ["loop", "writer", "display", "screen", "layout", "picture", "brake", "bells", "keys", "keyboard"]
)
def test_the_loop_is_imported_without_what_only_posix_has(name: str) -> None:
    tree = ast.parse((HERE / f"{name}.py").read_text("utf-8"))
    top = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
    loaded = {alias.name for node in top if isinstance(node, ast.Import) for alias in node.names}
    loaded |= {node.module or "" for node in top if isinstance(node, ast.ImportFrom)}
    assert not loaded & {*ABSENT, "terminal_keys"}
    importlib.import_module(f"{replay.__name__}.{name}")


def test_a_clicker_on_a_terminal_in_either_of_its_modes() -> None:
    assert split(b"\x1b[5~\x1b[6~\x1b[15~.b") == ["page up", "page down", "f5", ".", "b"]
    assert split(b"\x1bOC\x1b[C") == ["right", "right"]
    assert set(split(b"\x1b[5~\x1b[6~\x1b[15~.b\x1b[A\x1b[B\x1b[C\x1b[D\t")) == keys.CLICKER


def test_a_sequence_that_is_not_known_is_stop() -> None:
    assert split(b"\x1b[99~abc") == ["escape"] and split(b"\x03") == ["escape"]
