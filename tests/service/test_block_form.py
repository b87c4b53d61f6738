"""A block of the session through its form: longer, shorter, with other balls and other rests around it."""

import pytest

from feedwright.compiler.pipeline import read_source
from feedwright.compiler.service.blanks import BlankProblem, PartBlanks
from feedwright.compiler.service.block_form import ball_mirrored, block_changed, block_mirrored, block_of_row
from feedwright.compiler.service.script import Script, edited, opened
from feedwright.grammar.frozen import replace
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import FOLDER

HEAD = (FOLDER / "02-first-script.feed").read_text("utf-8").split("session")[0]
BLOCKS = """session "S", lasts 10 min
    4 min     cycle high, low
    rest      1 min
    6 balls   low
        note      "Watch."
    2 rounds
        9 balls   high, until 4 in a row
        20 balls  mix 2 high, low, at most 2 alike
"""
TEXT = HEAD + BLOCKS


def script(text: str = TEXT) -> Script:
    return opened(Source("a.feed", text), None)


def row(words: str, text: str = TEXT) -> int:
    return text[: text.index(words)].count("\n")


def changed(words: str, text: str = TEXT, **values: object) -> str:
    first = script(text)
    blanks = replace(block_of_row(first, row(words, text))[0], **values)
    return edited(first.source, block_changed(first, blanks))[len(HEAD) :]


def test_a_block_opens_its_form_and_stays_as_it_is() -> None:
    first = script()
    assert block_of_row(first, row("4 min")) == (
        PartBlanks(4.0, "min", ("high", "low"), "cycle", rest=60.0, row=row("4 min")), {}
    )  # fmt: skip
    blanks, kept = block_of_row(first, row("20 balls"))
    assert kept == {"order": "mix 2 high, low, at most 2 alike"} and blanks.amount == 20.0
    assert block_of_row(first, row("6 balls"))[0].before == 60.0
    for words in ("4 min", "6 balls", "9 balls", "20 balls"):
        assert changed(words) == BLOCKS


def test_a_block_is_made_longer_and_what_is_said_of_its_session_too() -> None:
    assert changed("4 min", amount=6.5) == BLOCKS.replace("4 min  ", "6.5 min").replace("lasts 10", "lasts 12.5")
    assert changed("6 balls", amount=1.0) == BLOCKS.replace("6 balls", "1 ball ")
    assert changed("20 balls", amount=30.0) == BLOCKS.replace("20 balls", "30 balls")
    assert "    8 balls   cycle high, low\n" in changed("4 min", amount=8.0, measure="balls")
    assert "    4 min     low\n" in changed("4 min", balls=("low",))
    assert "20 balls  cycle high, low\n" in changed("20 balls", kept=())
    assert "    4 min     mix high, low\n" in changed("4 min", order="mix")
    assert "9 balls   high, until 4 in a row" in changed("9 balls", amount=9.0)


def test_the_goal_under_a_block_and_under_rounds_stays_and_comes_to_the_other_side() -> None:
    goal, over = "        goal      5 of 6\n", "        goal      10 in all\n"
    blocks = BLOCKS.replace('"Watch."\n', f'"Watch."\n{goal}').replace("2 rounds\n", f"2 rounds\n{over}")
    text = HEAD + blocks
    assert changed("6 balls", text, amount=8.0) == blocks.replace("6 balls", "8 balls")
    longer = changed("6 balls", text, balls=("high",), rest=30.0)
    assert f'6 balls   high\n        note      "Watch."\n{goal}    rest 30 s\n    2 rounds\n{over}' in longer
    assert changed("9 balls", text, before=30.0).count(over + "        rest      30 s\n        9 balls") == 1
    first = script(text)
    other = edited(first.source, block_mirrored(first, row("6 balls", text)))
    assert other.endswith(f"    6 balls   low-other\n{goal}")


def test_the_most_that_a_session_may_last_stays() -> None:
    text = TEXT.replace("lasts 10 min", "lasts at most 10 min")
    assert changed("4 min", text, amount=6.5) == text[len(HEAD) :].replace("4 min  ", "6.5 min")


def test_the_rests_around_a_block_come_change_and_go() -> None:
    assert changed("4 min", rest=90.0) == BLOCKS.replace("rest      1 min", "rest      90 s").replace("10", "10.5")
    assert changed("6 balls", before=0.0) == BLOCKS.replace("    rest      1 min\n", "").replace("10 min", "9 min")
    after = changed("6 balls", rest=30.0)
    assert '"Watch."\n    rest 30 s\n    2 rounds' in after and "lasts 10.5 min" in after
    assert "        rest      30 s\n        9 balls" in changed("9 balls", before=30.0)
    assert changed("20 balls", rest=30.0).endswith("at most 2 alike\n        rest      30 s\n")
    assert read_source(Source("a.feed", HEAD + after), ProfileShelf(None)).findings == ()
    between = TEXT + "        rest      30 s between rounds\n"
    assert changed("20 balls", between, rest=90.0).endswith("        rest      90 s between rounds\n")


def test_a_block_comes_to_the_other_side_with_all_its_balls() -> None:
    text = (
        HEAD.replace("forehand wing", "forehand corner")
        + 'session "S", lasts 6 min\n    2 min     low\n    rest      30 s\n'
    )
    text += "    3 min     mix high, 2 low, at most 1 high in a row\n"
    first = script(text)
    other = edited(first.source, block_mirrored(first, row("3 min", text)))
    assert "feed high-other aims clear, like high\n    side      backhand corner\n\nfeed low-other" in other
    assert other.endswith(
        "    rest      30 s\n    3 min     mix high-other, 2 low-other, at most 1 high-other in a row\n"
    )
    assert "lasts 9.5 min" in other and read_source(Source("a.feed", other), ProfileShelf(None)).findings == ()
    with pytest.raises(BlankProblem, match="put the cursor"):
        block_mirrored(first, row("rest  ", text))


def test_a_ball_comes_to_the_other_side_in_a_block_like_its_own() -> None:
    block = "    8 balls   low\n        interval  7 s\n"
    text = HEAD + f'session "S"\n    9 balls   high\n    rest      30 s\n{block}'
    first = script(text)
    other = edited(first.source, ball_mirrored(first, "low"))
    assert other.endswith(f"{block}    rest      30 s\n{block.replace('low', 'low-other')}")
    assert edited(script().source, ball_mirrored(script(), "high")).endswith(BLOCKS)  # no block plays it alone


@pytest.mark.parametrize(
    ("words", "values", "says"),
    [
        ("rest  ", {}, "put the cursor"), ("2 rounds", {}, "put the cursor"), ("side  ", {}, "put the cursor"),
        ("4 min", {"amount": 0.0}, "amount is"), ("4 min", {"measure": "points"}, "points are counted"),
        ("4 min", {"rest": -1.0}, "rest is"), ("4 min", {"balls": ()}, "at least one"),
        ("4 min", {"order": "ladder"}, "ladder"), ("6 balls", {"before": 1e9}, "before is"),
    ],
)  # fmt: skip
def test_what_a_block_cannot_be_is_refused(words: str, values: dict[str, object], says: str) -> None:
    with pytest.raises(BlankProblem, match=says):
        changed(words, **values)


def test_a_score_comes_to_the_other_side_with_its_balls() -> None:
    under = "        score     from 3, low 2, miss -1, 3 in a row +1\n        goal      score 4\n"
    text = HEAD + BLOCKS.replace('        note      "Watch."\n', under)
    first = script(text)
    other = edited(first.source, block_mirrored(first, row("6 balls", text)))
    assert other.endswith(f"    6 balls   low-other\n{under.replace('low', 'low-other')}")
