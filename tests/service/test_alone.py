"""One ball of a script by itself, which can be drawn whatever is wrong with the rest."""

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.service.alone import alone, played
from feedwright.compiler.service.script import opened
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import FOLDER

TEXT = (FOLDER / "02-first-script.feed").read_text("utf-8")
WRONG = TEXT.replace("spin      flat", "spin      flatt").replace("5 min     mix", "5 years   mix")
OTHER = "feed other, like low\n    interval  0.1 s\n"


def test_a_ball_flies_alone_as_it_does_in_its_session() -> None:
    whole = compile_source(Source("a.feed", TEXT), ProfileShelf(None), remedies=False).plan
    source = alone(opened(Source("a.feed", WRONG), None), "high")
    assert source and whole
    assert alone(opened(Source("a.feed", WRONG), None), "low") is None
    found = compile_source(source, ProfileShelf(None), remedies=False).plan
    assert found and [shot.id for shot in found.shots] == ["high"]
    assert found.shots[0].launch == next(shot.launch for shot in whole.shots if shot.id == "high")


def test_a_ball_takes_those_that_it_is_like_and_time_enough() -> None:
    script = opened(Source("a.feed", TEXT.replace("session", f"{OTHER}\nsession")), None)
    source = alone(script, "other")
    assert source and compile_source(source, ProfileShelf(None), remedies=False).plan
    assert not played(script, "other") and played(script, "low")
    assert alone(script, "nobody") is None
    lone = alone(script, "high")
    assert lone and "feed low" not in lone.text
