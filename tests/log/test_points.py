"""The course of points, compared with a plain reading of the same balls as a text."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedwright.compiler.model.plan import Block, PointRecord
from feedwright.targets.log.points import Course, PointBall, PointTally, course, left_out, shot_of, summed, told
from feedwright.targets.log.progress import Verdict


def block(*points: PointRecord) -> Block:
    drawn = tuple(shot for point in points for shot in point.shots)
    return Block(
        index=0, kind="balls", words="points", part=0, start_s=0, end_s=100, balls=len(drawn), order="mix",
        shots=tuple(dict.fromkeys(drawn)), round=None, notes=(), points=points,
    )  # fmt: skip


def point(name: str, after_miss: str) -> PointRecord:
    return PointRecord(name=name, shots=tuple(name), serve_s=None, after_miss=after_miss)


VERDICTS = st.lists(st.sampled_from([Verdict.HIT, Verdict.MISS]), max_size=40)


@given(VERDICTS)
def test_a_point_that_begins_again_is_won_where_its_balls_are_hit_one_after_the_other(verdicts: list[Verdict]) -> None:
    """`ahbhch` in the text is a point won, and every `m` is one lost."""
    of, balls = block(*[point("abc", after_miss="from the start")] * 14), list[PointBall]()
    for index, verdict in enumerate(verdicts):
        balls.append(PointBall(index, shot_of(of, course(of, balls)), verdict))
    text = "".join(ball.shot + ball.verdict.value for ball in balls)
    tally = course(of, balls).tallies.get("abc", PointTally())
    assert (tally.won, tally.lost, tally.open) == (len(re.findall("ahbhch", text)), text.count("m"), 0)
    assert re.fullmatch("((ahbhch)|(am)|(ahbm)|(ahbhcm))*(ah)?(ahbh)?", text)


@given(VERDICTS)
def test_the_points_that_are_over_come_in_their_order(verdicts: list[Verdict]) -> None:
    of = block(*[point("ab", after_miss="goes on")] * 20)
    balls = [PointBall(i, "ab"[i % 2], verdict) for i, verdict in enumerate(verdicts)]
    pairs = re.findall("..", "".join(verdict.value for verdict in verdicts))
    over = ["m" if "m" in pair else "n" if "n" in pair else "h" for pair in pairs]
    assert [result.value for result in course(of, balls).results] == over


@given(VERDICTS)
def test_a_point_that_goes_on_after_a_miss_is_lost_by_it(verdicts: list[Verdict]) -> None:
    of = block(*[point("ab", after_miss="goes on")] * 20)
    balls = [PointBall(i, "ab"[i % 2], verdict) for i, verdict in enumerate(verdicts)]
    pairs = re.findall("..", "".join(verdict.value for verdict in verdicts))
    tally = course(of, balls).tallies.get("ab", PointTally())
    assert (tally.won, tally.lost) == (pairs.count("hh"), len(pairs) - pairs.count("hh"))


@pytest.mark.parametrize("after_miss", ["goes on", "from the start", "next point"])
def test_before_the_first_ball_comes_the_first_of_the_first_point(after_miss: str) -> None:
    assert course(block(*[point("ab", after_miss)] * 3), []) == Course(0, 0, {})


def test_a_ball_without_a_mark_neither_ends_a_point_nor_wins_it() -> None:
    of = block(point("ab", after_miss="from the start"), point("ab", after_miss="from the start"))
    balls = [PointBall(0, "a", Verdict.NOT_JUDGED), PointBall(1, "b", Verdict.HIT)]
    assert course(of, balls) == Course(1, 0, {"ab": PointTally(open=1)}, (Verdict.NOT_JUDGED,), (0,), ("ab",))


def test_a_ball_that_was_on_its_way_when_the_miss_was_marked_belongs_to_no_point() -> None:
    of = block(*[point("ab", after_miss="from the start")] * 3)
    balls = [PointBall(0, "a", Verdict.MISS), PointBall(1, "b", Verdict.HIT)]
    assert course(of, balls) == Course(0, 0, {"ab": PointTally(lost=1)}, (Verdict.MISS,), (0,), ("ab",))
    assert shot_of(of, course(of, balls)) == "a"


def test_a_ball_that_was_not_thrown_leaves_its_point_undecided_and_moves_no_other() -> None:
    of = block(*[point("ab", after_miss="goes on")] * 3)
    balls = [PointBall(i, "ab"[i % 2], Verdict.HIT) for i in (0, 1, 2, 4, 5)]
    assert course(of, balls).tallies == {"ab": PointTally(won=2, open=1)}


@pytest.mark.parametrize(
    ("tally", "said"),
    [
        (PointTally(won=5, lost=3), "5 of 8 points won"),
        (PointTally(won=0, lost=1), "0 of 1 point won"),
        (PointTally(won=1, lost=1, open=2), "1 of 4 points won, 2 not judged"),
    ],
)
def test_a_tally_in_words(tally: PointTally, said: str) -> None:
    assert told(tally) == said


def test_tallies_of_several_blocks_add_up_by_name() -> None:
    assert summed([{"a": PointTally(won=1)}, {"a": PointTally(lost=2), "b": PointTally(open=1)}]) == {
        "a": PointTally(1, 2), "b": PointTally(open=1),
    }  # fmt: skip


def test_after_a_miss_the_balls_that_are_left_of_a_point_do_not_come() -> None:
    of = block(*[point("abc", after_miss="next point")] * 3)
    hit, miss = Verdict.HIT, Verdict.MISS
    balls = [PointBall(0, "a", hit), PointBall(1, "b", miss), PointBall(3, "a", miss)]
    assert [index for index in range(9) if left_out(of, balls, index)] == [2, 4, 5]
    assert course(of, balls).tallies == {"abc": PointTally(lost=2)}
    balls += [PointBall(6, "a", hit), PointBall(7, "b", hit), PointBall(8, "c", hit)]
    assert course(of, balls).tallies == {"abc": PointTally(won=1, lost=2)}
    straight = block(*[point("abc", after_miss="goes on")] * 3)
    assert not any(left_out(straight, balls, index) for index in range(9))
