"""Records of runs: what is read back, what can go on, where it stands; and that no damage stops a start."""

import errno
import json
import os
import shlex
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import GoalRecord, ReplyRecord
from feedwright.targets.command.cli import main
from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.replay import command
from feedwright.targets.machine.replay.afterwards import afterwards, next_steps
from feedwright.targets.machine.replay.continuing import chosen, counts, going, listed, standings, told, unfinished
from feedwright.targets.machine.replay.journal import TEST_BALLS, Journal, Past, past, records, unwritable
from feedwright.targets.machine.replay.places import Ladders, first_balls, places, shelf
from feedwright.targets.machine.replay.request import Request, RequestRefused, storage

from ..log.plans import LADDER, RUNGS, climbing
from .club import built

FP = "00" * 8


def nobody(question: str) -> str:
    raise AssertionError("nobody is to be asked")


def played(
    folder: Path, word: str, balls: int, last: int = 9, title: str = "t", shots: tuple[str, ...] = ("steady",),
    marks: str = "", **about: object,
) -> Path:  # fmt: skip
    """A record of balls that have gone; `marks` has h, m or a blank for each."""
    journal = Journal(folder, FP, word * 8, about)
    journal.begin({"run": word * 8, "first": 1, "last": last, "title": title})
    for ball in range(1, balls + 1):
        journal.sent(ball, shots[min(ball, len(shots)) - 1])
        journal.fate(ball, "gone")
        if marks[ball - 1 : ball].strip():
            journal.mark(ball, marks[ball - 1] == "h")
    journal.close()
    return journal.path


def test_first_balls_are_the_first_three_balls_of_the_program() -> None:
    plan, feeder = built()
    assert first_balls(plan, feeder) == places(plan, feeder=feeder)[:3]
    short = plan.model_copy(update={"launches": plan.launches[:2]})
    assert [p.number for p in first_balls(short)] == [1, 2]
    # Two balls of one kind, then two of another: the third test ball is the other, as it will be thrown.
    mixed = plan.model_copy(update={"launches": (*plan.launches[2:4], *plan.launches[4:])})
    assert [p.shots[0] for p in first_balls(mixed)] == ["steady", "steady", "wide"]


# ---- read back


