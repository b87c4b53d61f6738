"""A collect comes wherever the hopper is empty, and nowhere else; what is played stays the same. `collect when empty`
says how long it takes."""

from itertools import groupby

import pytest

from feedwright.compiler.findings.feeder import CollectAdded, HopperEmpty
from feedwright.compiler.model.compiled import Compiled
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.verify import verify
from feedwright.grammar.finding import Message
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs.sheet.page import sheet

from .test_people import ANNA, BEN

CLUB = ProfileShelf(None).load("club")
HOPPER = 120
"""What `club.toml` says."""
SCRIPT = """program "Long"
    surface   hard
{players}
    feeder    machine club, on centre, on baseline, behind a screen

feed waist
    side      backhand wing
    depth     1 to 4 m inside baseline
    stance    2.5 m behind baseline
    height    waist, falling
    spin      topspin 900 rpm
    interval  5 s

feed low, like waist
    height    1 m over net
    interval  4 s

point two
    plays     waist, then low

point earned
    plays     waist, then low
    if missed, from the start

session "Long"
    {refill}
{blocks}
"""
ONE = "    player    right-handed, 1.72 m tall"
REFILL = "collect 3 min when empty"


def built(blocks: str, refill: str = REFILL, players: str = ONE) -> Plan:
    made = compiled(blocks, refill, players)
    assert made.plan, made.findings
    return made.plan


def messages(blocks: str, refill: str) -> list[Message]:
    return [finding.message for finding in compiled(blocks, refill).findings]


def compiled(blocks: str, refill: str, players: str = ONE) -> Compiled:
    lines = "\n".join(f"    {line}" for line in blocks.split("\n"))
    text = SCRIPT.format(players=players, refill=refill, blocks=lines)
    return compile_source(Source("long.feed", text), ProfileShelf(None), remedies=False)


def between_collects(plan: Plan) -> list[int]:
    """The balls from one collect to the next."""
    full = [block for block in plan.blocks if block.kind != "rest"]
    return [sum(b.balls for b in some) for kind, some in groupby(full, key=lambda b: b.kind) if kind == "balls"]


BLOCKS = {
    "minutes": ("20 min waist", [120, 120]),
    "balls": ("300 balls mix waist, low, at most 2 alike", [120, 120, 60]),
    "points whole": ("7 balls waist\n100 points two", [119, 88]),
    "rounds": ("3 rounds\n    70 balls waist\n    rest 30 s", [120, 90]),
    "a ladder whole": ("100 balls low\nladder low, up to 60 balls, pace 75, 80 km/h\n    up 3 in a row", [100, 60]),
    "a block of marks whole": ("10 balls waist\n59 points earned", [10, 118]),
    "exactly full": ("120 balls waist", [120]),
    "the script's own collect": ("80 balls waist\ncollect\n80 balls waist", [80, 80]),
    "after the last ball of a block": ("120 balls waist\n8 balls low", [120, 8]),
}


@pytest.mark.parametrize("name", BLOCKS)
def test_a_collect_comes_where_the_hopper_is_empty(name: str) -> None:
    blocks, balls = BLOCKS[name]
    plan = built(blocks)
    assert between_collects(plan) == balls and max(balls) <= HOPPER
    assert not verify(plan, CLUB)
    assert sum(part.balls for part in sheet(plan).parts) == plan.totals.balls


def test_a_block_of_minutes_plays_all_its_minutes_and_the_same_balls() -> None:
    plan = built("24 min waist\n1 min low")
    played = [block for block in plan.blocks if block.kind == "balls"]
    assert sum(block.duration_s for block in played if "waist" in block.words) == 24 * 60
    assert [block.words for block in played] == [
        "24 min waist",
        "24 min waist, continued",
        "24 min waist, continued",
        "1 min low",
    ]
    assert sum(block.balls for block in played if "waist" in block.words) == 24 * 60 / 5
    assert plan.totals.duration_s == 25 * 60 + 2 * 180


PEOPLE = f"    player    {ANNA}\n    player    {BEN}\n    rotation  changing every 7 balls, changeover 10 s"


@pytest.mark.parametrize(("seconds", "balls"), [(587, [120]), (593, [120, 3])])
def test_no_collect_comes_for_less_time_than_a_changeover(seconds: int, balls: list[int]) -> None:
    """120 balls every 4 s with 17 changeovers, each 6 s longer than the interval, take 582 s."""
    assert between_collects(built(f"{seconds} s low", players=PEOPLE)) == balls


def test_players_go_on_in_their_turns_after_a_collect() -> None:
    plan = built("154 balls low", players=PEOPLE)
    shots = {shot.id: shot.player for shot in plan.shots}
    turns = [len(list(some)) for _, some in groupby(shots[launch.first] for launch in plan.launches)]
    assert turns == [7] * 22 and between_collects(plan) == [120, 34]


def test_without_a_line_the_same_collects_come_and_take_two_minutes() -> None:
    blocks = "24 min waist\nrest 1 min\n5 min low"
    plain, said = built(blocks, refill=""), built(blocks, refill="collect 2 min when empty")
    assert [launch.at_s for launch in plain.launches] == [launch.at_s for launch in said.launches]
    assert [(b.kind, b.start_s, b.end_s) for b in plain.blocks] == [(b.kind, b.start_s, b.end_s) for b in said.blocks]
    assert {block.words for block in plain.blocks if block.kind == "collect"} == {"collect"}
    assert not verify(plain, CLUB)


def test_a_note_says_after_which_balls_they_come_and_a_said_collect_gives_none() -> None:
    (added,) = [m for m in messages("24 min waist\nrest 1 min\n5 min low", "") if isinstance(m, CollectAdded)]
    assert (added.held, added.length, added.after) == (HOPPER, 120.0, ("120", "240", "360"))
    assert not [m for m in messages("24 min waist", REFILL) if isinstance(m, CollectAdded)]


def test_what_stays_whole_and_is_more_than_the_hopper_holds_is_refused() -> None:
    for block in ("61 points earned", "ladder low, up to 121 balls, pace 75, 80 km/h\n    up 3 in a row"):
        (empty,) = [m for m in messages(f"10 balls waist\n{block}", "") if isinstance(m, HopperEmpty)]
        assert (empty.held, empty.used) in ((HOPPER, 122), (HOPPER, 121))


def test_each_collect_ends_a_part_and_no_ball_leaves_in_it() -> None:
    plan = built("300 balls waist")
    assert len(plan.parts) == 3
    for block in plan.blocks:
        if block.kind == "collect":
            assert not any(block.start_s <= launch.at_s < block.end_s for launch in plan.launches)
