"""A score of a block: how marks move it, how likely it comes where, and what the plan and the check say of it."""

import json
from itertools import product
from math import cos, factorial, pi, prod, sin
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, nbinom

from feedwright.compiler.model.plan import ScoreRecord
from feedwright.compiler.model.score import ScoreStanding, end_of, farthest, forecast, moved
from feedwright.compiler.model.session import Score
from feedwright.grammar.units import times_in_ten
from feedwright.targets.command.cli import main
from feedwright.targets.document import PlanRefused, read

from .forged import sealed
from .test_points import BALLS, compiled, plan_of

AIMED = """\
variation go "deep"
    reply     0 to 5 m inside baseline
feed easy aims go, like slow
    pace      70 km/h
feed hard aims go, like slow
    pace      80 km/h
point both
    plays easy, then hard
session "s"
"""
LIVES = "    60 balls mix easy, hard, until score 0\n        score from 5, hit 0, miss -1, 3 in a row +1, at most 5\n"


def session(*lines: str) -> str:
    return AIMED + "".join(f"    {line}\n" for line in lines)


@pytest.mark.parametrize("share", [0.3, 0.5, 0.62])
@pytest.mark.parametrize("balls", [9, 24, 60])
def test_a_walk_between_two_ends_is_the_gamblers_ruin(share: float, balls: int) -> None:
    """W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, 3rd ed., XIV.5 (5.7): from z to 0
    with the n-th trial, and never to a before; and (2.4) of the same chapter for ever."""
    z, a, p, q = 3, 10, share, 1 - share

    def ruined(n: int) -> float:
        waves = (cos(pi * v / a) ** (n - 1) * sin(pi * v / a) * sin(pi * z * v / a) for v in range(1, a))
        return 2**n / a * p ** ((n - z) / 2) * q ** ((n + z) / 2) * sum(waves)

    rules = Score(start=z, hit=1, miss=-1, ends=(a, 0))
    found = forecast(rules, [(p, 1, -1)] * balls)
    assert found.ends[0] == pytest.approx(sum(ruined(n) for n in range(1, balls + 1)), abs=1e-12)
    ever = z / a if p == q else ((q / p) ** z - 1) / ((q / p) ** a - 1)
    assert forecast(rules, [(p, 1, -1)] * 3000).ends[a] == pytest.approx(ever, abs=1e-12)


@pytest.mark.parametrize("share", [0.2, 0.55, 0.9])
def test_hits_in_all_and_lives_are_binomial(share: float) -> None:
    """scipy.stats: so many hits of all (binom), and the fifth miss among all (nbinom)."""
    hits = forecast(Score(ends=(12,)), [(share, 1, 0)] * 20)
    assert hits.ends[12] == pytest.approx(binom.sf(11, 20, share), abs=1e-12)
    assert hits.at_least(9) == pytest.approx(binom.sf(8, 20, share), abs=1e-12)
    lives = forecast(Score(start=5, hit=0, miss=-1, ends=(0,)), [(share, 0, -1)] * 40)
    assert lives.ends[0] == pytest.approx(nbinom.cdf(35, 5, 1 - share), abs=1e-12)


