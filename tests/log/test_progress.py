"""Goals and ladders, compared with a plain re-computation that looks at the whole history anew for every ball."""

import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedwright.compiler.model.plan import GoalRecord
from feedwright.targets.log.progress import Rules, Standing, Tally, Verdict, climb, step, tally

from ..whole import share

HIT, MISS, OPEN = Verdict.HIT, Verdict.MISS, Verdict.NOT_JUDGED


@st.composite
def ladders(draw: st.DrawFn) -> Rules:
    within = draw(st.none() | st.integers(1, 7))
    down = None if within is None else draw(st.integers(1, within))
    up = draw(st.integers(1, 6))
    up_in = draw(st.none() | st.integers(up, 9))
    return Rules(draw(st.integers(1, 6)), up, down, within, up_in)


# Hits more often than misses, or long ladders are never climbed.
VERDICTS = st.lists(st.sampled_from([HIT, HIT, HIT, MISS, MISS, OPEN]), max_size=120)


def plainly(rules: Rules, verdicts: list[Verdict]) -> list[int]:
    """The rung of each ball and of the one that would follow, straight from the sentences of the rules."""
    rungs, since = [0], 0
    for i, verdict in enumerate(verdicts):
        here = [v for v in verdicts[since : i + 1] if v is not OPEN]
        row = len(here) - 1 - max((j for j, v in enumerate(here) if v is MISS), default=-1)
        rung = rungs[-1]
        often = here[-rules.up_in :].count(HIT) if rules.up_in else row
        if verdict is HIT and often >= rules.up:
            rung = min(rung + 1, rules.rungs - 1)
        elif verdict is MISS and rules.down and rules.within and here[-rules.within :].count(MISS) >= rules.down:
            rung = max(rung - 1, 0)
        if rung != rungs[-1]:
            since = i + 1
        rungs.append(rung)
    return rungs


@settings(max_examples=share(300))
@given(ladders(), VERDICTS)
def test_a_ladder_agrees_with_a_plain_recomputation(rules: Rules, verdicts: list[Verdict]) -> None:
    standing, rungs = Standing(), [0]
    for verdict in verdicts:
        standing = step(rules, standing, verdict)
        rungs.append(standing.rung)
    assert rungs == plainly(rules, verdicts)
    assert climb(rules, zip(rungs, verdicts, strict=False)).rung == rungs[-1]


@settings(max_examples=share(300))
@given(ladders(), VERDICTS)
def test_in_sets_each_so_many_balls_decide_by_themselves(rules: Rules, verdicts: list[Verdict]) -> None:
    """Also a ball that was not judged is one of its set."""
    among = rules.up_in or rules.up
    down = None if rules.down is None else min(rules.down, among)
    in_sets = replace(rules, down=down, within=down and among, in_sets=True)
    rungs = [0]
    for at in range(0, len(verdicts), among):
        one, rung = verdicts[at : at + among], rungs[-1]
        rungs += [rung] * (len(one) - 1)
        if len(one) == among and one.count(HIT) >= rules.up:
            rung = min(rung + 1, rules.rungs - 1)
        elif len(one) == among and down and one.count(MISS) >= down:
            rung = max(rung - 1, 0)
        rungs.append(rung)
    standing, found = Standing(), [0]
    for verdict in verdicts:
        standing = step(in_sets, standing, verdict)
        found.append(standing.rung)
        assert in_sets.begins_set(standing) is (len(found) % among == 1 % among)
    assert found == rungs
    assert climb(in_sets, zip(found, verdicts, strict=False)).rung == found[-1]


@settings(max_examples=share(300))
@given(ladders(), VERDICTS, st.integers(1, 3))
def test_after_so_many_sets_on_a_rung_the_next_is_one_up(rules: Rules, verdicts: list[Verdict], most: int) -> None:
    """Set by set as a coach would go through them, with a count of sets that begins anew on each rung."""
    among = rules.up_in or rules.up
    down = None if rules.down is None else min(rules.down, among)
    rung, sets, wanted = 0, 0, [0]
    for at in range(0, len(verdicts) - among + 1, among):
        one, before = verdicts[at : at + among], rung
        sets += 1
        if one.count(HIT) >= rules.up:
            rung += 1
        elif down and one.count(MISS) >= down and rung > 0:
            rung -= 1
        elif sets >= most:
            rung += 1
        rung = min(rung, rules.rungs - 1)
        sets = sets if rung == before else 0
        wanted.append(rung)
    held = replace(rules, down=down, within=down and among, in_sets=True, most_sets=most)
    standing, found = Standing(), [0]
    for played, verdict in enumerate(verdicts, 1):
        standing = step(held, standing, verdict)
        found += [standing.rung] * (played % among == 0)
    assert found == wanted


