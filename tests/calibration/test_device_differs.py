"""The simulated machine that differs from its profile tells where each ball lands."""

import io

import pytest

from feedwright.compiler.calibration.invented import ThrownReports
from feedwright.compiler.calibration.law import usual_stand
from feedwright.targets.command.cli import main
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.mechanism import Fact, LinkSession, OrderedBall
from feedwright.targets.machine.replay.stand_in import _report

STEADY = (20000, 20000, 0, 6000, 0)


def reports(number: int, *other: str) -> ThrownReports:
    club = ProfileShelf().load("club")
    assert club
    return ThrownReports(club, usual_stand(club), number, other)


def test_another_number_is_another_machine_and_the_same_one_throws_the_same() -> None:
    assert reports(7)(STEADY) == reports(7)(STEADY)
    assert reports(7)(STEADY) != reports(8)(STEADY)
    assert reports(7, "tilted", "gyro")(STEADY) != reports(7)(STEADY)
    one = reports(7)
    assert one(STEADY) != one(STEADY)  # it scatters


def test_a_launch_is_told_with_its_landing() -> None:
    out = io.StringIO()
    thrown = Fact(1.0, "throw", ("run", "fp", OrderedBall(3, 900, STEADY), 900, LinkSession("w", b"")))
    _report(thrown, out, None, reports(7))
    assert f"ball 3 {reports(7)(STEADY)}\n" in out.getvalue()
    plain = io.StringIO()
    _report(thrown, plain, None, None)
    assert "landed" not in plain.getvalue()


def test_a_law_that_is_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    for text in ("x", "7,bent"):
        assert main(["device", "club", "--differs", text]) == 2
        assert "--differs takes a number" in capsys.readouterr().err
