"""Amounts set for one run: only those that the script gives a name, and every use of them follows."""

from pathlib import Path

from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

SCRIPT = (Path(__file__).parent.parent / "programs" / "02-first-script.feed").read_text("utf-8")
GIVEN = SCRIPT.replace("    feeder ", "    given     rhythm 6 s\n    feeder ").replace(
    "interval  6 s", "interval  given rhythm"
)


def test_an_amount_is_set_for_one_run() -> None:
    plain, set_ = (
        compile_source(Source("x.feed", GIVEN), ProfileShelf(), settings=settings)
        for settings in ({}, {"rhythm": ("5", "s")})
    )
    assert plain.plan and set_.plan and not set_.findings
    assert {shot.interval_s for shot in plain.plan.shots} == {6.0}
    assert {shot.interval_s for shot in set_.plan.shots} == {5.0}


def test_what_is_not_given_cannot_be_set() -> None:
    found = compile_source(Source("x.feed", GIVEN), ProfileShelf(), settings={"rythm": ("5", "s")})
    assert [f.code for f in found.findings] == ["set-unknown"] and found.plan is None
    assert found.findings[0].message.data() == {"name": "rythm", "known": ["rhythm"]}


def test_an_amount_set_to_another_kind_is_told_where_it_is_given() -> None:
    found = compile_source(Source("x.feed", GIVEN), ProfileShelf(), settings={"rhythm": ("5", "km/h")})
    assert {f.code for f in found.findings} == {"wrong-unit"} and found.plan is None
