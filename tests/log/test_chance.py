"""Shares and rows against enumeration, closed forms and an independent library."""

from itertools import groupby, product
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedwright.compiler.model import chance
from feedwright.compiler.model.chance import Goal, chance_of_hits, chance_of_streak, needed_share, wilson

EXACT = 1e-12
"""Both sides are a few hundred additions of doubles: 1e-16 each, far below this."""


@given(st.integers(1, 5000), st.data())
def test_wilson_against_scipy(balls: int, data: st.DataObject) -> None:
    """scipy.stats.binomtest(...).proportion_ci(method="wilson"), 95 %."""
    hits = data.draw(st.integers(0, balls))
    from scipy.stats import binomtest  # takes a second to load, wherever tests are collected

    theirs = binomtest(hits, balls).proportion_ci(confidence_level=0.95, method="wilson")
    ours = wilson(hits, balls)
    assert ours.low == pytest.approx(theirs.low, abs=1e-9) and ours.high == pytest.approx(theirs.high, abs=1e-9)
    assert 0 <= ours.low <= hits / balls <= ours.high <= 1


def test_no_ball_says_nothing_and_impossible_counts_are_refused() -> None:
    assert wilson(0, 0) == (0.0, 1.0)
    for hits, balls in ((3, 2), (-1, 5)):
        with pytest.raises(ValueError, match="no share"):
            wilson(hits, balls)


@pytest.mark.parametrize("goal", [1, 2, 3, 5])
@pytest.mark.parametrize("share", [0.0, 0.3, 0.5, 0.8, 1.0])
def test_every_sequence_of_up_to_ten_balls_enumerated(goal: int, share: float) -> None:
    for balls in range(11):
        chance = 0.0
        for hits in product((0, 1), repeat=balls):
            if max((len(list(run)) for hit, run in groupby(hits) if hit), default=0) >= goal:
                chance += share ** sum(hits) * (1 - share) ** (balls - sum(hits))
        assert chance_of_streak(goal, balls, share) == pytest.approx(chance, abs=EXACT)


@pytest.mark.parametrize(("goal", "balls", "share"), [(8, 8, 0.7), (8, 12, 0.7), (8, 16, 0.9), (5, 10, 0.25)])
def test_closed_form_where_only_one_row_has_room(goal: int, balls: int, share: float) -> None:
    """goal <= balls <= 2 goal: the row begins with the first ball, or after a miss at one of balls - goal places;
    these exclude each other, so P = p^k (1 + (n - k) (1 - p))."""
    assert chance_of_streak(goal, balls, share) == pytest.approx(
        share**goal * (1 + (balls - goal) * (1 - share)), abs=EXACT
    )