@settings(max_examples=share(300))
@given(ladders(), VERDICTS, st.integers(1, 3), st.booleans())
def test_after_so_many_sets_without_enough_hits_the_next_is_one_down(
    rules: Rules, verdicts: list[Verdict], most: int, ends: bool
) -> None:
    """Set by set as a coach would go through them; a set that would lead up from the last rung begins the count
    anew, and ends a ladder that is over once this is won."""
    among, rung, sets, won, wanted = rules.up_in or rules.up, 0, 0, False, [0]
    for at in range(0, len(verdicts) - among + 1, among):
        good = verdicts[at : at + among].count(HIT) >= rules.up
        sets += 1
        if won:
            pass
        elif good and rung + 1 < rules.rungs:
            rung, sets = rung + 1, 0
        elif good:
            won, sets = ends, 0
        elif sets >= most and rung > 0:
            rung, sets = rung - 1, 0
        wanted.append(rung)
    held = replace(rules, down=None, within=None, in_sets=True, down_sets=most, ends=ends)
    standing, found = Standing(), [0]
    for played, verdict in enumerate(verdicts, 1):
        standing = step(held, standing, verdict)
        found += [standing.rung] * (played % among == 0)
    if not won:
        assert found == wanted
    assert (standing.won, standing.rung) == (won, wanted[-1])


@settings(max_examples=share(300))
@given(ladders(), VERDICTS)
def test_a_ladder_that_ends_is_over_where_another_would_have_gone_up_from_its_last_rung(
    rules: Rules, verdicts: list[Verdict]
) -> None:
    """As one with a rung more goes, until it comes there."""
    ends, longer = Standing(), Standing()
    for verdict in verdicts:
        ends = step(replace(rules, ends=True), ends, verdict)
        longer = (
            longer
            if ends.won and longer.rung == rules.rungs
            else step(replace(rules, rungs=rules.rungs + 1), longer, verdict)
        )
        assert ends.won is (longer.rung == rules.rungs)
        assert ends.won or ends == longer


@settings(max_examples=share(300))
@given(ladders(), VERDICTS)
def test_a_ladder_is_never_left_and_no_rung_skipped(rules: Rules, verdicts: list[Verdict]) -> None:
    standing = Standing()
    for verdict in verdicts:
        after = step(rules, standing, verdict)
        assert 0 <= after.rung < rules.rungs
        assert abs(after.rung - standing.rung) <= 1
        assert after.rung <= standing.rung or verdict is HIT
        assert after.rung >= standing.rung or verdict is MISS
        assert after.rung == standing.rung or after == Standing(after.rung)
        assert verdict is not OPEN or after == standing
        standing = after


@given(VERDICTS)
def test_a_tally_agrees_with_splitting_the_letters(verdicts: list[Verdict]) -> None:
    letters = "".join(v.value for v in verdicts)
    rows = re.findall("h+", letters.replace("n", ""))
    found = tally(verdicts)
    assert (found.hits, found.misses, found.not_judged) == tuple(letters.count(x) for x in "hmn")
    assert found.best == max(map(len, rows), default=0)
    assert not found.met(found.best + 1) and (found.best == 0 or found.met(found.best))


def test_a_ball_on_its_way_when_the_ladder_stepped_counts_for_no_rung() -> None:
    rules = Rules(3, 2, 1, 1)
    up = step(rules, step(rules, Standing(), HIT, 0), HIT, 0)
    assert up == Standing(1)
    assert step(rules, up, MISS, 0) == up
    assert step(rules, up, MISS, 1) == Standing(0)


def test_eight_in_a_row_is_met_by_the_eighth() -> None:
    found = Tally()
    for number in range(1, 9):
        found = found.after(HIT)
        assert found.met(8) == (number == 8)


@settings(max_examples=share(300))
@given(VERDICTS, st.integers(2, 12))
def test_the_best_among_so_many_balls_is_that_of_any_so_many_one_after_another(
    verdicts: list[Verdict], among: int
) -> None:
    judged = [v is HIT for v in verdicts if v is not OPEN]
    found = tally(verdicts, GoalRecord(hits=1, among=among))
    assert found.now == sum(judged[-among:])
    assert found.best == max((sum(judged[at : at + among]) for at in range(len(judged))), default=0)
    assert (found.hits, found.misses) == (sum(judged), len(judged) - sum(judged))


@pytest.mark.parametrize("wrong", [(0, 1), (1, 0), (2, 2, 1, None), (2, 2, 3, 2), (2, 2, 0, 4), (2, 4, None, None, 3)])
def test_rules_that_make_no_ladder_are_refused(wrong: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match=r"no ladder|never among"):
        Rules(*wrong)
    with pytest.raises(ValueError, match="not on a ladder"):
        step(Rules(2, 2), Standing(2), HIT)
