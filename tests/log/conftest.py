"""The commands of the log in a folder of their own."""

import io
import sys
from pathlib import Path

import pytest

from feedwright.targets.command.cli import main
from feedwright.targets.document import render

from .plans import climbing

Ran = tuple[int, str, str]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, with the plan of a sheet; the log is practice.db in it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FEEDWRIGHT_DB", str(tmp_path / "practice.db"))
    monkeypatch.setenv("COLUMNS", "100")
    Path("mine.plan.json").write_bytes(render(climbing()))
    return tmp_path


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    def ran(*arguments: str | Path, typed: str = "", terminal: bool = False) -> Ran:
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        monkeypatch.setattr(sys.stdin, "isatty", lambda: terminal)
        code = main(["log", *map(str, arguments)])
        out, err = capfd.readouterr()
        return code, out, err

    return ran
