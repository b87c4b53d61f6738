"""What else decides a hit, `hit if "the serve is in too"`: it comes in words to wherever the reply stands, and no
forecast counts it."""

from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.trace import trajectories
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.command.cli import main
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.picture import in_words
from feedwright.targets.machine.replay.places import places, shelf
from feedwright.targets.outputs.sheet import phone
from feedwright.targets.outputs.sheet.page import Sheet, sheet
from feedwright.targets.outputs.show import page

from .test_points import BALLS, compiled, plan_of
from .test_scores import AIMED

LINES = """\
    hit if "feet first"
    2 rounds
        hit if "the right player calls"
        6 balls easy
            goal 4 of 6
        rest 30 s
    ladder easy, up to 6 balls, pace 70, 75 km/h
        hit if "on the rise"
        up 2 in a row
    for me
        hit if "mine"
        4 balls hard
"""
HEAD = BALLS.format(machine="academy", interval="4 s", middling="76 km/h").replace(
    "right-handed", "called me, right-handed"
)


def script(session: str = LINES) -> str:
    return (
        HEAD
        + AIMED.replace("baseline\n", 'baseline\n    hits only if "it is low"\n    hit if "the serve is in"\n', 1)
        + session
    )


def plan() -> Plan:
    found = compile_source(Source("points.feed", script()), ProfileShelf(), plan=True)
    assert found.plan, [one.headline for one in found.findings]
    return found.plan


def test_it_holds_for_all_balls_of_a_variation_and_of_all_lines_under_the_one_where_it_stands() -> None:
    made = plan()
    assert made.variations[0].hit_if == ("it is low", "the serve is in")
    told = [block.hit_if for block in made.blocks if block.kind == "balls"]
    of_rounds = ("feet first", "the right player calls")
    assert told == [of_rounds, of_rounds, ("feet first", "on the rise"), ("feet first", "mine")]


def _texts(found: Sheet) -> str:
    steps = [step for part in found.parts for turn in part.rounds for step in turn.steps]
    return " ".join([*(note for part in found.parts for row in part.variations for note in (row.reply, *row.notes)),
                     *(note for step in steps for note in step.notes)])  # fmt: skip


def test_sheet_phone_screen_and_page_say_it_beside_the_reply() -> None:
    made = plan()
    texts = _texts(sheet(made))
    assert "A hit only if “it is low” and if “the serve is in”." in texts and "in ten by their place" in texts
    assert texts.count("A hit only if “feet first” and if “the right player calls”.") == 1  # both rounds are one entry
    cards = phone.render(made).decode()
    assert cards.count("A hit only if") >= len(made.blocks)
    first = places(made)[0]
    assert (
        "A hit only if “it is low” and if “the serve is in” and if “feet first” and if “the right player calls”."
        in (in_words(shelf(made), first, first.shots[0]))
    )
    assert "A hit only if it is low and if the serve is in." in page.render(made, trajectories(made)).decode()


def test_nothing_is_added_where_no_line_says_it() -> None:
    made = plan_of(AIMED + "    6 balls easy\n")
    assert "hit only" not in phone.render(made).decode() and "by their place" not in _texts(sheet(made))
    assert not any("hit only" in line for line in in_words(shelf(made), places(made)[0], "easy"))


def test_the_check_says_that_its_figures_count_the_place_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "mine.feed"
    file.write_text(script(), "utf-8")
    main(["check", str(file)])
    out, err = capsys.readouterr()
    assert "goal 4 of 6: reached" in out and "in ten, by place alone" in " ".join(out.split())
    assert "counts the place of the replies alone, not these 6 lines" in err
    file.write_text(HEAD + AIMED + "    6 balls easy\n        goal 4 of 6\n", "utf-8")
    main(["check", str(file)])
    out, err = capsys.readouterr()
    assert "place alone" not in out + err


def test_a_ball_without_a_reply_has_no_figure_that_could_mislead() -> None:
    bare = AIMED.replace("    reply     0 to 5 m inside baseline\n", '    hit if "caught"\n')
    assert "place-alone" not in {one.code for one in compiled(bare + "    6 balls easy\n").findings}


def test_it_changes_no_ball_and_no_forecast() -> None:
    with_it, without = (
        compiled(AIMED + f"    20 balls mix easy, hard, until 4 in a row\n{line}")
        for line in ('        hit if "mine"\n', "")
    )
    assert with_it.plan and without.plan and with_it.early == without.early
    assert [one.at_s for one in with_it.plan.launches] == [one.at_s for one in without.plan.launches]
    assert with_it.plan.shots == without.plan.shots


def test_format_keeps_the_words_and_writes_the_usual_keyword() -> None:
    assert 'hit if    "it is low"' in formatted(Source("m.feed", script()))[0]
