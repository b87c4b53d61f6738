"""Machines with commands of their own, in virtual time: one that answers and one that does not."""

import os
import pty
import termios
from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import Any

import pytest

from feedwright.compiler.model.command import ReplyLines, Template
from feedwright.compiler.model.feeder import ProfileProblem
from feedwright.targets.machine.feeders import read
from feedwright.targets.machine.replay import link as links
from feedwright.targets.machine.replay import words
from feedwright.targets.machine.replay.flow import LinkLost, RunPhase
from feedwright.targets.machine.replay.host import Host
from feedwright.targets.machine.replay.own_commands import OwnCommands
from feedwright.targets.machine.replay.picture import farewell
from feedwright.targets.machine.replay.places import places, shelf
from feedwright.targets.machine.replay.run import AtOnce, Run

from ..forged import unchecked
from .club import ROOT, built
from .world import Disk


class Hall:
    """Such a machine, in steps of 10 ms; it answers each line after 50 ms if `answers`."""

    def __init__(
        self, name: str, answers: str | None = "done\r\n", last: int = 3, part: int = 99, **other: Any
    ) -> None:
        """With `part` balls in its first part, the others in a second."""
        plan, feeder = built(name, "flat", "6")
        feeder = unchecked(feeder, **other)
        assert feeder.template is not None
        self.now, self.lines, self.due = 0.0, list[tuple[float, bytes]](), list[tuple[float, bytes]]()
        self.answers = answers
        self.disk = Disk(now=lambda: self.now)
        balls = tuple(replace(place, part=int(place.number > part)) for place in places(plan, 1, last))
        runs = iter((Run("ab" * 8, "bench", balls, AtOnce(self.disk)),))
        held = shelf(plan)
        self.machine = OwnCommands(self.write, feeder, held, Random(1))
        self.host = Host(self.machine, held, runs, walk_s=3.0)
        self.host.start(0.0)

    def write(self, data: bytes) -> None:
        self.lines.append((self.now, data))
        if self.answers:
            self.due.append((self.now + 0.05, self.answers.encode()))

    def pass_(self, seconds: float, until: Callable[[], bool] = lambda: False) -> None:
        end = self.now + seconds
        while self.now < end and not until():
            self.now = round(self.now + 0.01, 2)
            while self.due and self.due[0][0] <= self.now:
                self.host.received(self.now, self.due.pop(0)[1])
            self.host.step(self.now)

    def arm(self) -> None:
        self.host.arm(self.now)
        self.pass_(0.5)
        self.host.answer(self.now, self.host.question)
        assert self.host.phase is RunPhase.LIVE

    def throws(self, mark: bytes) -> list[float]:
        return [at for at, line in self.lines if line.startswith(mark)]


def test_one_that_answers() -> None:
    hall = Hall("answering")
    assert any("wheels may begin to turn when the four-character code is typed" in text for text in hall.host.messages)
    hall.arm()
    hall.pass_(60.0, lambda: hall.host.ending is not None)
    # 3 s to walk, then 6 s apart by the plan; a turn is 10 ms.
    assert hall.throws(b"throw") == pytest.approx([3.5, 9.5, 15.5], abs=0.011)
    assert hall.disk.fates() == {1: "gone", 2: "gone", 3: "gone"}
    sets = hall.throws(b"set")
    assert len(sets) == 3 and all(at < throw - 2.0 for at, throw in zip(sets, hall.throws(b"throw"), strict=True))
    assert all(line.endswith(b"\r\n") for _, line in hall.lines) and hall.lines[-1][1] == b"rest\r\n"
    assert hall.host.ending is not None and hall.host.ending.code == 0 and hall.host.ending.stopped is None
    assert "heard its stop line" in hall.host.ending.said


def test_one_that_says_nothing() -> None:
    hall = Hall("silent", answers=None)
    assert any("does not answer" in text and "no stop line" in text for text in hall.host.messages)
    hall.arm()
    hall.pass_(60.0, lambda: hall.host.ending is not None)
    assert hall.throws(b"B") == pytest.approx([3.5, 9.5, 15.5], abs=0.011)
    assert hall.disk.fates() == {1: "unknown", 2: "unknown", 3: "unknown"}
    assert hall.host.ending is not None and (hall.host.ending.code, hall.host.ending.unknown) == (0, 3)
    assert any("does not report a stop" in line for line in farewell(hall.host.ending, words.NOT_CONFIRMED))


@pytest.mark.parametrize(("name", "answers", "throw"), [("answering", "done\r\n", b"throw"), ("silent", None, b"B")])
def test_each_part_is_armed_by_itself(name: str, answers: str | None, throw: bytes) -> None:
    hall = Hall(name, answers, part=2)
    for thrown in (2, 3):
        hall.arm()
        hall.pass_(60.0, lambda: hall.host.phase is not RunPhase.LIVE)
        assert len(hall.throws(throw)) == thrown


