"""Where a named side or a stretch across the centre lies, on which court.

The widths of courts are those of the ITF Rules of Tennis (rule 1): 8.23 m for singles, 10.97 m for doubles."""

import pytest

from feedwright.compiler.model.court import courts
from feedwright.compiler.model.player import Player
from feedwright.compiler.resolve.places import Ground
from feedwright.grammar import syntax as s
from feedwright.grammar.parse import parse
from feedwright.grammar.print import text
from feedwright.grammar.source import Source

SINGLES, DOUBLES = 8.23 / 2, 10.97 / 2


def _side(words: str) -> s.Side:
    tree, faults = parse(Source("x", f"feed a\n    side {words}"))
    node = tree.lines[0].children[0].sentence
    assert isinstance(node, s.Side) and not faults
    return node


def _ends(words: str, court: str = "singles") -> tuple[float, float]:
    node = _side(words)
    found = Ground(courts(False)[court], Player("right", None)).side(node.choices[0])
    assert found.aim == pytest.approx((found.low + found.high) / 2)
    return found.low, found.high


@pytest.mark.parametrize(
    "words, low, high",
    [
        ("1.5 m left of centre to 3 m right of centre", -3, 1.5),
        ("3 m right of the centre to 1.5 m left of the center", -3, 1.5),
        ("on centre to 2 m left of centre", 0, 2),
        ("1 m inside left sideline to 1 m right of centre", -1, SINGLES - 1),
        ("1 m left of centre to 1 m forehand of centre", -1, 1),
        ("within 1.5 m of centre", -1.5, 1.5),
        ("within 150 cm of the centre", -1.5, 1.5),
    ],
)
def test_a_side_reaches_across_the_centre(words: str, low: float, high: float) -> None:
    assert _ends(words) == pytest.approx((low, high))


@pytest.mark.parametrize("court, half", [("singles", SINGLES), ("green", SINGLES), ("doubles", DOUBLES)])
def test_a_corner_is_as_far_inside_the_sideline_of_the_court_in_play_as_a_distance(court: str, half: float) -> None:
    assert _ends("left corner", court) == pytest.approx((half - 1.8, half - 0.3))
    assert _ends("left corner", court) == pytest.approx(_ends("0.3 to 1.8 m inside left sideline", court))
    assert _ends("left wing", court) == pytest.approx((0.8, 2.3)), "from the centre, which is the same on both"


@pytest.mark.parametrize(
    "said, usual",
    [
        ("1.5 m left of  centre to 3 m right of centre", "1.5 m left of centre to 3 m right of centre"),
        ("within  2 m of centre", "within 2 m of centre"),
    ],
)
def test_it_is_printed_in_one_form(said: str, usual: str) -> None:
    node = _side(said)
    assert text(node) == f"side {usual}"
    assert text(_side(usual)) == f"side {usual}"
