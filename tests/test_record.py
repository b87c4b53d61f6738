"""A record to beat, `record 30 balls`: how often it is beaten, and what plan, sheet, screen and replay say of it."""

from types import SimpleNamespace

import pytest
from scipy.stats import binom

from feedwright.compiler.pipeline import Compiled
from feedwright.grammar.format import formatted
from feedwright.grammar.source import Source
from feedwright.targets.document import PlanRefused, read
from feedwright.targets.log.progress import Verdict
from feedwright.targets.machine.replay.afterwards import afterwards
from feedwright.targets.machine.replay.places import places, shelf
from feedwright.targets.machine.replay.points import Points
from feedwright.targets.outputs.sheet import phone
from feedwright.targets.outputs.sheet.page import sheet

from .forged import sealed
from .replay.test_scores import recorded
from .test_points import compiled, plan_of
from .test_scores import session

LIVES = ("20 balls easy, until score 0", "    score from 3, hit 0, miss -1", "    record 9 balls")
FAST = ("20 balls easy, until score 5", "    record 9 balls")


def beaten(found: Compiled) -> tuple[str, float]:
    """What the check says of the record, and how many replies are good."""
    assert found.plan and found.plan.shots[0].reply
    (one,) = found.goals
    assert one.chance is not None
    return one.words, one.chance


def share_of(found: Compiled) -> float:
    assert found.plan and found.plan.shots[0].reply
    return found.plan.shots[0].reply.share_good


def test_it_is_outlasted_if_fewer_than_all_lives_are_lost_in_as_many_balls() -> None:
    """scipy.stats.binom: at most two misses in nine balls. A plan is rounded."""
    words, chance = beaten(found := compiled(session(*LIVES)))
    assert words.endswith(", more than 9 balls")
    assert chance == pytest.approx(binom.cdf(2, 9, 1 - share_of(found)), abs=2e-3)


def test_where_hits_end_the_block_fewer_balls_beat_it() -> None:
    """scipy.stats.binom: five hits or more in eight balls."""
    words, chance = beaten(found := compiled(session(*FAST)))
    assert words.endswith(", fewer than 9 balls")
    assert chance == pytest.approx(binom.sf(4, 8, share_of(found)), abs=2e-3)


def test_it_stands_beside_hits_and_misses_as_ends_too() -> None:
    """Two misses in a row in the first two balls, and two hits in a row: products by hand."""
    _, longer = beaten(found := compiled(session("20 balls easy, until 2 misses in a row", "    record 2 balls")))
    assert longer == pytest.approx(1 - (1 - share_of(found)) ** 2, abs=2e-3)
    _, shorter = beaten(compiled(session("20 balls easy, until 2 in a row", "    record 3 balls")))
    assert shorter == pytest.approx(share_of(found) ** 2, abs=2e-3)


def test_points_are_counted_in_a_block_of_points() -> None:
    plan = plan_of(session("8 points both, until 2 misses in a row", "    record 4 points"))
    assert plan.blocks[0].record == 4 and plan.blocks[0].longer_beats


def test_sheet_and_phone_say_it() -> None:
    plan = plan_of(session(*LIVES))
    rules = {row.name: row for part in sheet(plan).parts for row in part.points}
    assert rules["record"].rule == "Record to beat: 9 balls; more beat it. Balls played: ______"
    twice = plan_of(session("2 rounds", *(f"    {line}" for line in LIVES), "    rest 30 s between rounds"))
    (row,) = (row for part in sheet(twice).parts for row in part.points if row.name == "record")
    assert row.rule.endswith("Balls played: ______, ______")
    assert "Record to beat: 9 balls; more beat it." in phone.render(plan).decode()
    assert "fewer beat it" in phone.render(plan_of(session(*FAST))).decode()


def test_the_screen_counts_towards_it() -> None:
    plan = plan_of(session(*LIVES))
    counting, run = Points(shelf(plan)), SimpleNamespace(word="run", title="lives")
    for n, place in enumerate(places(plan)[:4]):
        assert counting.played(run, place) == n  # type: ignore[arg-type]
        counting.thrown(run, place, place.shots[0])  # type: ignore[arg-type]
        counting.marked(run, place, Verdict.HIT)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("lines", "marks", "told"),
    [
        (LIVES, "hhhhhhhmmm", "10 balls, beaten"), (LIVES, "hhhhhhmmm", "9 balls, not beaten"),
        (FAST, "hhhhh", "5 balls, beaten"), (FAST, "hhhh", "4 balls, not beaten"),
        (FAST, "mmmmhhhhh", "9 balls, not beaten"),
    ],
)  # fmt: skip
def test_the_lines_after_a_replay_say_how_long_it_was(lines: tuple[str, ...], marks: str, told: str) -> None:
    plan = plan_of(session(*lines))
    assert f"Block 1, record 9: {told}." in afterwards(plan, [recorded(plan, marks)])


def test_a_plan_has_it_only_where_the_block_ends_early() -> None:
    plan = plan_of(session("20 balls easy"))
    block = plan.blocks[0].model_copy(update={"record": 9})
    with pytest.raises(PlanRefused):
        read(sealed(plan.model_copy(update={"blocks": (block,)}).data()))


def test_format_writes_the_usual_word() -> None:
    text = session(*LIVES).replace("record 9", "record to beat 9")
    assert "record    9 balls" in formatted(Source("r.feed", text))[0]
