"""Killed again and again, and continued each time, in a time of the test's own: one run, one practice, each ball once.

Each start is a child that plays the real command on the machine in this program and dies without a word.
"""

import gc
import io
import os
import re
import sqlite3
import sys
import time
from collections.abc import Iterator
from contextlib import closing, redirect_stderr, redirect_stdout
from pathlib import Path
from types import SimpleNamespace

import pytest

from feedwright.targets.command.cli import main
from feedwright.targets.machine.replay import loop, playing, stand_in
from feedwright.targets.machine.replay.journal import past

from ..whole import WHOLE
from .test_records_rig import rows

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a child of its own")

LADDER = """program "Fenmoor steps"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine club, on centre, on baseline, behind a screen
variation rally "deep"
    reply     deep, at least 1 m over net
    goal      3 in a row
feed steady aims rally
    side      middle
    depth     1 to 5 m inside baseline
    stance    2.5 m behind baseline
    spin      flat
    height    waist, falling
    interval  6 s
session "Steps"
    4 balls   steady
    ladder steady, up to 40 balls, pace 62, 64, 66, 68 km/h
        up        3 in a row
        down      2 misses in 4
"""


class Hands:
    """Arms, marks each ball that has gone, and then the power fails."""

    gone = False

    def __init__(self, screen: io.StringIO, marks: str, dies: bool) -> None:
        self.screen, self.now, self._marks, self._dies = screen, 100.0, marks, dies
        self._keys = self._course()

    def __enter__(self) -> "Hands":
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def forget(self) -> None:
        pass

    def read(self, wait: float) -> list[str]:
        self.now += wait
        time.sleep(wait / 10)  # disk and screen have threads, and a time, of their own
        return next(self._keys, [])

    def _until(self, sign: str, then_s: float = 0.5) -> Iterator[list[str]]:
        start, seen = self.screen.tell(), None
        while seen is None or self.now - seen < then_s:
            if seen is None and re.search(sign, self.screen.getvalue()[start:]):
                seen = self.now
            yield []

    def _course(self) -> Iterator[list[str]]:
        yield from self._until("a  arm")
        yield ["a"]
        yield from self._until("To arm, type")
        signs = re.findall(r"To arm, type without spaces   (\S)(\S)(\S)(\S)\n", self.screen.getvalue())[-1]
        yield [*(sign.lower() for sign in signs), "enter"]
        for mark in self._marks:
            yield from self._until(r"\d balls? thrown")
            yield [mark]
        yield from self._until(r"\d (hits?|miss|misses)\n")
        if self._dies:
            os._exit(9)
        yield ["space"]


def sat(folder: Path, marks: str, dies: bool, *more: str) -> str:
    """What the screen showed; nothing of a start that died."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            gc.freeze()  # the program's own collection need not look through what the tests have loaded
            screen = io.StringIO()
            hands = Hands(screen, marks, dies)
            playing.keyboard = lambda: hands
            sys.stdin = SimpleNamespace(isatty=lambda: True, fileno=lambda: 0)  # type: ignore[assignment]
            os.isatty = lambda _: True
            loop.clock = lambda: hands.now
            stand_in.time = SimpleNamespace(monotonic=lambda: hands.now)  # type: ignore[assignment]
            with redirect_stdout(screen), redirect_stderr(screen):
                main(["replay", str(folder / "steps.plan.json"), "--port", "simulated", "--plain", "--walk-time", "3",
                      "--records", str(folder / "rec"), "--db", str(folder / "p.db"), *more])  # fmt: skip
            os.write(writing, screen.getvalue().encode())
        finally:
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as stream:
        text = stream.read().decode()
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == (9 if dies else 0), text
    return text


# By hand: balls 1 to 4 are no ladder, which begins on 62 km/h. Then h h h: up to 64; m m: down to 62. Or further, after
# m m: 3 hits: 64; 3: 66; 3: 68; h h; m.
COURSE = ("hhhhhhhmmhhhhhhhhhhh", "68 km/h", "68 km/h") if WHOLE else ("hhhhhhhm", "62 km/h", "64 km/h")
"""What the starts that are killed mark, and one that is not marks a miss; where the ladder then stands, and the rung of
its last ball."""


def test_many_kills_make_one_run_and_one_practice(tmp_path: Path) -> None:
    (tmp_path / "steps.feed").write_text(LADDER)
    with redirect_stdout(io.StringIO()) as said:
        assert main(["build", str(tmp_path / "steps.feed"), "-o", str(tmp_path)]) == 0, said.getvalue()
    marks, stands, last = COURSE
    kills = len(marks)
    for number in range(kills):
        sat(tmp_path, marks[number], True, *(["--continue"] if number else []))
    text = sat(tmp_path, "m", False, "--continue")
    (record,) = (tmp_path / "rec" / "rehearsals").glob("*.jsonl")
    run = past(record)
    assert run is not None
    log = rows(tmp_path / "p.rehearsals.db")
    assert len({practice for practice, _, _ in log}) == 1
    gone = [ball for ball in run.balls if ball.fate == "gone"]
    assert len(log) == len(gone) >= kills + 1 and [ball for _, ball, _ in log] == list(range(1, len(log) + 1))
    assert [ball.ball for ball in run.balls] == list(range(1, len(run.balls) + 1))  # none twice, none left out
    judged = [{"hit": "h", "miss": "m"}[verdict] for _, _, verdict in log if verdict != "not judged"]
    assert "".join(judged) == marks + "m"
    hits, misses = marks.count("h"), marks.count("m") + 1
    assert re.search(rf"In this run: \d+ balls thrown, {hits} hits, {misses} misses", text), text
    assert f"The ladder of steady in pace stands on {stands}." in text
    with closing(sqlite3.connect(tmp_path / "p.rehearsals.db")) as database:
        labels = [label for (label,) in database.execute("SELECT label FROM log WHERE label IS NOT NULL ORDER BY ball")]
    assert labels[0] == "62 km/h" and labels[-1] == last
