"""Searches side by side: fewer batches, and each finds what it finds alone."""

from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest

from feedwright.compiler import together as side_by_side
from feedwright.compiler.conditions import conditions_of
from feedwright.compiler.fit import asked_of, wanted_of
from feedwright.compiler.flown_settings import flown_settings
from feedwright.compiler.kept import forget
from feedwright.compiler.physics.outcome import Release
from feedwright.compiler.resolve import resolve
from feedwright.compiler.rounding import settings_beside
from feedwright.compiler.solve import solve
from feedwright.compiler.together import Search, Unflown, taken, together
from feedwright.compiler.worth import Flight, Worth
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

SCRIPT = """\
program "Two of the best"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine dials, on centre, 0.5 m behind baseline, behind a screen

feed quick
    side      backhand wing
    depth     deep
    stance    2.5 m behind baseline
    spin      topspin 900 rpm
    interval  5 s
    height    at least 0.4 m over net
    pace      fastest

feed held
    side      backhand wing
    depth     deep
    spin      topspin 900 rpm
    interval  5 s
    stance    where it is 1 m above ground, falling
    height    1.5 m over net
"""


class Counted:
    """Work that adds one, and what it was given each time."""

    def __init__(self) -> None:
        self.batches: list[int] = []

    def __call__(self, values: np.ndarray, conditions: object) -> np.ndarray:
        self.batches.append(len(values))
        return values + 1


def times(work: Counted, first: float, lanes: int, rounds: int) -> Search[np.ndarray]:
    values = np.full(lanes, first)
    for _ in range(rounds):
        values = yield Unflown(work, (values,))
    return values


def test_searches_wait_for_one_batch_and_each_gets_its_own_lanes() -> None:
    work, heard = Counted(), []
    found = together([times(work, 10, 3, 2), times(work, 20, 1, 4), times(work, 30, 2, 0)], None, heard.append)
    assert [list(one) for one in found] == [[12, 12, 12], [24], [30, 30]]
    assert work.batches == [4, 4, 1, 1]
    assert heard == [1, 0, 1, 0, 1]  # and how many more have ended, after each round


def test_a_search_that_is_behind_catches_up() -> None:
    """All end with the same work; the one that has other work before it does that first."""
    other, work = Counted(), Counted()

    def late() -> Search[np.ndarray]:
        return (yield from times(work, (yield from times(other, 0, 1, 1))[0], 1, 1))

    searches = [times(work, 5, 1, 1), times(work, 7, 1, 1), late()]
    assert [one[0] for one in together(searches, None, lambda ended: None)] == [6, 8, 2]
    assert (other.batches, work.batches) == ([1], [3])


def test_a_batch_is_no_larger_than_memory_allows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(side_by_side, "MOST", 5)
    work = Counted()
    together([times(work, 0, lanes, 1) for lanes in (2, 3, 1, 9, 1)], None, lambda ended: None)
    assert work.batches == [5, 1, 9, 1]


def test_a_ball_is_the_same_beside_another_as_alone() -> None:
    """Bit for bit: a plan must not depend on which balls its script also has."""
    program, slips = resolve(parse(Source("two.feed", SCRIPT))[0], ProfileShelf(), {})
    assert program and not slips
    both = solve(program, program.feeds)
    assert set(both.shots) == {"quick", "held"}
    for name, feed in program.feeds.items():
        forget()
        assert solve(program, {name: feed}).shots[name] == both.shots[name]


def numbers(one: Any) -> list[np.ndarray]:
    return [one] if isinstance(one, np.ndarray) else [some for part in one.values() for some in numbers(part)]


def same(one: np.ndarray, other: np.ndarray) -> bool:
    return np.array_equal(one, other, equal_nan=True)


def test_settings_that_were_flown_are_not_flown_again_and_come_to_the_same() -> None:
    """Bit for bit, also for a player who stands at the top of the bounce of a ball that never comes so high: of the
    other balls that changes nothing."""
    forget()
    program, _ = resolve(parse(Source("two.feed", SCRIPT))[0], ProfileShelf(), {})
    assert program
    shot = solve(program, {"held": program.feeds["held"]}).shots["held"]
    forget()
    feed, axes = program.feeds["held"], program.feeder.axes()
    worth = Worth(feed, asked_of([feed], program), wanted_of([feed], program), program)
    counts = {"speed": 4, "elevation": 6}
    settings = list(product(*(
        settings_beside(axis, getattr(shot, name), counts.get(name, 0), 0.1, 3) for name, axis in axes.items()
    )))  # fmt: skip
    values = [np.array([axis.value(one[k]) for one in settings]) for k, axis in enumerate(axes.values())]
    origin, none = np.repeat(np.array(shot.origin)[:, None], len(settings), axis=1), np.zeros(len(settings))
    release = Release(origin, *values, *[none] * (5 - len(values)))
    flown: list[int] = []

    def looked_up(worth: Worth, some: list[int]) -> Flight:
        search = flown_settings(worth).flight([settings[i] for i in some], release.at(np.array(some)), worth)
        return together([counted(search)], conditions_of(program), lambda ended: None)[0]

    def counted(search: Search[Flight]) -> Search[Flight]:
        try:
            flown.append((request := next(search)).count)
            search.send((yield request))
        except StopIteration as end:
            return end.value
        raise AssertionError("it flies once")

    every, low = list(range(len(settings))), 0
    for rule in (worth, replace(worth, topped=True)):
        (alone,) = together([rule.flight(release)], conditions_of(program), lambda ended: None)
        first, again = looked_up(rule, every[::2]), looked_up(rule, every)
        for found, part in ((first, every[::2]), (again, every)):
            assert all(map(same, numbers(found), numbers(taken(alone, np.array(part)))))
        assert looked_up(rule, every[3:9]).stance.shape == (6,)
        low = low or int(np.count_nonzero(np.isnan(alone.stance)))
    half = len(every[::2])
    assert flown[:2] == [half, len(every) - half]
    assert 0 < low <= sum(flown[2:]) < len(every)
