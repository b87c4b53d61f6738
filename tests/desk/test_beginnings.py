"""What a script may begin with: every offer is a script without errors."""

from types import SimpleNamespace as Said

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.scripts import Refusal
from feedwright.compiler.service.blanks import BlankProblem
from feedwright.compiler.service.script import opened
from feedwright.grammar.source import Source
from feedwright.programs import shipped
from feedwright.targets.desk.beginnings import FORMS, beginnings, begun
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


def test_a_form_writes_what_its_blanks_hold_and_the_rest_as_it_is_when_empty() -> None:
    script = opened(Source("a.feed", "feed one\n"), None)
    ball = FORMS["ball"](script, Said(name="two", side="backhand wing", far=3, turn="backspin", rpm=900.0))[0].text
    for said in (
        "feed two\n",
        "side      backhand wing",
        "depth     1 to 3 m",
        "spin      backspin 900 rpm",
        "interval  6 s",
    ):
        assert said in ball
    assert "2 min     cycle one, one" in FORMS["part"](script, Said(minutes=2, balls=["one", "one"]))[0].text
    assert 'variation low "low"' in FORMS["variation"](script, Said(name="low", title="low"))[0].text


@pytest.mark.parametrize("said", [None, 7, [], Said(name=7), Said(name="x", far="3"), Said(name="x", far=True)])
def test_a_form_that_is_not_filled_writes_nothing(said: object) -> None:
    for form in FORMS.values():
        with pytest.raises(BlankProblem):
            form(opened(Source("a.feed", "feed one\n"), None), said)