@given(st.integers(1, 12), st.integers(0, 200), st.floats(0.02, 0.98))
def test_de_moivres_sum(goal: int, balls: int, share: float) -> None:
    """J. V. Uspensky, Introduction to Mathematical Probability (1937), ch. V.3: with
    b(n) = sum over l of (-1)^l C(n - l k, l) (q p^k)^l, no row of k in n has the chance b(n) - p^k b(n - k). From
    memory; the enumeration above agrees. The sum alternates: kept where its terms stay below 1e4."""

    def b(n: int) -> float:
        x = (1 - share) * share**goal
        return sum((-1) ** i * comb(n - i * goal, i) * x**i for i in range(n // (goal + 1) + 1)) if n >= 0 else 0.0

    x = (1 - share) * share**goal
    if balls * x > 8:  # terms grow like exp(n q p^k), and digits are lost with them
        return
    assert chance_of_streak(goal, balls, share) == pytest.approx(1 - b(balls) + share**goal * b(balls - goal), abs=1e-9)


def test_three_heads_in_ten_tosses() -> None:
    """De Moivre, The Doctrine of Chances, 3rd ed. (1756), Problem LXXIV: a run of three in ten throws, 65/128. From
    memory; 504 of 1024 sequences have none, by the tribonacci numbers."""
    assert chance_of_streak(3, 10, 0.5) == 65 / 128


@pytest.mark.parametrize(("goal", "share"), [(1, 0.3), (3, 0.5), (5, 0.5), (8, 0.8)])
def test_the_mean_wait_for_a_row(goal: int, share: float) -> None:
    """W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1, 3rd ed., XIII.7, eq. (7.7): on
    average (1 - p^k) / (q p^k) balls go by until the first row of k; 62 for five heads in a row."""
    mean = (1 - share**goal) / ((1 - share) * share**goal)
    if (goal, share) == (5, 0.5):
        assert mean == 62
    # The mean of a count is the sum of its tail; 30 means on, what is left out is about exp(-30) of it.
    waiting = sum(1 - chance_of_streak(goal, n, share) for n in range(int(30 * mean) + goal))
    assert waiting == pytest.approx(mean, rel=1e-9)


@pytest.mark.parametrize(("hits", "among", "sets"), [(6, 8, 1), (6, 8, 4), (5, 5, 3), (3, 10, 2)])
@pytest.mark.parametrize("share", [0.0, 0.35, 0.7, 1.0])
def test_in_sets_each_is_binomial_by_itself(hits: int, among: int, sets: int, share: float) -> None:
    """scipy.stats.binom, for the hits of a set and then for the sets that reach them."""
    from scipy.stats import binom

    one = binom.sf(hits - 1, among, share)
    assert chance_of_hits(hits, among, among * sets, share, True) == pytest.approx(binom.sf(0, sets, one), abs=1e-12)
    needed = needed_share(Goal(hits, among), among * sets, in_sets=True)
    assert needed and chance_of_hits(hits, among, among * sets, needed, True) == pytest.approx(0.5, abs=1e-3)
    assert needed_share(Goal(hits, among), among - 1, in_sets=True) is None


@given(st.integers(1, 12), st.integers(0, 120), st.floats(0, 1), st.floats(0, 1))
def test_more_hits_or_more_balls_never_make_a_row_less_likely(goal: int, balls: int, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert chance_of_streak(goal, balls, low) <= chance_of_streak(goal, balls, high) + EXACT
    assert chance_of_streak(goal, balls, low) <= chance_of_streak(goal, balls + 1, low) + EXACT


def test_small_chances_keep_their_digits() -> None:
    # Closed form for n = 2k: 1e-10 (1 + 10 * 0.9).
    assert chance_of_streak(10, 20, 0.1) == pytest.approx(1e-9, rel=1e-12)


@pytest.mark.parametrize(("goal", "balls"), [(8, 36), (1, 1), (3, 3), (8, 300)])
def test_the_needed_share_is_where_the_chance_is_one_half(goal: int, balls: int) -> None:
    share = needed_share(Goal(goal, goal), balls)
    assert share is not None
    assert chance_of_streak(goal, balls, share) == pytest.approx(0.5, abs=1e-9)
    if goal == balls:
        assert share == pytest.approx(0.5 ** (1 / goal), abs=1e-12)  # p^k = 1/2


def test_a_block_shorter_than_its_goal_never_has_it() -> None:
    assert needed_share(Goal(8, 8), 7) is None and chance_of_streak(8, 7, 1.0) == 0.0
    with pytest.raises(ValueError, match="no chance"):
        chance_of_streak(0, 5, 0.5)


@pytest.mark.parametrize(("hits", "among"), [(1, 2), (2, 3), (3, 5), (4, 5), (2, 6)])
def test_hits_among_the_last_balls_against_every_sequence(hits: int, among: int) -> None:
    """Each of the sequences of up to nine balls, by its own chance."""
    for share in (0.3, 0.8):
        for balls in (0, 1, 4, 9):
            chance = 0.0
            for marks in product((0, 1), repeat=balls):
                if any(sum(marks[max(0, n - among) : n]) >= hits for n in range(1, balls + 1)):
                    chance += share ** sum(marks) * (1 - share) ** (balls - sum(marks))
            assert chance_of_hits(hits, among, balls, share) == pytest.approx(chance, abs=EXACT)


def test_hits_among_all_balls_are_a_binomial_tail() -> None:
    """scipy.stats.binom: where the window is as long as the block, only the number of hits counts."""
    from scipy.stats import binom

    for hits, balls, share in ((8, 10, 0.6), (12, 16, 0.7)):
        assert chance_of_hits(hits, balls, balls, share) == pytest.approx(binom.sf(hits - 1, balls, share), abs=EXACT)
    assert chance_of_hits(4, 4, 24, 0.5) == chance_of_streak(4, 24, 0.5)
    for share in (0.4, 0.55):  # more than the exact chain takes
        assert chance_of_hits(20, 40, 40, share) == pytest.approx(binom.sf(19, 40, share), abs=EXACT)
        assert chance_of_hits(20, 50, 40, share) == pytest.approx(binom.sf(19, 40, share), abs=EXACT)
    with pytest.raises(ValueError, match="no chance"):
        chance_of_hits(18, 17, 30, 0.5)


@pytest.mark.parametrize(
    ("among", "balls", "share", "off"),
    [(20, 40, 0.02, EXACT), (30, 47, 0.01, EXACT), (17, 18, 0.06, EXACT), (20, 60, 0.02, 0.01), (30, 100, 0.01, 0.01)],
)
def test_two_hits_among_many_balls_are_two_hits_close_together(
    among: int, balls: int, share: float, off: float
) -> None:
    """Of n balls in a row, k that are each at least w apart can be chosen in C(n - (k - 1)(w - 1), k) ways: take out
    the w - 1 places after each but the last (I. Kaplansky, Bull. AMS 49, 784 (1943), for w = 2). Then no two hits are
    among the last w."""
    apart = sum(
        comb(max(balls - (hits - 1) * (among - 1), 0), hits) * share**hits * (1 - share) ** (balls - hits)
        for hits in range(balls + 1)
    )
    found = chance_of_hits(2, among, balls, share)
    assert found == pytest.approx(1 - apart, abs=off)
    assert found <= chance_of_hits(2, among, balls, share + 0.01)


@pytest.mark.parametrize(("hits", "among"), [(3, 5), (6, 8), (7, 8), (6, 10), (10, 12)])
def test_a_long_block_is_right_to_one_in_a_hundred(hits: int, among: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Against the exact chain, which so few last balls allow; that in turn agrees with every sequence, above."""
    cases = [(balls, share) for balls in (2 * among + 1, 3 * among, 5 * among) for share in (0.1, 0.3, 0.5, 0.7, 0.9)]
    exact = [chance_of_hits(hits, among, *case) for case in cases]
    monkeypatch.setattr(chance, "MOST_EXACT", 0)
    assert [chance_of_hits(hits, among, *case) for case in cases] == pytest.approx(exact, abs=0.01)


def test_a_small_chance_is_no_chance_of_nought() -> None:
    assert 0 < chance_of_hits(30, 40, 60, 0.3) < 1e-6 and 0 < chance_of_hits(30, 40, 200, 0.3) < 1e-6
    assert chance_of_hits(30, 40, 200, 1.0) == 1.0 and chance_of_hits(30, 40, 200, 0.0) == 0.0


def test_the_needed_share_of_a_goal_among_so_many_balls() -> None:
    """scipy.stats.beta: at least k of n are hits with even chance where p is the median of the beta distribution
    (k, n - k + 1): the binomial tail is its distribution (NIST Digital Library of Mathematical Functions, 8.17.5)."""
    from scipy.stats import beta

    for hits, balls in ((10, 16), (6, 10), (30, 40)):
        assert needed_share(Goal(hits, balls), balls) == pytest.approx(beta.median(hits, balls - hits + 1), abs=1e-9)
    share = needed_share(Goal(6, 10), 24)
    assert share is not None and chance_of_hits(6, 10, 24, share) == pytest.approx(0.5, abs=1e-3)
    assert needed_share(Goal(10, 16), 9) is None
