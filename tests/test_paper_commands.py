"""`sheet`, `cues` and `show` as their users meet them."""

import os
import re
import signal
import subprocess
import sys
import urllib.request
import wave
from pathlib import Path

import pytest

from feedwright.grammar.frozen import replace
from feedwright.targets import TARGETS
from feedwright.targets.command.cli import main

from .test_command_line import run

ROOT = Path(__file__).parent.parent
HAND = ROOT / "programs" / "03-basket-feet.feed"
RACKET = ROOT / "programs" / "04-racket-volleys.feed"


def test_a_sheet_from_a_script_and_from_its_plan_is_the_same(tmp_path: Path) -> None:
    pytest.importorskip("typst", reason="the extra pdf is not installed")
    assert run("sheet", HAND, "-o", tmp_path / "a").returncode == 0
    assert run("build", HAND, "-o", tmp_path).returncode == 0
    assert run("sheet", tmp_path / f"{HAND.stem}.plan.json", "-o", tmp_path / "b").returncode == 0
    for suffix in ("sheet.pdf", "sheet.html"):
        one, other = (tmp_path / folder / f"{HAND.stem}.{suffix}" for folder in ("a", "b"))
        assert one.read_bytes() == other.read_bytes()
    assert one.read_bytes() == (tmp_path / f"{HAND.stem}.sheet.html").read_bytes()  # build writes it too
    assert (tmp_path / "a" / f"{HAND.stem}.sheet.pdf").read_bytes().startswith(b"%PDF-")


def test_without_the_typesetter_the_html_is_written_and_the_way_to_a_pdf_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    done = run("sheet", HAND, "-o", tmp_path)
    assert done.returncode == 0 and "feedwright[pdf]" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == [f"{HAND.stem}.sheet.html"]


def test_the_partner_form_leaves_the_sheet_of_the_same_script_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)  # the names are the same in both forms; HTML is enough
    both = ROOT / "programs" / "27-partner-practice.feed"
    assert [main(["sheet", str(both), "-o", str(tmp_path), *more]) for more in ([], ["--partner"])] == [0, 0]
    assert {path.name for path in tmp_path.iterdir()} == {f"{both.stem}.sheet.html", f"{both.stem}.partner.html"}


LINES = (
    ["build"], ["sheet"], ["sheet", "--partner"], ["sheet", "--phone"], ["cues"], ["show", "--html"], ["show", "--svg"],
)  # fmt: skip
"""What has to be called for every target to be written."""


def test_every_target_is_written_by_a_command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Under the name that the table gives it; what is in the files is no part of this."""
    for name, target in TARGETS.items():
        monkeypatch.setitem(TARGETS, name, replace(target, render=lambda plan, **chosen: b""))
    machine, both = (ROOT / "programs" / f"{name}.feed" for name in ("02-first-script", "27-partner-practice"))
    for command, *options in LINES:
        script = both if "--partner" in options else machine
        assert main([command, str(script), *options, "-o", str(tmp_path)]) == 0, (command, options)
    written = {path.name.partition(".")[2] for path in tmp_path.iterdir()}
    assert written == {target.suffix for target in TARGETS.values()}, "compare with LINES"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["sheet", HAND, "--partner"], "from the player's own side"),
        (["sheet", HAND, "--date", "31.5."], "2026-05-31"),
        (["sheet", HAND, "--paper", "a5"], "a5"),
        (["sheet", HAND, "--phone", "--large"], "--phone and --court take no --large"),
        (["sheet", HAND, "--phone", "--partner"], "exclude each other"),
        (["show", HAND, "--feed", "lob"], "A near, B wide, C across, D short"),
        (["show", "-", "--watch"], "standard input"),
        (["show", "missing.feed", "--watch"], "cannot read"),
        (["show", HAND, "--watch", "--port", "99999"], "cannot serve"),
        (["cues", "missing.plan.json"], "cannot read"),
        (["sheet", ROOT / "pyproject.toml"], ""),
    ],
)
def test_what_cannot_be_done_is_told_in_one_sentence(words: list[str | Path], said: str, tmp_path: Path) -> None:
    done = run(*words, cwd=tmp_path)
    assert done.returncode in (1, 2) and said in done.stderr and "Traceback" not in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_plan_that_was_changed_by_hand_is_refused(tmp_path: Path) -> None:
    assert run("build", RACKET, "-o", tmp_path).returncode == 0
    plan = tmp_path / f"{RACKET.stem}.plan.json"
    plan.write_text(plan.read_text("utf-8").replace('"balls": 153', '"balls": 154'), "utf-8")
    for command in ("sheet", "cues", "show"):
        done = run(command, plan, "-o", tmp_path / "out")
        assert done.returncode == 2 and "changed after it was checked" in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_script_with_errors_gives_neither_sheet_nor_cues_nor_picture(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_text(HAND.read_text("utf-8").replace("1.3 s to contact", "1.3 m to contact"))
    for command in ("sheet", "cues", "show"):
        done = run(command, script, "-o", tmp_path / "out")
        assert done.returncode == 1 and "error" in done.stderr and done.stdout == ""
    assert not (tmp_path / "out").exists()


def test_cues_last_as_long_as_the_session(tmp_path: Path) -> None:
    assert run("cues", RACKET, "-o", tmp_path).returncode == 0
    with wave.open(str(tmp_path / f"{RACKET.stem}.cues.wav")) as file:
        seconds = file.getnframes() / file.getframerate()
    assert 4 + 13 * 60 + 32 <= seconds <= 4 + 13 * 60 + 32 + 4  # lead, session of 13:32, last sound


def test_without_a_speaker_the_voice_is_refused_and_nothing_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PATH", "")
    assert main(["cues", str(HAND), "--voice", "-o", str(tmp_path / "out")]) == 2
    assert "feedwright: --voice needs espeak-ng" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_show_draws_and_show_html_writes_a_page(tmp_path: Path) -> None:
    done = run("show", RACKET, "--feed", "passing")
    assert done.returncode == 0 and "D passing from the side" in done.stdout and done.stderr == ""
    assert run("show", RACKET, "--html", "-o", tmp_path).returncode == 0
    page = (tmp_path / f"{RACKET.stem}.picture.html").read_text("utf-8")
    assert page.startswith("<!DOCTYPE html>") and "At the net" in page
    assert run("show", RACKET, "--svg", "--feed", "passing", "-o", tmp_path).returncode == 0
    assert "D passing" in (tmp_path / f"{RACKET.stem}.picture.svg").read_text("utf-8")


@pytest.mark.skipif(os.name != "posix", reason="interrupts by signal")
def test_watch_serves_on_loopback_and_ends_on_interrupt(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_bytes(RACKET.read_bytes())
    command = [sys.executable, "-m", "feedwright.targets.command.cli", "show", str(script), "--watch"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as served:
        try:
            assert served.stdout is not None
            address = re.match(r"http://127\.0\.0\.1:\d+/", served.stdout.readline())
            assert address is not None
            with urllib.request.urlopen(address[0], timeout=10) as answer:
                assert b"At the net" in answer.read()
            served.send_signal(signal.SIGINT)
            assert served.wait(30) == 130
        finally:
            if served.poll() is None:
                served.kill()
