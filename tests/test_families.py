"""The order of a family's balls, how many of each a mix has, and when a block begins, as LANGUAGE.md says."""

import re
from collections import Counter
from itertools import pairwise
from pathlib import Path

import pytest

from feedwright.compiler.model.compiled import Compiled
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.command.summary import sum_up
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs.sheet.letters import letters

from .shipped import PROGRAMS
from .shipped import compiled as of_path

HEAD = """\
program "Families"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, on centre, 0.5 m behind baseline, behind a screen

"""
PLAIN = ("stance 2 m behind baseline", "spin flat", "interval 4 s")


def compiled(*feed: str, session: str = "1 balls ball", more: str = "") -> Compiled:
    lines = "".join(f"    {line}\n" for line in feed)
    text = f'{HEAD}feed ball\n{lines}{more}session "Practice"\n' + "".join(f"    {b}\n" for b in session.split("; "))
    return compile_source(Source("families.feed", text), ProfileShelf(), remedies=False)


@pytest.mark.parametrize("turned", [False, True])
def test_the_flight_varies_first_then_depth_then_side(turned: bool) -> None:
    lists = ["side left wing, right wing", "depth 0 to 5 m inside baseline, in 5 steps", "pace 70, 80 km/h"]
    program = compiled(*(reversed(lists) if turned else lists), *PLAIN).program
    assert program
    balls = [
        (feed.side.aim > 0, round(program.court.half_length - feed.depth.aim, 2), round(feed.value * 3.6))
        for feed in program.feeds.values()
        if feed.depth
    ]
    # The player's left is +x; a zone in steps has the middles of its parts.
    assert balls == [(left, d, p) for left in (True, False) for d in (0.5, 1.5, 2.5, 3.5, 4.5) for p in (70, 80)]


@pytest.mark.parametrize(
    ("session", "gap"),
    [("2 balls ball; 2 balls rare", 7), ("2 balls rare; 2 balls ball", 7), ("1 min rare; 1 balls ball", 4)],
)
def test_after_balls_the_longer_interval_counts_after_minutes_that_of_the_next(session: str, gap: float) -> None:
    plan = compiled(
        "side middle", "depth 1 to 4 m inside baseline", "pace 75 km/h", *PLAIN,
        more="feed rare, like ball\n    interval 7 s\n", session=session,
    ).plan  # fmt: skip
    assert plan
    gaps = [after.at_s - before.at_s for before, after in pairwise(plan.launches) if before.first != after.first]
    assert gaps == pytest.approx([gap], abs=1e-4)


def test_a_ball_of_a_split_zone_may_land_anywhere_in_it_and_one_of_a_list_in_its_own() -> None:
    """The same aim: in the whole zone count at least as many balls as in the part, and at this scatter more."""
    zone = ("depth 1 to 4 m inside baseline, in 3 steps", "depth 1 to 2 m inside baseline, 2 to 3 m inside baseline")
    split, listed = (compiled("side middle", depth, "pace 78 km/h", *PLAIN).plan for depth in zone)
    assert split and listed
    one, other = split.shots[1], listed.shots[1]
    assert one.zone_m and other.zone_m and one.spread and other.spread
    assert one.zone_m[2:] == pytest.approx((11.885 - 4, 11.885 - 1)) and other.zone_m[2:] == pytest.approx(
        (8.885, 9.885)
    )
    assert one.predicted.landing_m == pytest.approx(other.predicted.landing_m, abs=0.1)
    assert one.spread.share_in_zone > other.spread.share_in_zone + 0.02


SIDE_BY_SIDE = """\
program "Side by side"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, on centre, 0.5 m behind baseline, behind a screen

feed growing
    side      left wing, right wing
    depth     1 to 4 m inside service line, 0 to 3 m behind service line, 1 to 4 m inside baseline
    stance    2.885 m behind service line to 3 m behind baseline, in 3 steps
    height    1.8, 2.4, 2.8 m over net
    together  depth, stance, height
    spin      flat
    interval  5 s

feed fixed, like growing
    stance    on baseline
    depth     1 to 4 m inside baseline

session "Warming up"
    12 balls  growing in order, then back
"""