@pytest.mark.parametrize("delay", [0.0, 0.7, 2.9])
@pytest.mark.parametrize(("name", "jitter"), [("answering", 0.1), ("silent", 0.3)])
def test_no_line_is_sent_while_a_ball_is_inside(name: str, jitter: float, delay: float) -> None:
    """A machine that obeys at once would throw that ball by settings nobody checked, or brake it at the end."""
    hall = Hall(name, "done\r\n" if name == "answering" else None, 6, feed_delay_s=delay, feed_jitter_s=jitter)
    throw = b"throw" if name == "answering" else b"B"
    for seconds, press in ((9.7, "pause"), (3.1, "skip"), (60.0, "")):
        hall.arm()
        hall.pass_(seconds, lambda: hall.host.phase is not RunPhase.LIVE)
        if press and hall.host.phase is RunPhase.LIVE:
            getattr(hall.host, press)(hall.now)
            hall.pass_(1.0, lambda: hall.host.phase is not RunPhase.LIVE)
    hall.pass_(12.0)  # after the last ball there is time to mark it
    thrown = hall.throws(throw)
    assert len(thrown) >= 3 and hall.host.ending is not None and hall.host.ending.code == 0
    after = {at: [other - at for other, _ in hall.lines if other > at] for at in thrown}
    assert all(gap >= delay + jitter - 1e-6 for gaps in after.values() for gap in gaps)


def test_a_profile_that_leaves_no_time_after_a_ball_is_refused() -> None:
    text = (ROOT / "targets" / "machine" / "feeders" / "answering.toml").read_text("utf-8")
    # 2 s apart plus 0.1 s of jitter; 2 + 0.1 s inside, and 0.05 s of pause after `ready`.
    with pytest.raises(ProfileProblem, match=r"inside for up to 2\.1 s .* leaves no time"):
        read(text.replace("feed_delay_s = 0.3", "feed_delay_s = 2").encode(), "answering")
    assert read(text.replace("feed_delay_s = 0.3", "feed_delay_s = 1.9").encode(), "answering")


@pytest.mark.parametrize(
    ("answers", "at_s", "heard"),
    [("done\r\n", 5.0, True), (None, 5.0, False), ("what?\r\n", 5.0, False), ("done\r\n", 3.52, True)],
)
def test_a_stop_is_confirmed_as_heard_by_its_answer_alone(answers: str | None, at_s: float, heard: bool) -> None:
    hall = Hall("answering")
    hall.arm()
    hall.pass_(at_s - hall.now)  # at 3.52 s the throw's own answer is still to come
    hall.answers = answers
    hall.host.stop(hall.now, "Stopped by the player", 0)
    hall.host.stop(hall.now, "Stopped by the player", 0)
    assert hall.host.phase is RunPhase.STOPPING and hall.host.ending is None
    hall.pass_(0.82)  # reply_s is 0.8
    end = hall.host.ending
    assert end is not None and end.code == (0 if heard else 4) and hall.throws(b"rest") == [pytest.approx(at_s)]
    told = " ".join(farewell(end, words.NOT_CONFIRMED))
    assert (
        ("heard its stop line" in told) is heard
        and ("NOT CONFIRMED" in told) is not heard
        and "stopped and said" not in told
    )


def test_the_answer_to_the_throw_is_no_answer_to_the_stop() -> None:
    hall = Hall("answering")
    hall.arm()
    hall.pass_(3.52 - hall.now)
    hall.answers = None
    hall.host.stop(hall.now, "Stopped by the player", 0)
    hall.pass_(2.0)
    assert hall.host.ending is not None and (hall.host.ending.code, hall.host.ending.unknown) == (4, 1)


def test_a_silent_machine_that_was_playing_cannot_confirm_a_stop() -> None:
    playing, waiting = Hall("silent", answers=None), Hall("silent", answers=None)
    playing.arm()
    playing.pass_(4.0)
    for hall in (playing, waiting):
        hall.host.stop(hall.now, "Stopped by the player", 0)
    assert playing.host.ending is not None and waiting.host.ending is not None
    assert (playing.host.ending.code, playing.host.ending.stopped) == (4, False)
    assert (waiting.host.ending.code, waiting.host.ending.stopped) == (0, None)


def test_a_line_lost_while_a_stop_waits_is_no_confirmation() -> None:
    hall = Hall("answering")
    hall.arm()
    hall.pass_(2.0)
    hall.host.stop(hall.now, "Stopped by the player", 0)
    hall.host.lost(hall.now, "The line is gone")
    assert hall.host.ending is not None and (hall.host.ending.code, hall.host.ending.stopped) == (4, False)


def test_no_answer_ends_it_and_no_line_is_repeated() -> None:
    hall = Hall("answering")
    hall.arm()
    hall.pass_(2.5)
    hall.answers = None
    hall.pass_(10.0)
    assert len(hall.throws(b"throw")) == 1 and len(hall.lines) == len(set(hall.lines))
    assert hall.host.ending is not None and hall.host.ending.code == 4 and hall.host.ending.unknown == 1
    assert hall.disk.fates() == {1: "unknown"}


