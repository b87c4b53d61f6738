"""What holds of time in every practice, tried on drawn sessions.

Drawn sessions are scheduled for balls flown once: what is drawn changes when they come, not how they fly.
"""

import json
from functools import cache
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from feedwright.compiler.assemble import assemble
from feedwright.compiler.check.device import _longer, rhythm
from feedwright.compiler.expand import expand
from feedwright.compiler.model.evaluation import Evaluation
from feedwright.compiler.model.program import Program
from feedwright.compiler.model.shots import Shots
from feedwright.compiler.resolve import resolve
from feedwright.compiler.schedule import schedule
from feedwright.compiler.solve import solve
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.targets.document import render
from feedwright.targets.machine.feeders import ProfileShelf

from .whole import share

CALM = settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])

HEAD = """program "Law"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine academy, on centre, on baseline, behind a screen
    seed      {seed}
"""
FEED = """feed {name}
    side      middle
    depth     {depth}
    stance    1 m behind baseline
    time      {time} s to contact
    spin      flat
    interval  {interval}
"""
# Time to contact, s, and depth: a flies longest, b shortest, c is a family of two.
BALLS = {"a": ("2.2", "deep"), "b": ("1.1", "deep"), "c": ("1.6", "2 to 4 m inside baseline, in 2 steps")}
LEAST_S = 1.55
"""Least interval of the academy machine: 1.5 s, and 0.05 s of jitter (targets/machine/feeders/academy.toml)."""


@cache
def profiles() -> ProfileShelf:
    return ProfileShelf()


def program_of(intervals: dict[str, str], session: str, seed: int = 1) -> Program:
    feeds = "".join(
        FEED.format(name=name, depth=depth, time=time, interval=intervals[name])
        for name, (time, depth) in BALLS.items()
    )
    tree, findings = parse(Source("law.feed", f'{HEAD.format(seed=seed)}{feeds}session "Law"\n{session}'))
    program, slips = resolve(tree, profiles(), {})
    assert program and not findings + slips
    return program


@cache
def flown() -> Shots:
    program = program_of(dict.fromkeys(BALLS, "5 s"), "    1 ball a\n")
    shots = solve(program, program.feeds)
    assert not shots.misses
    return shots


def planned(program: Program) -> dict[str, Any] | None:
    """The plan as JSON; None where a block is too short for a ball, or a shift leaves the machine too little time."""
    sequence, findings = expand(program)
    assert sequence and not findings
    scheduled, findings = schedule(program, sequence, flown())
    assert {finding.code for finding in findings} <= {"block-too-short"}
    nothing = Evaluation({}, {})
    if findings or rhythm(program, flown(), scheduled, nothing):
        return None
    plan: dict[str, Any] = json.loads(render(assemble(program, flown(), scheduled, nothing)))
    return plan


TIMES = st.integers(20, 90).map(lambda tenths: tenths / 10)
Line = tuple[str, float, int]
"""A block's words, its seconds or 0, and its balls or 0."""


@st.composite
def lines(draw: st.DrawFn) -> Line:
    kind = draw(st.sampled_from(["timed", "timed", "timed", "counted", "rest", "collect"]))
    if kind in ("rest", "collect"):
        seconds = draw(st.sampled_from([1, 2.5, 30, 120, 121]))
        return f"{kind} {seconds:g} s", seconds, 0
    order = draw(st.sampled_from(["a", "b", "c", "cycle a, b", "cycle 2 b, a, c", "mix a, 2 b, c, at most 2 alike"]))
    if kind == "counted":
        balls = draw(st.integers(1, 9))
        return f"{balls} balls {order}", 0.0, balls
    seconds = draw(st.integers(30, 600)) / 10
    return f"{seconds:g} s {order}", seconds, 0


ENDINGS = st.sampled_from(["", " between contacts", " between contacts"])


@settings(CALM, max_examples=share(200))
@given(
    intervals=st.fixed_dictionaries({name: st.tuples(TIMES, ENDINGS) for name in BALLS}),
    session=st.lists(lines(), min_size=1, max_size=7),
    seed=st.integers(0, 99),
)
def test_one_clock(intervals: dict[str, tuple[float, str]], session: list[Line], seed: int) -> None:
    written = {name: f"{seconds:g} s{ending}" for name, (seconds, ending) in intervals.items()}
    plan = planned(program_of(written, "".join(f"    {words}\n" for words, *_ in session), seed))
    assume(plan is not None)
    assert plan
    blocks, launches = plan["blocks"], plan["launches"]
    # The session is as long as was asked, block by block.
    assert [block["words"] for block in blocks] == [words for words, *_ in session]
    for i, (block, (_, seconds, balls)) in enumerate(zip(blocks, session, strict=True)):
        mine = [ball for ball in launches if ball["block"] == i]
        assert block["balls"] == len(mine) and (block["kind"] == "balls") == bool(mine)
        asked = block["start_s"] + seconds
        if balls:
            assert len(mine) == balls
            asked = mine[-1]["at_s"] + intervals[mine[-1]["shot"][0]][0]
        assert block["end_s"] == pytest.approx(asked, abs=2e-4)  # a plan tells seconds to 0.1 ms
    check_tiles(plan)
    # Order, the machine's least interval over everything, and each ball's own.
    flight = {shot["id"]: shot["predicted"]["contact_s"] for shot in plan["shots"]}
    for one, two in pairwise(launches):
        apart = two["at_s"] - one["at_s"]
        assert apart >= LEAST_S - 2e-4
        own, ending = intervals[two["shot"][0]]
        if ending:  # from contact to contact
            apart += flight[two["shot"]] - flight[one["shot"]]
        assert apart >= own - 4e-4
        if one["block"] == two["block"]:
            assert apart == pytest.approx(own, abs=4e-4)


