"""Scores in the log: from the balls of a replay, from a CSV, and typed from a sheet."""

from contextlib import closing
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets.log import LogRefused
from feedwright.targets.log.exchange import merge
from feedwright.targets.log.figures import Scope, figures
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.log.typed import asked, counts, identity, read_csv

from ..test_points import plan_of
from ..test_scores import LIVES, session
from .plans import START, at

LETTERS = {"h": Verdict.HIT, "m": Verdict.MISS, "-": Verdict.NOT_JUDGED}
ROUNDS = "2 rounds", "    score miss -1", "    goal score 3", "    3 balls easy", "    rest 10 s"
ANEW = "2 rounds", "    3 balls easy", "        score miss -1", "    rest 10 s"


def told(path: Path) -> list[str]:
    with closing(open_to_read(path)) as database:
        return [str(one) for one in figures(database, Scope()).scores]


def played(plan: Plan, path: Path, marks: str, uid: str = "ab" * 16) -> None:
    with Recorder(plan, path) as log:
        log.begin(uid)
        for n, (launch, mark) in enumerate(zip(plan.launches, marks, strict=False), start=1):
            log.ball(launch.block, launch.first, None, at(n), LETTERS[mark], n)


@pytest.mark.parametrize(
    ("lines", "marks", "said"),
    [
        ((LIVES.strip().replace("\n    ", "\n"),), "mhhhmm",
         ["Block 1, score 3 in 1 practice; until 0 reached in 0"]),
        (("9 balls easy, until score 2 or -2", "    score miss -1"), "hhm",
         ["Block 1, score 2 in 1 practice; until 2 or -2 reached in 1"]),
        (ROUNDS, "hhmh-h", ["Block 1, score 3 in 1 practice; goal 3 or more reached in 1"]),
        (ANEW, "hhmh-m", ["Block 1, score 1, 0 in 2 practices"]),
        (("4 points both", "    score both 2, miss -1", "    goal score 8"), "hhhm--hh",
         ["Block 1, score 3 in 1 practice; goal 8 or more reached in 0"]),
        (ROUNDS, "----", []),
    ],
)  # fmt: skip
def test_the_balls_of_a_replay_give_it(tmp_path: Path, lines: tuple[str, ...], marks: str, said: list[str]) -> None:
    plan = plan_of(session(*"\n".join(lines).split("\n")))
    played(plan, tmp_path / "p.db", marks)
    assert told(tmp_path / "p.db") == said


def test_a_changed_mark_changes_it(tmp_path: Path) -> None:
    plan, path = plan_of(session(*ROUNDS)), tmp_path / "p.db"
    with Recorder(plan, path) as log:
        first = log.ball(0, "easy", None, at(1), Verdict.NOT_JUDGED, 1)
        log.judge(first, Verdict.HIT)
    assert told(path) == ["Block 1, score 1 in 1 practice; goal 3 or more reached in 0"]


def typed(plan: Plan, path: Path, *answers: str) -> list[str]:
    """The questions for a score; the answers are given to them in turn."""
    given, questions = iter(answers), list[str]()

    def answer(question: str) -> str:
        if "score" not in question:
            return ""
        questions.append(question)
        return next(given)

    made = asked(plan, answer, None, START)
    with Recorder(plan, path) as log:
        uid = identity(plan, counts(made), "")
        assert log.sheet(made.balls, made.best, uid, START, made.in_order, made.points, made.scores)
    return questions


def test_the_paper_asks_for_it_once_or_for_each_round(tmp_path: Path) -> None:
    path = tmp_path / "p.db"
    assert typed(plan_of(session(*ROUNDS)), path, "4") == ["Block 1, score at the end:"]
    assert told(path) == ["Block 1, score 4 in 1 practice; goal 3 or more reached in 1"]
    anew = plan_of(session(*ANEW))
    assert typed(anew, tmp_path / "q.db", "-2", "") == [
        "Block 1, round 1, score at the end:", "Block 1, round 2, score at the end:",
    ]  # fmt: skip
    assert told(tmp_path / "q.db") == ["Block 1, score -2 in 1 practice"]


@pytest.mark.parametrize(("answer", "why"), [("7", "it is -6 to 6"), ("-7", "it is -6 to 6"), ("three", "no score")])
def test_a_score_that_no_marks_lead_to_is_refused(tmp_path: Path, answer: str, why: str) -> None:
    with pytest.raises(LogRefused, match=why):
        typed(plan_of(session(*ROUNDS)), tmp_path / "p.db", answer)


def test_a_csv_has_rows_for_it(tmp_path: Path) -> None:
    plan = plan_of(session(*ROUNDS))
    made = read_csv(b"block,hits,misses,score\n1,5,1,\n1,,,4\n", plan, START)
    assert len(made.balls) == 6 and [(one.block, one.score) for one in made.scores] == [(0, 4)]
    assert read_csv(b"block;score\n1;-2\n", plan, START).scores[0].score == -2
    with pytest.raises(LogRefused, match="block 1 has 2 scores, and a row counts one"):
        read_csv(b"block,score\n1,2\n", plan_of(session(*ANEW)), START)
    balls = read_csv(b"block,verdict\n" + b"1,hit\n" * 4 + b"1,miss\n", plan, START)
    with Recorder(plan, tmp_path / "p.db") as log:
        log.sheet(balls.balls, balls.best, "cd" * 16, START, balls.in_order, balls.points, balls.scores)
    assert told(tmp_path / "p.db") == ["Block 1, score 3 in 1 practice; goal 3 or more reached in 1"]


def test_of_two_logs_the_score_counts_that_more_marks_moved(tmp_path: Path) -> None:
    plan, ours, theirs = plan_of(session(*ROUNDS)), tmp_path / "ours.db", tmp_path / "theirs.db"
    played(plan, ours, "h----")
    played(plan, theirs, "hhhh-")
    played(plan, theirs, "mm", "cd" * 16)
    merge(ours, theirs)
    assert told(ours) == ["Block 1, score 4, -2 in 2 practices; goal 3 or more reached in 1"]
    merge(theirs, ours)
    assert told(theirs) == told(ours)
