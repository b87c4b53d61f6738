"""What starts a desk at one click, for people without a terminal: an entry for the desktop of each system."""

import shlex
from pathlib import Path
from typing import NamedTuple

from ...compiler.scripts import Refusal


class DesktopEntry(NamedTuple):
    """A file, by its name in a folder, that the system starts on a click."""

    name: str
    text: str


def entry(system: str, python: str, script: Path) -> DesktopEntry:
    """For `sys.platform`, with the Python that has Feedwright installed and the script that the desk opens. Refusal if
    a path holds what the system's file cannot say."""
    if any(sign in f"{python}{script}" for sign in "\n\r\0"):
        raise Refusal("the folder's name holds a line break, which no shortcut can say")
    name = f"Desk {script.stem}"
    words = [python, "-m", "feedwright", "desk", str(script)]
    if system == "win32":
        if any(sign in f"{python}{script}" for sign in '%"'):
            raise Refusal("the folder's name holds % or \", which a .bat file reads as something else")
        quoted = " ".join(f'"{word}"' for word in words)
        return DesktopEntry(f"{name}.bat", f"@echo off\r\nchcp 65001 >nul\r\n{quoted}\r\nif errorlevel 1 pause\r\n")
    if system == "darwin":
        return DesktopEntry(f"{name}.command", f"#!/bin/sh\nexec {shlex.join(words)}\n")
    # Desktop Entry Specification 1.5: a quoted argument, in a string value, where % is written twice.
    quoted = " ".join(_argument(word) for word in words)
    return DesktopEntry(f"{name}.desktop", "[Desktop Entry]\nType=Application\nVersion=1.5\n"
                 f"Name={_value(name)}\nExec={quoted}\nTerminal=true\n")  # fmt: skip


def _argument(word: str) -> str:
    """Quoted as "The Exec key" says: first within double quotes, then as a string value."""
    inside = "".join(f"\\{sign}" if sign in '"`$\\' else sign for sign in word)
    return _value(f'"{inside}"'.replace("%", "%%"))


def _value(text: str) -> str:
    return text.replace("\\", "\\\\")


def written(made: DesktopEntry, folder: Path) -> Path:
    """Writes the entry, ready to be started; Refusal if there is one already."""
    path = folder / made.name
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(made.text)
        path.chmod(0o755)
    except FileExistsError as error:
        raise Refusal(f"{path} already exists and stays unchanged") from error
    except OSError as error:
        raise Refusal(f"cannot write {path}: {error.strerror or error}") from error
    return path
