"""What a script may begin with: every offer is a script without errors."""

from types import SimpleNamespace as Said

import pytest

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.scripts import Refusal
from feedwright.compiler.service.blanks import BlankProblem
from feedwright.compiler.service.script import edited, opened
from feedwright.compiler.starter import Answers
from feedwright.grammar.source import Source
from feedwright.programs import shipped
from feedwright.targets.desk.beginnings import FORMS, answered, beginnings, begun, program_text
from feedwright.targets.machine.feeders import ProfileShelf


def test_every_program_that_is_offered_is_there() -> None:
    offered = beginnings()["programs"]
    assert len(offered) > 20 and "99-every-construct" not in {one["name"] for one in offered}
    for one in offered:
        assert program_text(one["name"]) == shipped()[f"{one['name']}.feed"] and one["about"]


def test_what_the_blanks_offer_gives_a_practice() -> None:
    for feeder, variations in beginnings()["feeders"].items():
        assert variations
        text = begun(Answers("left", 1.7, feeder, variations[-1], "Late  summer", "doubles"))
        assert "left-handed, 1.70 m tall" in text or "player    left-handed" in text
        assert text.count('program "Late summer"') == 1
    found = compile_source(Source("a.feed", text), ProfileShelf(None), remedies=False)
    assert found.plan


def test_a_practice_without_a_ball_gets_its_session_with_the_first_one() -> None:
    """Only the head is there; the form of a ball writes what is missing."""
    text = begun(Answers("left", 1.3, "club", "", "Tuesday", "singles"))
    assert "feed " not in text and "session" not in text and "court     singles" in text
    script = opened(Source("a.feed", text), None)
    for name in ("one", "two"):
        script = opened(
            Source("a.feed", edited(script.source, FORMS["ball"](script, Said(name=name, played="in turn")))), None
        )
    assert script.source.text.endswith("    3 min     cycle one, two\n")
    found = compile_source(script.source, ProfileShelf(None), remedies=False)
    assert found.plan and found.plan.program == "Tuesday"


def test_of_a_feeder_that_scatters_a_practice_says_at_its_beginning_that_it_does() -> None:
    """Where no line of a ball mends it, nobody has to read it below each ball."""
    for feeder, accepts in (("racket", True), ("dials", True), ("club", False), ("basket", False)):
        assert ("accept zone-small" in begun(Answers("left", None, feeder, "", "T", "singles"))) is accepts


def test_the_feeder_stands_where_the_form_says_and_several_players_take_turns() -> None:
    said = Said(feeder="racket", title="T", variation="", court="singles", place="baseline", screen=False, players=2)
    text = begun(answered(said))
    assert "player    right-handed, 2 taking turns, changing every 1 ball\n" in text
    assert "feeder    person racket, on centre, on baseline\n" in text
    level = begun(
        answered(Said(title="T", variation="", court="singles", surface="grass", level="improver", stature=1.7))
    )
    assert "player    right-handed, 1.70 m tall, scatter improver\n" in level and "surface   grass\n" in level
    for place, metres, words in (("from net", 7.5, "7.5 m from net"), ("service line", 11.0, "on service line")):
        assert f"on centre, {words}, behind a screen" in begun(
            Answers("left", None, "club", "", "T", "singles", place, metres)
        )


@pytest.mark.parametrize(
    "said",
    [
        Answers("both"), Answers(stature=9.0), Answers(stature=float("nan")), Answers(feeder="nobody"),
        Answers(feeder="basket", variation="between"), Answers(variation="", court="roof"), Answers(court="singles"),
        Answers(title="  "), Answers(title='a"b'), Answers(title="a\x07b"), Answers(feeder="basket", place="baseline"),
        Answers(place="roof"), Answers(surface="ice"),
        Answers(level="champion"), Answers(place="from net", metres=float("nan")), Answers(players=0), Answers(turns=0),
    ],
)  # fmt: skip
def test_what_no_blank_offers_is_refused(said: Answers) -> None:
    with pytest.raises(Refusal):
        begun(said)


@pytest.mark.parametrize("program", ["../a", ""])
def test_a_program_that_is_not_included_is_refused(program: str) -> None:
    with pytest.raises(Refusal):
        program_text(program)


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
    assert "2 min     cycle one, one" in FORMS["part"](script, Said(amount=2, balls=["one", "one"]))[0].text
    assert "\n    1 ball    one" in FORMS["part"](script, Said(amount=1, measure="balls", balls=["one"]))[0].text
    assert 'variation low "low"' in FORMS["variation"](script, Said(name="low", title="low"))[0].text


@pytest.mark.parametrize("said", [None, 7, [], Said(name=7), Said(name="x", far="3"), Said(name="x", far=True)])
def test_a_form_that_is_not_filled_writes_nothing(said: object) -> None:
    for form in FORMS.values():
        with pytest.raises(BlankProblem):
            form(opened(Source("a.feed", "feed one\n"), None), said)
