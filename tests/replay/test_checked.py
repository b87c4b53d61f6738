"""Plan and profile at the moment of arming: judged again, by the profile's own limits, as they lie on the disk then."""

import time
from pathlib import Path

import pytest

from feedwright.compiler.model.feeder import Feeder
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.verify import verify
from feedwright.targets.machine.replay.checked import SLOW_S, Checked
from feedwright.targets.machine.replay.request import RequestRefused

from .club import quick_profile, written


class Judge:
    """`verify`, with the caps it was asked about, a verdict to come and the time it takes."""

    def __init__(self) -> None:
        self.caps, self.wrong, self.takes_s = list[float](), list[str](), 0.0

    def __call__(self, plan: Plan, feeder: Feeder) -> list[str]:
        assert feeder.device is not None
        self.caps.append(feeder.device.cap_mps)
        time.sleep(self.takes_s)
        return self.wrong or verify(plan, feeder)


def test_the_balls_are_judged_again_and_a_new_verdict_counts(tmp_path: Path) -> None:
    judge = Judge()
    checked = Checked(str(written(tmp_path)), judge)
    before = len(judge.caps)
    assert checked.unchanged() and checked.changed == "" and judge.caps[before:] == [39.0]
    judge.wrong = ["Ball steady: one.", "Ball wide: two."]
    assert not checked.unchanged()
    assert checked.changed == "The plan is refused: Ball steady: one. (1 more of this kind)"


def test_a_judgement_that_is_slow_is_not_made_while_the_machine_waits(tmp_path: Path) -> None:
    judge = Judge()
    judge.takes_s = 2 * SLOW_S
    checked = Checked(str(written(tmp_path)), judge)
    before = len(judge.caps)
    assert checked.unchanged() and len(judge.caps) == before
    profile = tmp_path / "quick.toml"
    profile.write_bytes(quick_profile().replace(b"cap_mps = 39.0", b"cap_mps = 12.0"))
    assert not checked.unchanged() and "another profile quick" in checked.changed
    profile.write_bytes(quick_profile())


@pytest.mark.parametrize("text", [b"", b"kind = ", quick_profile().replace(b"cap_mps = 39.0", b"cap_mps = 39.1")])
def test_a_profile_that_was_edited_meanwhile_is_told_by_its_name(tmp_path: Path, text: bytes) -> None:
    checked = Checked(str(written(tmp_path)), verify)
    (tmp_path / "quick.toml").write_bytes(text)
    assert not checked.unchanged() and "quick" in checked.changed and not checked.changed.endswith(".")


def test_a_plan_that_is_refused_is_never_a_checked_one(tmp_path: Path) -> None:
    judge = Judge()
    judge.wrong = ["Ball steady: flown it is another."]
    with pytest.raises(RequestRefused, match=r"The plan is refused: Ball steady: flown it is another\.") as refused:
        Checked(str(written(tmp_path)), judge)
    assert refused.value.code == 1
