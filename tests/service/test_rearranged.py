"""A ball copied and taken out: the script still reads, and says no more and no less than it has to."""

from collections.abc import Callable

import pytest

from feedwright.compiler.pipeline import read_source
from feedwright.compiler.service.blanks import BlankProblem
from feedwright.compiler.service.rearranged import all_mirrored, block_moved, block_removed, removed
from feedwright.compiler.service.script import Script, edited, opened
from feedwright.grammar.edits import Edit
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import FOLDER

TEXT = (FOLDER / "02-first-script.feed").read_text("utf-8")


def script(text: str) -> Script:
    return opened(Source("a.feed", text), None)


def mirrored(known: Script, ball: str) -> tuple[Edit, ...]:
    return all_mirrored(known, (ball,))[0]


def after(text: str, change: Callable[[Script, str], tuple[Edit, ...]], ball: str) -> str:
    first = script(text)
    return edited(first.source, change(first, ball))


def test_a_ball_to_the_other_side_is_taken_out_without_a_trace() -> None:
    text = after(TEXT, mirrored, "high")
    assert "\n\nfeed high-other aims clear, like high\n    side      backhand wing\n\nsession" in text
    assert "feed high-other-2 aims clear, like high\n" in after(text, mirrored, "high")
    assert after(text, removed, "high-other") == TEXT
    deep = after(TEXT.replace("high", "forehand-high"), mirrored, "forehand-high")
    assert "\nfeed backhand-high aims clear, like forehand-high\n" in deep


def test_a_ball_goes_with_its_blocks() -> None:
    text = TEXT.replace("    rest      1 min\n", "    rest      1 min\n    6 balls   low\n")
    left = after(text, removed, "low")
    assert "low" not in left.split("feed high")[1] and "4 min     high\n    rest      1 min\n    5 min" in left
    assert read_source(Source("a.feed", left), ProfileShelf(None)).findings == ()


def test_a_ball_that_another_line_needs_stays() -> None:
    with pytest.raises(BlankProblem, match="another line"):
        removed(script(TEXT), "high")
    for change in (mirrored, removed):
        with pytest.raises(BlankProblem, match="no ball"):
            change(script(TEXT), "nobody")


@pytest.mark.parametrize(
    ("mix", "left"),
    [
        ("mix 2 high, low, at most 1 low in a row", "20 balls  high"),
        (
            "mix 2 high, low, other, at most 1 low in a row, at most 3 alike",
            "20 balls  mix 2 high, other, at most 3 alike",
        ),
        ("mix 50 % high, 30 % low, 20 % other", "20 balls  mix 50 high, 20 other"),
    ],
)  # fmt: skip
def test_what_a_mix_says_of_a_ball_goes_with_it(mix: str, left: str) -> None:
    head, _ = TEXT.split("\nsession")
    head += "\nfeed other aims clear, like high\n"
    text = after(f'{head}\nsession "S"\n    20 balls  {mix}\n', removed, "low")
    assert text.endswith(f'\nsession "S"\n    {left}\n')
    assert not read_source(Source("a.feed", text), ProfileShelf(None)).findings


def test_a_mirrored_ball_comes_to_the_other_side_with_its_sidespin_turned() -> None:
    text = after(TEXT, mirrored, "high")
    assert "\n\nfeed high-other aims clear, like high\n    side      backhand wing\n\nsession" in text
    assert "feed low-other aims clear, like low\n    side      backhand wing\n" in after(TEXT, mirrored, "low")
    curved = TEXT.replace("forehand wing", "1 to 2 m left of centre").replace(
        "topspin 1200 rpm", "topspin 900 rpm, sidespin 300 rpm to the left"
    )
    text = after(curved, mirrored, "high")
    assert (
        "    side      1 to 2 m right of centre\n    spin      topspin 900 rpm, sidespin 300 rpm to the right\n" in text
    )
    assert not read_source(Source("a.feed", text), ProfileShelf(None)).findings
    handed = TEXT.replace("forehand wing", "2 m to the forehand side")
    assert "    side      2 m to backhand side\n" in after(handed, mirrored, "high")
    with pytest.raises(BlankProblem, match="left, right, forehand or backhand"):
        mirrored(script(TEXT.replace("forehand wing", "middle")), "low")


def test_a_block_moves_among_those_beside_it_with_what_is_under_it() -> None:
    blocks = "    4 min     high\n    rest      1 min\n    2 rounds\n        6 balls   low\n        rest      1 min\n"
    text = f"{TEXT.split('    4 min')[0]}{blocks}".replace(", lasts 10 min", "")
    row = text.split("\n").index("    2 rounds")

    def moved(text: str, row: int, by: int) -> str:
        return edited((first := script(text)).source, block_moved(first, row, by))

    first = moved(text, row, -1)
    assert first.endswith(
        "    2 rounds\n        6 balls   low\n        rest      1 min\n    rest      1 min\n    4 min     high\n"
    ), "the rest between them stays between them"
    assert moved(first, row - 2, 1) == text
    alone = moved(text, row - 1, 1)
    assert alone.endswith("        rest      1 min\n    rest      1 min\n") and moved(alone, row + 2, -1) == text
    assert moved(text, row + 2, -1).endswith("    2 rounds\n        rest      1 min\n        6 balls   low\n")
    for wrong, by in ((row, 1), (row - 2, -1), (row - 3, 1), (0, 1), (-1, 1), (row + 99, -1)):
        with pytest.raises(BlankProblem):
            moved(text, wrong, by)
    left = edited((whole := script(text)).source, block_removed(whole, row))
    assert left.endswith("    4 min     high\n"), "no rest ends the session"


@pytest.mark.parametrize(
    ("blocks", "row", "left"),
    [
        ("4 min high|rest 1 min|5 min low", 0, "5 min low"), ("4 min high|rest 1 min|5 min low", 2, "4 min high"),
        ("4 min high|rest 1 min|5 min low|rest 2 min|6 min high", 2, "4 min high|rest 2 min|6 min high"),
        ("4 min high|rest 1 min|5 min low|6 min high", 2, "4 min high|rest 1 min|6 min high"),
        ("4 min high|rest 1 min|5 min low", 1, "4 min high|5 min low"), ("4 min high", 0, ""),
    ],
)  # fmt: skip
def test_a_rest_goes_with_the_block_that_needed_it(blocks: str, row: int, left: str) -> None:
    def session(said: str) -> str:
        return TEXT.split("session")[0] + 'session "S"\n' + "".join(f"    {one}\n" for one in said.split("|") if one)

    whole = script(session(blocks))
    at = whole.source.text.count("\n") - blocks.count("|") - 1 + row
    assert edited(whole.source, block_removed(whole, at)) == session(left)


def test_a_ball_is_taken_out_with_the_rests_of_its_blocks() -> None:
    blocks = "    6 balls   low\n    rest      1 min\n    6 balls   low\n"
    text = TEXT.split("session")[0] + f'session "S"\n    6 balls   high\n    rest      30 s\n{blocks}'
    assert after(text, removed, "low").endswith('session "S"\n    6 balls   high\n')
