"""`list --for`: what a coach asks for, in words of the coach's own, and what is found first."""

import pytest

from feedwright.programs import shipped
from feedwright.programs.search import search

TEXTS = {
    "01-high-balls": """\
# Balls above the shoulder, and overheads.
# For improvers.

program "Up there"
    player    right-handed
    feeder    machine club, 1 m left of centre
""",
    "02-wing": """\
# Three replies on one wing.
# For club players.

program "Wing"
    player    right-handed

variation early "taken early"
    when      a high ball sits up

# ---- balls for the rally
feed high aims early
""",
    "03-other-hand": """\
# Hitting short ones.
# For a left-hander.

program "Turned"
    player    left-handed, two bounces
""",
    "04-chair": """\
# Two bounces, slices.
# For players in a wheelchair, in halls, and children.

program "Chair"
    surface   clay
""",
    "05-low": """\
# Low ones.

feed high
    height    1.2 m

feed ball
""",
}


@pytest.mark.parametrize(
    ("words", "names"),
    [
        (
            "high ball",
            ["01-high-balls", "02-wing"],
        ),  # in its name; then in what a variation is for; not where far apart
        ("High BALLS", ["01-high-balls", "02-wing"]),
        ("a ball that is high", []),
        ("the high ball", ["01-high-balls", "02-wing"]),
        ("left-hander", ["03-other-hand"]),  # not who stands left of the centre
        ("left-handed player", ["03-other-hand"]),
        ("wheelchair", ["04-chair"]),
        ("wheel", ["04-chair"]),
        ("kids", ["04-chair"]),
        ("junior", ["04-chair"]),
        ("slice", ["04-chair"]),
        ("backspin", ["04-chair"]),
        ("smash", ["01-high-balls"]),
        ("indoors", ["04-chair"]),
        ("hit", ["03-other-hand"]),
        ("club", ["02-wing", "01-high-balls"]),  # whom it is for counts more than the feeder
        ("two bounces", ["04-chair", "03-other-hand"]),  # what it is counts more than how it is set
        ("wing rally", ["02-wing"]),  # between its lines
        ("parachute", []),
        ("high parachute", []),
        ("", []),
        ("of the", []),
    ],
)
def test_what_is_found_and_in_which_order(words: str, names: list[str]) -> None:
    assert list(search(words, TEXTS)) == names


def test_the_lines_that_say_most_of_it_come_with_it() -> None:
    assert search("high ball", TEXTS)["02-wing"] == ["when      a high ball sits up"]
    assert search("rally wing", TEXTS)["02-wing"] == [
        "Three replies on one wing.",
        'program "Wing"',
        "balls for the rally",
    ]


@pytest.mark.parametrize(
    ("words", "first"),
    [("serve", "01"), ("volley", "04"), ("beginner", "03"), ("hand feeding", "03"), ("topspin", "05")],
)
def test_what_comes_along_is_found(words: str, first: str) -> None:
    five = {name: text for name, text in shipped().items() if name < "06"}
    assert next(iter(search(words, five))).startswith(first)
