"""What a script may begin with: every offer is a script without errors."""

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.scripts import Refusal
from feedwright.grammar.source import Source
from feedwright.programs import shipped
from feedwright.targets.desk.beginnings import beginnings, begun
from feedwright.targets.machine.feeders import ProfileShelf


def test_every_program_that_is_offered_is_there() -> None:
    offered = beginnings()["programs"]
    assert len(offered) > 20 and "99-every-construct" not in {one["name"] for one in offered}
    for one in offered:
        assert begun(one["name"], "", None, "", "") == shipped()[f"{one['name']}.feed"] and one["about"]


def test_what_the_blanks_offer_gives_a_practice() -> None:
    for feeder, variations in beginnings()["feeders"].items():
        assert variations
        text = begun(None, "left", 1.7, feeder, variations[-1])
        assert "left-handed, 1.70 m tall" in text or "player    left-handed" in text
    found = compile_source(Source("a.feed", text), ProfileShelf(None), remedies=False)
    assert found.plan


@pytest.mark.parametrize(
    "said",
    [
        ("../a", "", None, "", ""), ("", "", None, "", ""), (None, "both", None, "club", "past"),
        (None, "left", 9.0, "club", "past"), (None, "left", float("nan"), "club", "past"),
        (None, "left", None, "nobody", "past"), (None, "left", None, "basket", "between"),
    ],
)  # fmt: skip
def test_what_no_blank_offers_is_refused(said: tuple[str | None, str, float | None, str, str]) -> None:
    with pytest.raises(Refusal):
        begun(said[0], said[1], said[2], said[3], said[4])