def check_tiles(plan: dict[str, Any]) -> None:
    """No gap and no overlap; every ball in its block."""
    for spans in (plan["blocks"], plan["parts"]):
        assert spans[0]["start_s"] == 0 and spans[-1]["end_s"] == plan["totals"]["duration_s"]
        assert all(one["end_s"] == two["start_s"] for one, two in pairwise(spans))
        assert all(span["start_s"] < span["end_s"] for span in spans)
    for ball in plan["launches"]:
        block = plan["blocks"][ball["block"]]
        part = plan["parts"][block["part"]]
        assert block["kind"] == "balls"
        assert part["start_s"] <= block["start_s"] <= ball["at_s"] < block["end_s"] <= part["end_s"]
    for part in plan["parts"]:
        within = [block for block in plan["blocks"] if block["part"] == part["index"]]
        played = [i for i, block in enumerate(within) if block["balls"]]
        # Behind a collect or a long rest nothing goes on without somebody who arms.
        for block in within[played[0] : -1] if played else ():
            lasted = round(block["end_s"] - block["start_s"], 4)  # 165.8 - 45.8 is 120.00000000000001
            assert block["kind"] == "balls" or (block["kind"] == "rest" and lasted <= 120)


def test_a_shift_that_leaves_the_block_is_met_in_the_drawn_sessions() -> None:
    """The law above would hold of sessions without any; here the ball's turn comes and its shift takes it out."""
    written = dict.fromkeys(BALLS, "5 s between contacts")
    plan = planned(program_of(written, "    10.5 s cycle 2 a, b\n    collect 5 s\n    6 s b\n"))
    assert plan
    # a leaves at 0 and 5 s; b, whose turn is at 10 s, would be met 5 s after the second a and leave at 11.1 s.
    assert [ball["shot"] for ball in plan["launches"]] == ["a", "a", "b", "b"]
    assert [ball["at_s"] for ball in plan["launches"]] == [0, 5, 15.5, 20.5]


def test_a_shift_may_not_bring_a_ball_too_soon_after_a_short_collect_either() -> None:
    """b leaves at 0, 2 and 4 s, the collect ends at 5.1 s. a flies 1.1 s longer, so its 2 s from contact to contact are
    over then: 1.1 s after the last launch, and the machine needs 1.55 s. A second longer, and there is time."""
    written = {**dict.fromkeys(BALLS, "2 s"), "a": "2 s between contacts"}
    short, long = (f"    4.1 s b\n    collect {seconds} s\n    1 ball a\n" for seconds in (1, 2))
    assert planned(program_of(written, short)) is None
    plan = planned(program_of(written, long))
    assert plan and [ball["at_s"] for ball in plan["launches"]] == [0, 2, 4, 6.1]


def test_a_ball_fits_that_leaves_a_tenth_of_a_millisecond_before_its_block_ends() -> None:
    """That is the last moment of which a plan can tell that it lies inside."""
    for interval, balls in (("9.9999 s", 2), ("10 s", 1)):
        plan = planned(program_of(dict.fromkeys(BALLS, interval), "    10 s a\n"))
        assert plan and len(plan["launches"]) == balls


@pytest.mark.parametrize("before", [10, 22.3, 45.8])
def test_a_rest_of_two_minutes_keeps_a_part_together_and_a_longer_one_ends_it(before: float) -> None:
    """Whenever it begins: 45.8 s and two minutes later, 165.8 s, as floats lie a little more than 120 apart."""
    for seconds, parts in ((120, 1), (120.1, 2)):
        plan = planned(program_of(dict.fromkeys(BALLS, "5 s"), f"    {before} s a\n    rest {seconds} s\n    10 s a\n"))
        assert plan and len(plan["parts"]) == parts


def test_intervals_are_proposed_from_the_least_to_three_times_that_in_half_seconds() -> None:
    feed = program_of(dict.fromkeys(BALLS, "5 s"), "    1 ball a\n").feeds["a"]
    assert [" ".join(remedy.text.split()) for remedy in _longer(feed, 4.1)] == [
        f"interval {seconds} s" for seconds in ("4.5", "5.5", "6.5", "8.5", "12.5")
    ]
