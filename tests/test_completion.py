"""Completion, in the shells themselves."""

import shutil
import subprocess
from functools import cache
from pathlib import Path

import pytest

from feedwright.compiler.findings import MESSAGES
from feedwright.targets.command.cli import _parser

from .test_command_line import run

COMMANDS = set(_parser()._subparsers._group_actions[0].choices)  # type: ignore[union-attr, arg-type]


@cache
def script(shell: str) -> str:
    done = run("completion", shell)
    assert done.returncode == 0 and done.stderr == ""
    return done.stdout


def bash(words: list[str], folder: Path) -> set[str]:
    listed = " ".join(f"'{word}'" for word in words)
    return _answers("bash", ["--norc", "-c"], f"""
{script("bash")}
COMP_WORDS=({listed}); COMP_CWORD={len(words) - 1}
_feedwright
printf '%s\\n' "${{COMPREPLY[@]}}"
""", folder)  # fmt: skip


def zsh(words: list[str], folder: Path) -> set[str]:
    """In the place of zsh's own compadd and _files, which work inside its line editor only, functions that print."""
    listed = " ".join(f"'{word}'" for word in words)
    return _answers("zsh", ["-f", "-c"], f"""
compdef() {{ : }}
compadd() {{ shift; print -l -- ${{(M)@:#${{words[CURRENT]}}*}} }}
_files() {{ if [[ $1 == -g ]]; then print -l -- ${{~2}}(N); elif [[ $1 == -/ ]]; then print -l -- *(N/:t); fi }}
{script("zsh")}
run() {{ local words=({listed}) CURRENT={len(words)}; _feedwright }}
run
""", folder)  # fmt: skip


def fish(words: list[str], folder: Path) -> set[str]:
    lines = _answers("fish", ["--no-config", "-c"], f"""
{script("fish")}
complete -C "{" ".join(words)}"
""", folder)  # fmt: skip
    return {line.partition("\t")[0] for line in lines}


def _answers(shell: str, flags: list[str], text: str, folder: Path) -> set[str]:
    if not shutil.which(shell):
        pytest.skip(f"{shell} is not installed here")
    done = subprocess.run([shell, *flags, text], capture_output=True, text=True, cwd=folder, timeout=30, check=False)
    assert done.stderr == ""
    return {line.strip() for line in done.stdout.splitlines() if line.strip()}


SHELLS = pytest.mark.parametrize("complete", [bash, zsh, fish], ids=lambda function: function.__name__)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("mine.feed", "other.feed", "notes.txt"):
        (tmp_path / name).write_text("")
    (tmp_path / "out").mkdir()
    return tmp_path


@SHELLS
def test_commands(complete, folder: Path) -> None:  # type: ignore[no-untyped-def]
    assert complete(["feedwright", ""], folder) >= COMMANDS
    assert complete(["feedwright", "che"], folder) == {"check"}


@SHELLS
def test_scripts(complete, folder: Path) -> None:  # type: ignore[no-untyped-def]
    for command in ("check", "build", "format"):
        found = complete(["feedwright", command, ""], folder)
        assert {"mine.feed", "other.feed"} <= found and "notes.txt" not in found


@SHELLS
def test_options(complete, folder: Path) -> None:  # type: ignore[no-untyped-def]
    assert {"--json", "--sarif", "--short", "--set", "--color"} <= complete(["feedwright", "check", "--"], folder)
    assert complete(["feedwright", "check", "--js"], folder) == {"--json"}
    assert complete(["feedwright", "check", "--color", "a"], folder) == {"always", "auto"}


@SHELLS
def test_codes_profiles_and_programs(complete, folder: Path) -> None:  # type: ignore[no-untyped-def]
    assert complete(["feedwright", "why", ""], folder) >= set(MESSAGES)
    assert complete(["feedwright", "why", "net"], folder) == {"net-hit", "net-often"}
    assert complete(["feedwright", "new", "--feeder", ""], folder) == {"academy", "basket", "club", "dials", "racket"}
    assert "01-after-the-serve" in complete(["feedwright", "new", "--from", ""], folder)
    assert {"01-after-the-serve", "answering"} <= complete(["feedwright", "list", ""], folder)
    assert complete(["feedwright", "completion", "z"], folder) == {"zsh"}


@SHELLS
def test_folders_for_output(complete, folder: Path) -> None:  # type: ignore[no-untyped-def]
    found = {name.rstrip("/") for name in complete(["feedwright", "build", "mine.feed", "-o", "o"], folder)}
    assert "out" in found and "other.feed" not in found


def test_a_script_for_each_shell_is_printed_whatever_is_installed() -> None:
    for shell in ("bash", "zsh", "fish"):
        assert all(name in script(shell) for name in COMMANDS)