def test_lists_that_go_together_are_no_combinations() -> None:
    """Three steps to each of two sides, not 3 x 3 x 3 x 2; what a later feed says once holds for all of them."""
    found = compile_source(Source("t.feed", SIDE_BY_SIDE), ProfileShelf(), plan=False, remedies=False).program
    assert found is not None
    growing = [found.feeds[name] for name in found.families["growing"]]
    base, service = 11.885, 6.4  # ITF Rules of Tennis, rule 1: half the court, and the service line from the net
    steps = [service + 2.885 + (base + 3 - service - 2.885) * i / 2 for i in range(3)]
    assert [feed.stance for feed in growing] == pytest.approx(steps * 2)
    assert [feed.value for feed in growing] == pytest.approx([1.8, 2.4, 2.8] * 2)
    assert [feed.depth.aim for feed in growing if feed.depth] == pytest.approx([3.9, 7.9, 9.385] * 2)
    assert [feed.side.aim > 0 for feed in growing] == [True] * 3 + [False] * 3
    fixed = [found.feeds[name] for name in found.families["fixed"]]
    assert len(fixed) == 6 and {feed.stance for feed in fixed} == {base}


@pytest.mark.parametrize(
    ("words", "played"),
    [
        ("growing, 2 of each", "112233445566"),
        ("growing in order, 2 of each", "112233445566"),
        ("growing in order, then back, 2 of each", "112233445566554433221122"),
    ],
)
def test_so_many_of_each_ball_come_before_the_next(words: str, played: str) -> None:
    text = SIDE_BY_SIDE.replace("12 balls  growing in order, then back", f"{len(played)} balls  {words}")
    found = compile_source(Source("t.feed", text), ProfileShelf(), remedies=False).plan
    assert found is not None
    assert [launch.shot for launch in found.launches] == [f"growing {member}" for member in played]


def test_how_many_of_each_ball_a_mix_has_are_those_of_the_plan(capsys: pytest.CaptureFixture[str]) -> None:
    found = of_path(next(path for path in PROGRAMS if path.stem.startswith("30")))
    assert found.plan
    of = letters(found.plan).of
    sum_up(found)
    told = re.search(r"^balls of each: ((?:.|\n  )+)", capsys.readouterr().out, re.M)
    assert told
    said = {letter: int(many) for letter, many in re.findall(r"(\w+) (\d+)", told[1])}
    assert said == Counter(of[launch.first] for launch in found.plan.launches)


BASE = """program "Bases"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, on centre, 0.5 m behind baseline, behind a screen

feed skid
    side      backhand wing
    depth     9.5 m from net
    stance    where it is 2 m above ground, falling
    height    0.2 m over net
    interval  5 s
"""
PLAYED = """
feed real, like skid
    stance    2 m behind baseline
    height    1 m over net
    spin      flat

session "s"
    10 balls real
"""


@pytest.mark.parametrize("borrowed", [True, False])
def test_a_base_that_no_ball_can_be_like_and_nobody_plays_is_no_error(borrowed: bool, tmp_path: Path) -> None:
    """The plan has the ball that is played; a base of another script need not be played."""
    head = BASE.partition("\nfeed")[0]
    (tmp_path / "base.feed").write_text(f'{BASE}\nsession "s"\n    5 balls skid\n')
    own = f'{head}\nuse "base.feed"\n' if borrowed else BASE
    script = tmp_path / "own.feed"
    script.write_text(own + PLAYED)
    compiled = compile_source(Source(f"{script}", script.read_text()), ProfileShelf(), ScriptShelf(tmp_path))
    assert [finding.code for finding in compiled.findings] == ([] if borrowed else ["feed-unused"])
    assert compiled.plan and [shot.feed for shot in compiled.plan.shots] == ["real"]
