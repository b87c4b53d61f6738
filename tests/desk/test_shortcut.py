"""What opens a desk at one click: the Desktop Entry Specification 1.5 on Linux, a shell script on macOS, a batch file
on Windows. Nothing is started here: the words are read back by the rules of each."""

import os
import shlex
import stat
import sys
from pathlib import Path

import pytest

from feedwright.compiler.scripts import Refusal
from feedwright.targets.command.cli import main
from feedwright.targets.desk.shortcut import entry, written

ODD = Path('/home/coach/My $cripts `x` 100% \\ it\'s "here"/tuesday.feed')


def read_exec(line: str) -> list[str]:
    """The arguments of an Exec line, by the rules of the specification: string value first, then quoting, then %."""
    value, words, word, i = line.replace("\\\\", "\\"), [], "", 0
    while i < len(value):
        assert value[i] == '"'
        i, word = i + 1, ""
        while value[i] != '"':
            if value[i] == "\\":
                i += 1
            word += value[i]
            i += 1
        words.append(word.replace("%%", "%"))
        i += 2
    return words


def test_a_desktop_entry_gives_back_its_words() -> None:
    made = entry("linux", "/usr/bin/python3", ODD)
    rows = dict(row.split("=", 1) for row in made.text.splitlines()[1:])
    assert made.name == "Desk tuesday.desktop" and made.text.startswith("[Desktop Entry]\n")
    assert read_exec(rows["Exec"]) == ["/usr/bin/python3", "-m", "feedwright", "desk", str(ODD)]
    assert (rows["Type"], rows["Terminal"]) == ("Application", "true")


def test_a_command_file_gives_back_its_words() -> None:
    made = entry("darwin", "/usr/bin/python3", ODD)
    assert made.name.endswith(".command")
    assert shlex.split(made.text.splitlines()[1])[1:] == ["/usr/bin/python3", "-m", "feedwright", "desk", str(ODD)]


def test_a_batch_file_takes_only_what_it_can_say() -> None:
    made = entry("win32", "C:\\Python\\python.exe", Path("My scripts/tuesday.feed"))
    assert made.name == "Desk tuesday.bat" and '"C:\\Python\\python.exe" "-m" "feedwright" "desk" "My' in made.text
    for path in (ODD, Path("100%/a.feed"), Path("a\nb/a.feed")):
        with pytest.raises(Refusal):
            entry("win32", "python", path)


def test_the_command_writes_one_that_may_be_started(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["desk", str(tmp_path / "a.feed"), "--shortcut", str(tmp_path)]) == 0
    (made,) = tmp_path.iterdir()
    assert made.stat().st_mode & stat.S_IXUSR and str(made) in capsys.readouterr().out
    assert sys.executable in made.read_text("utf-8") and str(tmp_path / "a.feed") in made.read_text("utf-8")
    assert main(["desk", str(tmp_path / "a.feed"), "--shortcut", str(tmp_path)]) == 2
    assert "already exists" in capsys.readouterr().err and os.listdir(tmp_path) == [made.name]
    with pytest.raises(Refusal):
        written(entry("linux", "python", ODD), tmp_path / "nowhere")
