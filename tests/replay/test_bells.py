"""When bells ring: three short ones and a long one for each ball, and a pattern of its own for all else there is."""

from itertools import pairwise

import pytest

from feedwright.targets.machine.replay.bells import LONG, PATTERNS, Bells
from feedwright.targets.machine.replay.picture import Heard, Sound

TURN_S = 0.004
NOTHING = Heard(None, 0.0, None)


def rung(course: list[tuple[float, Heard]], until: float) -> list[float]:
    """Moments of bells, to 10 ms; the course says from when on what is heard, a ball by its moment."""
    bells, moments, now = Bells(), list[float](), 0.0
    while now < until:
        current = [heard for start, heard in course if start <= now][-1]
        shown = current._replace(to_go_s=current.to_go_s - now) if current.ball else current
        moments += [round(now, 2)] * bells.hear(now, shown)
        now += TURN_S
    return moments


def near(moments: list[float], wanted: list[float]) -> None:
    # A bell is looked for each 4 ms; rounding to 10 ms comes on top.
    assert len(moments) == len(wanted) and all(abs(a - b) <= 0.015 for a, b in zip(moments, wanted, strict=True)), (
        moments
    )


def test_three_short_bells_and_a_long_one_before_each_ball() -> None:
    first, second = Heard(1, 5.0, None), Heard(2, 10.0, None)
    near(rung([(0.0, first), (5.05, second)], 11.0), [2, 3, 4, 5, 5.25, 5.5, 7, 8, 9, 10, 10.25, 10.5])


def test_a_ball_that_left_a_moment_early_has_its_long_bell() -> None:
    near(rung([(0.0, Heard(1, 2.0, None)), (1.95, Heard(2, 9.0, None))], 3.0), [1, 1.95, 2.2, 2.45])


def test_a_ball_called_off_has_no_long_bell() -> None:
    near(rung([(0.0, Heard(1, 2.5, None)), (1.8, NOTHING)], 4.0), [0.5, 1.5])


@pytest.mark.parametrize("sound", list(Sound))
def test_what_else_there_is_rings_once_and_over_everything_else(sound: Sound) -> None:
    moments = rung([(0.0, Heard(1, 1.0, None)), (1.1, Heard(None, 0.0, sound))], 5.0)
    near(moments, [1.0, *(1.1 + after for after in PATTERNS[sound])])


def test_no_pattern_can_be_taken_for_another() -> None:
    """By count and pace: a rest and the end of its time may sound alike, both say that nothing is live."""
    patterns = {PATTERNS[sound] for sound in Sound} | {LONG, (0.0,)}
    assert len(patterns) == 5
    assert len({(len(p), p[1] if len(p) > 1 else 0) for p in patterns}) == 5
    # Terminals swallow a bell that follows closely on another; a quarter of a second is kept between two.
    assert all(b - a >= 0.25 for p in patterns for a, b in pairwise(p))