def runs_of(k: int, x: int, n: int, p: float) -> float:
    """x streaks of k hits in n balls, each begun anew after the last: the binomial distribution of order k, as A. N.
    Philippou and F. S. Makri give it (Statistics & Probability Letters 4, 211 (1986)), for k = 3."""
    assert k == 3
    total, q = 0.0, 1 - p
    for i in range(k):
        left = n - i - k * x
        for third in range(max(left, -3) // 3 + 1):
            for second in range((left - 3 * third) // 2 + 1):
                first = left - 3 * third - 2 * second
                each = first, second, third, x
                ways = factorial(sum(each)) / prod(map(factorial, each))
                total += ways * p**n * (q / p) ** (first + second + third)
    return total


def test_a_bonus_comes_after_each_streak_that_begins_anew() -> None:
    found = forecast(Score(hit=0, row=3, bonus=1), [(0.7, 0, 0)] * 17)
    assert found.last == pytest.approx({x: runs_of(3, x, 17, 0.7) for x in range(6)}, abs=1e-12)


NUMBERS = st.integers(-3, 3)
RULES = st.builds(
    Score, start=st.just(0), row=st.none() | st.integers(1, 4), bonus=NUMBERS,
    least=st.none() | st.integers(-4, 0), most=st.none() | st.integers(0, 4),
    ends=st.sampled_from([(), (3,), (-2,), (4, -3), (-1, 6)]),
)  # fmt: skip
UNITS = st.lists(st.tuples(st.sampled_from([0.0, 0.25, 0.5, 0.8, 1.0]), NUMBERS, NUMBERS), min_size=1, max_size=9)


def recounted(rules: Score, adds: list[tuple[int, int]], hits: tuple[bool, ...]) -> tuple[int, int | None]:
    """The score after these marks and the end that it came to, counted mark by mark from the words of LANGUAGE.md."""
    score, streak = rules.start, 0
    for (add, miss), hit in zip(adds, hits, strict=True):
        streak = streak + 1 if hit else 0
        score += add if hit else miss
        if rules.row and streak and streak % rules.row == 0:
            score += rules.bonus
        score = max(score, -99 if rules.least is None else rules.least)
        score = min(score, 99 if rules.most is None else rules.most)
        for end in rules.ends:
            if (end > 0 and score >= end) or (end < 0 and score <= end):
                return score, end
    return score, None


@given(RULES, UNITS)
def test_the_forecast_is_the_sum_over_all_courses_of_marks(rules: Score, units: list[tuple[float, int, int]]) -> None:
    adds = [(hit, miss) for _, hit, miss in units]
    ends, last = dict.fromkeys(rules.ends, 0.0), dict[int, float]()
    for hits in product((True, False), repeat=len(units)):
        chance = prod(share if hit else 1 - share for (share, *_), hit in zip(units, hits, strict=True))
        score, end = recounted(rules, adds, hits)
        last[score] = last.get(score, 0.0) + chance
        if end is not None:
            ends[end] += chance
    found = forecast(rules, units)
    assert found.ends == pytest.approx(ends, abs=1e-12)
    assert {score: found.last.get(score, 0.0) for score in last} == pytest.approx(last, abs=1e-12)


@given(RULES, UNITS)
def test_no_marks_lead_farther_than_it_says_and_some_lead_there(
    rules: Score, units: list[tuple[float, int, int]]
) -> None:
    adds, free = [(hit, miss) for _, hit, miss in units], Score(
        start=0, row=rules.row, bonus=rules.bonus, least=rules.least, most=rules.most
    )  # fmt: skip
    found = [
        recounted(free, adds[:n], hits)[0] for n in range(len(adds) + 1) for hits in product((True, False), repeat=n)
    ]
    assert list(farthest(rules, adds))[-1] == (min(found), max(found))


def test_a_mark_moves_it_and_its_bounds_hold_all_that_it_adds() -> None:
    lives = Score(start=5, hit=0, miss=-1, row=3, bonus=1, most=5, ends=(0,))
    now, told = ScoreStanding(5), []
    for hit in "mhhhhhhmmm":
        now = moved(lives, now, 0 if hit == "h" else -1, hit == "h")
        told.append(now.score)
    assert told == [4, 4, 4, 5, 5, 5, 5, 4, 3, 2] and end_of(lives, 2) is None and end_of(lives, 0) == 0


def test_the_plan_holds_what_each_ball_or_point_adds() -> None:
    plan = plan_of(session(
        "36 balls cycle easy, hard, until score 40", "    score easy 1, hard 2", "rest 30 s",
        LIVES.strip(), "    goal score 1", "rest 30 s",
        "8 points both, until score 4 or -3", "    score both 2, miss -1",
        "rest 30 s", "6 balls mix easy, slow", "    score go 3, hit 0",
    ))  # fmt: skip
    cycle, lives, points, aims = (block for block in plan.blocks if block.score)
    assert cycle.score == ScoreRecord(start=0, worth={"easy": 1, "hard": 2}, miss=0, ends=(40,))
    assert lives.score == ScoreRecord(
        start=5, worth={"easy": 0, "hard": 0}, miss=-1, row=3, bonus=1, most=5, ends=(0,), goal=1
    )
    assert points.score == ScoreRecord(start=0, worth={"both": 2}, miss=-1, ends=(4, -3))
    assert aims.score == ScoreRecord(start=0, worth={"easy": 3, "slow": 0}, miss=0)
    assert [block.ends_early for block in (cycle, lives, points, aims)] == [True, True, True, False]


def test_under_rounds_it_goes_on_and_in_each_round_it_begins_anew() -> None:
    over = session(
        "3 rounds", "    score miss -1", "    goal score 6", "    4 balls easy", "    rest 20 s between rounds"
    )
    scores = [block.score for block in plan_of(over).blocks if block.score]
    assert [(one.goes_on, one.goal, one.ends) for one in scores] == [(False, 6, ()), (True, 6, ()), (True, 6, ())]
    anew = session("3 rounds", "    4 balls easy, until score 3", "    rest 20 s between rounds")
    assert [block.score.goes_on for block in plan_of(anew).blocks if block.score] == [False] * 3
    inner = session("2 rounds", "    2 rounds", "        score miss -1", "        4 balls easy", "    rest 20 s")
    assert [block.score.goes_on for block in plan_of(inner).blocks if block.score] == [False, True] * 2


def test_a_collect_inside_a_block_does_not_begin_it_anew() -> None:
    """The hopper holds 150 balls."""
    plan = plan_of(session("collect 1 min when empty", "100 balls easy", "90 balls hard", "    goal score 60"))
    assert [(block.balls, block.score and block.score.goes_on) for block in plan.blocks] == [
        (100, None), (50, False), (0, None), (40, True),
    ]  # fmt: skip


def chances(text: str) -> tuple[list[dict[int, float]], list[float | None], dict[str, float]]:
    found = compiled(text)
    assert found.evaluation and found.plan, [one.headline for one in found.findings]
    shares = {name: reply.share for name, reply in found.evaluation.replies.items()}
    return [dict(end.ends) for end in found.early], [goal.chance for goal in found.goals], shares


def test_the_check_says_how_likely_each_end_and_the_goal_are() -> None:
    """scipy.stats.binom and nbinom at the shares of good replies that the check itself has; a point of two balls is won
    with both."""
    ends, goals, shares = chances(session(
        "30 balls easy, until score 24", "rest 30 s",
        "20 balls hard, until score 0", "    score from 4, hit 0, miss -1", "    goal score 1", "rest 30 s",
        "12 points both", "    goal score 8",
    ))  # fmt: skip
    easy, hard = shares["easy"], shares["hard"]
    lost = float(nbinom.cdf(20 - 4, 4, 1 - hard))
    assert [one for end in ends for one in end.items()] == [
        (24, pytest.approx(binom.sf(23, 30, easy), abs=1e-12)), (0, pytest.approx(lost, abs=1e-12)),
    ]  # fmt: skip
    assert goals == pytest.approx([1 - lost, binom.sf(7, 12, easy * hard)], abs=1e-12)


def test_the_command_tells_two_ends_one_by_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = BALLS.format(machine="academy", interval="4 s", middling="76 km/h")
    text += session("30 balls easy, until score 10 or -5", "    score miss -1")
    (tmp_path / "s.feed").write_text(text)
    main(["check", str(tmp_path / "s.feed")])
    (end,) = compiled(session("30 balls easy, until score 10 or -5", "    score miss -1")).early
    up, down = (times_in_ten(chance) for _, chance in end.ends)
    told = " ".join(capsys.readouterr().out.split())
    assert f"30 balls easy, until score 10 or -5: 10 reached {up} in ten, -5 reached {down} in ten" in told
    main(["check", "--json", str(tmp_path / "s.feed")])
    said = json.loads(capsys.readouterr().out)["early_ends"][0]
    assert [one["score"] for one in said["ends"]] == [10, -5]
    assert said["chance"] == pytest.approx(sum(one["chance"] for one in said["ends"]), abs=2e-3)


def test_over_rounds_the_chance_counts_all_their_balls() -> None:
    lines = "3 rounds", "    goal score 10", "    4 balls easy", "    rest 20 s between rounds"
    _, goals, shares = chances(session(*lines))
    assert goals == pytest.approx([binom.sf(9, 12, shares["easy"])], abs=1e-12)
    assert [one.words for one in compiled(session(*lines)).goals] == ["all 3 rounds, goal score 10"]


def test_no_chance_is_told_where_other_marks_decide_or_nothing_is_asked() -> None:
    for lines in (
        ("20 balls mix easy, slow, until score 12",),
        ("20 points both", "    first to 5", "    goal score 8"),
        ("20 balls easy, until 4 in a row", "    goal score 8"),
    ):
        found = compiled(session(*lines))
        assert [one.chance for one in (*found.early, *found.goals)][-1] is None, lines


CHANGES: dict[str, Any] = {
    "worth": {"easy": 1}, "start": 6, "ends": [5], "row": None, "goes_on": True, "least": 6, "miss": "-1", "bonus": 101,
}  # fmt: skip


@pytest.mark.parametrize("entry", CHANGES)
def test_a_plan_with_a_score_that_cannot_be_is_refused(entry: str) -> None:
    plan = plan_of(AIMED + LIVES).data()
    with pytest.raises(PlanRefused):
        plan["blocks"][0]["score"][entry] = CHANGES[entry]
        read(sealed(plan))


def test_ends_beside_other_ends_are_refused() -> None:
    plan = plan_of(AIMED + LIVES).data()
    plan["blocks"][0]["until"] = [{"variation": None, "hits": 3, "among": 3, "counts": "hits", "in_sets": False}]
    with pytest.raises(PlanRefused, match="only thing that ends it"):
        read(sealed(plan))


def test_lines_that_are_not_indented_belong_to_the_block_above() -> None:
    said = "20 balls easy", "    score miss -1", "    until score 9", "    goal score 3"
    outside = session(*(line.strip() for line in said))
    assert plan_of(outside).blocks[0].score == plan_of(session(*said)).blocks[0].score