def test_the_record_is_on_disk_before_it_returns(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    synced = []
    monkeypatch.setattr(os, "fsync", lambda file: synced.append(os.fstat(file).st_size))
    journal = Journal(tmp_path / "runs", "00" * 8, "ab" * 8)
    journal.begin({"first": 1, "last": 9, "title": "t"})
    before = len(synced)
    journal.sent(1, "steady")
    assert len(synced) == before + 1 and synced[-1] == journal.path.stat().st_size
    assert os.name != "posix" or journal.path.stat().st_mode & 0o777 == 0o600  # the owner alone
    journal.close()


def test_a_record_read_back(tmp_path: Path) -> None:
    journal = Journal(tmp_path, "00" * 8, "ab" * 8)
    journal.begin({"first": 1, "last": 9, "title": "t"})
    for ball, fate in ((1, "gone"), (2, "missed"), (3, None)):
        journal.sent(ball, "steady")
        if fate:
            journal.fate(ball, fate)
    journal.close()
    (found,) = records(tmp_path, "00" * 8)
    assert (found.run, found.next, found.gone, found.unknown, found.over) == (
        "ab" * 8,
        4,
        1,
        (3,),
        False,
    )
    with journal.path.open("ab") as file:
        file.write(b'{"what": "sent", "ba')  # the crash came in the middle of a line: ball 4 may be on its way
    torn = past(journal.path)
    assert torn is not None and (torn.next, torn.unknown) == (5, (3, 4))


def test_a_record_is_for_one_process(tmp_path: Path) -> None:
    one, two = (Journal(tmp_path, "00" * 8, "ab" * 8) for _ in "12")
    one.begin({"first": 1, "last": 1, "title": "t"})
    with pytest.raises(OSError, match="another replay of this run"):
        two.begin({"first": 1, "last": 1, "title": "t"})
    one.close()
    two.close()


# ---- which can go on


def test_the_longest_unfinished_run_comes_first_and_test_balls_never(tmp_path: Path) -> None:
    for word, balls, title in (("aa", 3, "t"), ("bb", 9, "t"), ("cc", 5, "t"), ("dd", 1, "t"), ("ee", 0, "t")):
        played(tmp_path, word, balls, title=title)
    played(tmp_path, "ff", 7, first_balls=True)
    played(tmp_path, "12", 7, title=TEST_BALLS)  # an older record, which says so by its title alone
    found = unfinished(tmp_path, FP)
    assert [run.run[:2] for run in found] == ["cc", "aa", "dd"]  # bb is over; ee threw nothing
    assert [run.run[:2] for run in records(tmp_path, FP)] == ["ee", "dd", "cc", "bb", "aa"]
    lines = listed(found, rehearsal=False)
    assert "1  cccccc  t, 20" in lines[0] and "next ball 6 of 9, port not known" in lines[0]
    assert "3 runs can go on; --continue shows them. This is a new run." in told(records(tmp_path), found)[0]


def test_the_one_that_was_chosen_goes_on(tmp_path: Path) -> None:
    for word, balls in (("ab", 3), ("cd", 5)):
        played(tmp_path, word, balls)
    found = unfinished(tmp_path, FP)
    assert chosen("2", found, False, nobody) == chosen("ABAB", found, False, nobody) == found[1]
    assert chosen("", found[:1], False, nobody) == found[0]  # one: no question
    answers = iter(["", "3", "2"])
    assert chosen("", found, False, lambda question: next(answers)) == found[1]
    for which in ("3", "0", "aba", "ffff", "ab" * 9, "\u0662"):
        with pytest.raises(RequestRefused, match="there is no run"):
            chosen(which, found, False, nobody)
    answers = iter(["no", "0", "3", "2"])
    with pytest.raises(RequestRefused, match="no run was chosen"):
        chosen("", found, False, lambda question: next(answers))
    assert next(answers) == "2"  # it asks three times
    with pytest.raises(RequestRefused, match="no rehearsal of this program can go on: only"):
        chosen("", [], True, nobody)
    with pytest.raises(RequestRefused, match="its runs belong to an earlier build of the plan: only a new run"):
        chosen("", [], True, nobody, older=True)


def test_a_run_goes_on_in_one_process_only_and_from_what_its_record_says_then(tmp_path: Path) -> None:
    plan, feeder = built()
    path = played(tmp_path, "ab", 3, last=10)
    seen = past(path)
    assert seen is not None
    first = going(seen, Journal(tmp_path, FP, seen.run), plan, feeder)
    assert [place.number for place in first.places] == list(range(4, 11))
    with pytest.raises(RequestRefused, match="ababab is open in another replay"):
        going(seen, Journal(tmp_path, FP, seen.run), plan, feeder)
    first.journal.begin({"run": seen.run, "first": 4, "last": 10, "title": "t"})
    first.journal.sent(4, "steady")
    first.journal.close()
    # Whoever read the record before that ball went out may not throw it again.
    second = going(seen, Journal(tmp_path, FP, seen.run), plan, feeder)
    assert [place.number for place in second.places] == list(range(5, 11))
    second.journal.close()
    with path.open("a") as file:
        file.write('{"what": "sent", "ball": 10, "shot": "wide"}\n')
    with pytest.raises(RequestRefused, match="nothing is left"):
        going(seen, Journal(tmp_path, FP, seen.run), plan, feeder)


def test_a_torn_line_still_counts_after_two_more_cuts(tmp_path: Path) -> None:
    path = played(tmp_path, "ab", 3)
    with path.open("ab") as file:
        file.write(b'{"what": "sent", "ba')  # ball 4 may have been sent
    for _ in range(2):  # armed again and cut before a ball
        journal = Journal(tmp_path, FP, "ab" * 8)
        journal.begin({"run": "ab" * 8, "first": 5, "last": 9, "title": "t"})
        journal.close()
        found = past(path)
        assert found is not None and found.next == 5


# ---- damage

DAMAGE: dict[str, Callable[[Path], object]] = {
    "folder": lambda path: path.mkdir(),
    "fifo": lambda path: os.mkfifo(path),
    "dangling": lambda path: path.symlink_to(path.with_name("nowhere")),
    "endless": lambda path: path.symlink_to("/dev/zero"),
    "empty": lambda path: path.touch(),
    "bytes": lambda path: path.write_bytes(bytes(range(256)) * 20),
    "deep": lambda path: path.write_text("[" * 100_000),
    "list": lambda path: path.write_text("[1, 2]\n" * 3),
    "odd": lambda path: path.write_text(
        "\n".join(
            json.dumps(entry)
            for entry in (
                {"what": "run", "first": True, "last": 9}, {"what": ["run"]}, {"what": "run", "first": 1, "last": -4},
                {"what": "run", "first": 1, "last": 9, "title": ["x"], "rungs": {"x": "y", "1": 7}, "at": 5},
                {"what": "sent", "ball": 10**30, "shot": "a"}, {"what": "fate", "ball": 1, "fate": {"a": []}},
                {"what": "mark", "ball": 1, "hit": "yes"}, {"what": "sent", "ball": [1], "shot": None},
                {"ball": 1, "hit": True}, {"what": 3, "ball": 1, "hit": True},
            )
        )
        + "\n" + "9" * 5000
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", DAMAGE)
def test_a_damaged_record_hides_no_other(tmp_path: Path, kind: str) -> None:
    played(tmp_path, "ab", 3)
    DAMAGE[kind](tmp_path / f"{FP}-{'cd' * 8}.jsonl")
    assert "ab" * 8 in [run.run for run in records(tmp_path, FP)]
    assert "abababab" in [run.run[:8] for run in unfinished(tmp_path)]
    for run in records(tmp_path, FP):  # and what is taken from it makes sense
        listed([run], False), told([run], []), counts(run), standings(climbing(), run)


def test_a_full_disk_is_called_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    journal = Journal(tmp_path, FP, "ab" * 8)
    journal.begin({"first": 1, "last": 9, "title": "t"})

    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    for write in (full, lambda file, data: len(data) - 3):
        monkeypatch.setattr(os, "write", write)
        with pytest.raises(OSError, match="the disk is full"):
            journal.sent(1, "steady")
    journal.close()


def test_a_folder_that_takes_no_record_is_known_before_anything_is_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").touch()
    assert unwritable(tmp_path / "new" / "folder") == "" and not list((tmp_path / "new" / "folder").iterdir())
    assert unwritable(tmp_path / "file") and unwritable(tmp_path / "file" / "folder") and unwritable(Path("a\0b"))

    def full(**_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(tempfile, "TemporaryFile", full)
    assert unwritable(tmp_path) == "the disk is full"


# ---- where it stands


def test_a_ladder_stands_where_its_marks_have_brought_it(tmp_path: Path) -> None:
    """The same marks once straight through, once cut after each ball: the next ball is on the same rung."""
    plan = climbing()
    first = next(place.number for place in places(plan) if place.block == LADDER)
    on_ladder = [place for place in places(plan) if place.block == LADDER]
    journal = Journal(tmp_path, FP, "ab" * 8, {"rungs": {str(LADDER): 1}})
    straight = Ladders(shelf(plan, {LADDER: 1}))
    for place, mark in zip(on_ladder, "hhmmhhhm hhh", strict=True):
        seen = past(journal.path)
        reached = standings(plan, seen) if seen else {}
        shot = straight.choose(place)
        assert Ladders(shelf(plan, {LADDER: 1}, reached)).choose(place) == shot
        journal.begin({"run": "ab" * 8, "first": place.number, "last": first + 11, "title": "t"})
        journal.sent(place.number, shot)
        journal.fate(place.number, "gone")
        if mark != " ":
            journal.mark(place.number, mark == "m")  # a mark that is corrected
            journal.mark(place.number, mark == "h")
            straight.mark(place, shot, Verdict(mark))
    journal.close()
    found = past(journal.path)
    assert found is not None and found.first == first
    assert counts(found) == {"gone": 12, "missed": 0, "hit": 8, "miss": 3}


def test_first_balls_of_a_ladder_are_on_the_rung_that_will_be_thrown() -> None:
    plan = climbing()
    only = plan.model_copy(update={"launches": tuple(b for b in plan.launches if b.block == LADDER)})
    ladders = Ladders(shelf(only, {LADDER: 2}))
    assert [ladders.choose(place) for place in first_balls(only)] == [RUNGS[2]] * 3


# ---- after the end


def ended(folder: Path, marks: str, balls: int) -> list[Past]:
    found = past(played(folder, "ab", balls, last=12, marks=marks, port="simulated"))
    assert found is not None
    return [found]


def test_goal_row_misses_and_what_to_type_next(tmp_path: Path) -> None:
    plan, _ = built()
    (variation,) = plan.variations
    plan = plan.model_copy(update={"variations": (variation.model_copy(update={"goal": GoalRecord(hits=4, among=4)}),)})
    # Balls 1 to 4 and 5 to 8 are blocks of their own: a row ends with its block.
    runs = ended(tmp_path, "hmhhhh", 7)
    assert afterwards(plan, runs) == [
        "In this run: 7 balls thrown, 5 hits, 1 miss, 1 not judged.",
        "rally: longest streak 2 hits; goal 4 in a row.",
    ]
    reached = ended(tmp_path / "more", "hhhh", 4)
    assert afterwards(plan, reached)[1] == "rally: longest streak 4 hits; goal 4 in a row, reached."
    among = plan.model_copy(
        update={"variations": (variation.model_copy(update={"goal": GoalRecord(hits=3, among=4)}),)}
    )
    assert afterwards(among, runs)[1] == "rally: 3 hits among 4 balls at best; goal 3 of 4, reached."
    missed = ended(tmp_path / "yet more", "hmmhhh", 7)  # three hits one after another, but in two blocks
    assert afterwards(among, missed)[1] == "rally: 2 hits among 4 balls at best; goal 3 of 4."
    wanted = Request("my plans/a.plan.json", port="/dev/ttyUSB0", walk_s=20.0, no_log=True)
    assert next_steps(wanted, "Quick", runs, "") == [
        "5 balls of this run left. To go on:",
        "feedwright replay 'my plans/a.plan.json' --port /dev/ttyUSB0 --walk-time 20 --no-log --continue ababab",
        "What was hit and missed, here and before:",
        "feedwright log show Quick",
    ]
    assert next_steps(wanted, "Quick", ended(tmp_path / "whole", "", 12), None) == []
    assert afterwards(plan, []) == [] == next_steps(wanted, "Quick", [], "")


@pytest.mark.parametrize(
    "options",
    [
        "", "--records 'my runs'", "--db my.db", "--no-log", "--walk-time 20", "--clicker marks", "--plain --quiet",
        "--court 10.0.0.2 --certificate c.pem", "--court-view --guard --court",
    ],
)  # fmt: skip
def test_the_line_to_type_goes_on_with_the_same_options(options: str, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Request] = []
    monkeypatch.setattr(command, "replay", lambda wanted, verify: asked.append(wanted) or 0)
    assert main(["replay", "a.plan.json", "--port", "simulated", *shlex.split(options)]) == 0
    assert main(shlex.split(asked[0].again("abcdef"))[1:]) == 0
    assert asked[1] == replace(asked[0], go_on="abcdef")


def test_hits_are_set_beside_those_that_the_plan_expects(tmp_path: Path) -> None:
    plan, _ = built()
    reply = ReplyRecord(share_good=0.62)
    plan = plan.model_copy(update={"shots": tuple(s.model_copy(update={"reply": reply}) for s in plan.shots)})
    runs = [run for name in "ab" for run in ended(tmp_path / name, "h" * 12, 12)]
    assert afterwards(plan, runs)[2] == (
        "rally: 24 of 24 (100%, 95% interval 86% to 100%) were hit; the plan expects 6 of ten, so the player may be "
        "steadier than its scatter says."
    )
    assert len(afterwards(plan, runs[:1])) == 2, "12 balls say little"


def test_where_a_ladder_stands_is_told(tmp_path: Path) -> None:
    plan = climbing()
    first = next(place.number for place in places(plan) if place.block == LADDER)
    shots = ("steady",) * (first - 1) + (RUNGS[0],) * 3
    runs = [past(played(tmp_path, "ab", first + 2, last=40, shots=shots, marks=" " * (first - 1) + "hhh"))]
    assert afterwards(plan, [run for run in runs if run])[-1] == "The ladder of steady in pace stands on 85 km/h."


# ---- where it is kept


def test_a_rehearsal_is_kept_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("FEEDWRIGHT_DB", str(tmp_path / "practice.db"))
    real, apart = storage(Request("a"), False), storage(Request("a"), True)
    assert real.runs == tmp_path / "state" / "feedwright" / "runs" and real.log == tmp_path / "practice.db"
    assert apart.runs == real.runs.with_name("rehearsals") and apart.log == tmp_path / "practice.rehearsals.db"
    named = Request("a", records="rec", db="my.db")
    assert (storage(named, False).runs, storage(named, False).log) == (Path("rec"), Path("my.db"))
    assert storage(named, True).runs == Path("rec/rehearsals") and storage(named, True).log == Path("my.rehearsals.db")
    monkeypatch.setenv("XDG_STATE_HOME", "relative")  # XDG Base Directory Specification: ignored
    monkeypatch.setenv("HOME", "/home/player")
    assert storage(Request("a"), False).runs == Path("/home/player/.local/state/feedwright/runs")
