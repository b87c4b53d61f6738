"""Hits of a practice beside how many of ten its plan expects; the interval is held against scipy in test_chance.py."""

from feedwright.targets.log.advice import against_plan
from feedwright.targets.log.progress import Verdict

from ..targets.more_plans import spread_out


def told(hits: int, misses: int, not_judged: int = 0) -> list[str]:
    """Of balls of a variation of which the plan expects 62 of 100."""
    verdicts = [Verdict.HIT] * hits + [Verdict.MISS] * misses + [Verdict.NOT_JUDGED] * not_judged
    plan = spread_out(False)
    shot = next(shot.id for shot in plan.shots if shot.variation)
    return against_plan(plan, [(shot, verdict) for verdict in verdicts])


def test_as_many_hits_as_expected_are_set_beside_it() -> None:
    (sentence,) = told(13, 7, 5)
    assert "13 of 20 (65%, 95% interval 43% to 82%) were hit; the plan expects 6 of ten." in sentence


def test_far_more_and_far_fewer_say_what_the_scatter_may_be() -> None:
    assert told(38, 2)[0].endswith("so the player may be steadier than its scatter says.")
    assert told(8, 32)[0].endswith("so the player may scatter more widely than it says.")


def test_few_balls_say_nothing() -> None:
    assert told(10, 9, 30) == []