@pytest.mark.parametrize(
    ("reply", "said", "found"),
    [
        ("done", b"done\r\n", 1), ("done", b"done\r", 1), ("done", b"done\n", 1), ("done", b" done \n", 1),
        ("done", b"not done\r\n", 0), ("done", b"done not\n", 0), ("done", b"done", 0), ("done", b"DONE\n", 0),
        ("done", b"done\r\ndone\r\n", 2), ("done #", b"done 17\n", 1), ("done #", b"done \n", 0),
        ("done #", b"done 1234567890\n", 0), ("done ##", b"done #\n", 1), ("done ##", b"done 1\n", 0),
        ("d.ne", b"done\n", 0), ("done", b"x" * 5000 + b"\ndone\n", 1), ("done", bytes(range(128, 256)) + b"\n", 0),
    ],
)  # fmt: skip
def test_a_reply_is_a_whole_line(reply: str, said: bytes, found: int) -> None:
    template = Template(throw="T", reply=reply)
    whole, piecemeal = ReplyLines(template), ReplyLines(template)
    assert whole.feed(said) == found
    assert sum(piecemeal.feed(bytes([byte])) for byte in said) == found


def test_the_rest_of_a_line_that_began_before_is_no_reply() -> None:
    lines = ReplyLines(Template(throw="T", reply="done"))
    assert lines.feed(b"not ") == 0
    lines.clear()
    assert lines.feed(b"done\r\n") == 0 and lines.feed(b"done\r\n") == 1


def test_stop_sends_nothing_more_but_its_stop_line() -> None:
    hall = Hall("answering")
    hall.arm()
    hall.pass_(4.0)
    hall.host.stop(hall.now, "Stopped by the player", 0)
    sent = len(hall.lines)
    hall.pass_(20.0)
    assert len(hall.lines) == sent and hall.lines[-1][1] == b"rest\r\n"


@pytest.mark.parametrize(
    ("wait", "text", "why"), [(0.1, None, "too early or"), (0.5, "aaaa", "code was wrong"), (10.5, None, "in time")]
)
def test_an_answer_wrong_or_out_of_time_arms_nothing(wait: float, text: str | None, why: str) -> None:
    hall = Hall("answering")
    hall.host.arm(0.0)
    question = hall.host.question
    hall.pass_(wait)
    hall.host.answer(hall.now, text or question)
    hall.pass_(20.0)
    assert hall.host.phase is RunPhase.READY and hall.lines == [] and why in hall.host.why


def test_a_ball_that_is_late_is_left_out() -> None:
    hall = Hall("silent", answers=None)
    hall.arm()
    hall.pass_(2.8)
    hall.now += 0.4
    hall.pass_(1.0)
    assert hall.throws(b"B") == [] and "No later ball makes up" in hall.host.why and hall.host.phase is RunPhase.READY


def test_away_full_disk_and_a_lost_line_end_it() -> None:
    away, full, lost = Hall("silent", answers=None), Hall("silent", answers=None), Hall("silent", answers=None)
    away.arm()
    away.now += 2.0
    away.pass_(0.1)
    assert away.host.ending is not None and "away for" in away.host.ending.why
    full.arm()
    full.disk.full_after = len(full.disk.entries)
    full.pass_(5.0)
    assert full.host.ending is not None and "cannot be written" in full.host.ending.why and full.throws(b"B") == []

    def gone(data: bytes) -> None:
        raise LinkLost("The line is gone")

    lost.arm()
    lost.machine.write = gone
    lost.pass_(5.0)
    assert lost.host.ending is not None and (lost.host.ending.code, lost.host.ending.unknown) == (4, 1)


def test_pause_skip_and_marks() -> None:
    hall = Hall("silent", answers=None, last=6)
    hall.arm()
    hall.pass_(3.2)
    hall.host.mark(hall.now, True)
    hall.host.mark(hall.now, False)
    hall.host.pause(hall.now)
    hall.pass_(20.0)
    assert len(hall.throws(b"B")) == 1 and hall.host.counts["hit"] == 0 and hall.host.counts["miss"] == 1
    hall.host.skip(hall.now)
    hall.arm()
    hall.pass_(4.0)
    assert [ball for _, what, ball, _ in hall.disk.entries if what == "sent"] == [1, 5]


def test_a_port_is_opened_at_the_speed_that_is_asked_for() -> None:
    master, slave = pty.openpty()
    for asked, set_to in ((links.BAUD, termios.B115200), (9600, termios.B9600)):
        link = links.open_link(os.ttyname(slave), asked)
        assert termios.tcgetattr(slave)[4:6] == [set_to, set_to]
        link.close()
    os.close(master)
    os.close(slave)
