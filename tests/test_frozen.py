"""Small frozen classes behave as the dataclasses they stand for, without what those cost at a start."""

import copy
import dataclasses

import pytest

from feedwright.grammar.frozen import Changing, Frozen, aside, own, replace


class Ball(Frozen):
    speed: float
    name: str = "flat"
    place: object = aside(default=None)


class Spun(Ball):
    spin: float = 0.0


@dataclasses.dataclass(frozen=True)
class Twin:
    speed: float
    name: str = "flat"
    place: object = dataclasses.field(default=None, compare=False)


def test_equal_are_those_of_one_class_whose_fields_are_equal_apart_from_those_set_aside() -> None:
    assert Ball(1.0) == Ball(1.0, "flat", place=3) and hash(Ball(1.0)) == hash(Ball(1.0, place=3))
    assert Ball(1.0) != Ball(2.0) and Ball(1.0) != Spun(1.0)
    assert (Twin(1.0) == Twin(1.0, place=3)) is (Ball(1.0) == Ball(1.0, place=3))


def test_nothing_is_assigned_and_a_change_makes_another() -> None:
    one = Spun(1.0, spin=2.0)
    with pytest.raises(AttributeError, match="Spun is frozen"):
        one.speed = 2.0  # type: ignore[misc]
    assert replace(one, speed=3.0).values() == (3.0, "flat", None, 2.0) and one.speed == 1.0
    with pytest.raises(TypeError, match="Spun has no field pace"):
        replace(one, pace=3.0)
    assert copy.copy(one) == one


def test_dataclasses_can_work_with_them() -> None:
    one = Spun(1.0, place=4, spin=2.0)
    assert dataclasses.asdict(one) == {"speed": 1.0, "name": "flat", "place": 4, "spin": 2.0}
    assert dataclasses.replace(one, spin=5.0) == Spun(1.0, spin=5.0)
    assert [f.name for f in dataclasses.fields(Ball)] == ["speed", "name", "place"]


class Basket(Changing):
    held: int
    thrown: list[str] = own(factory=list)


def test_one_that_changes_equals_itself_alone_and_each_makes_what_is_its_own() -> None:
    one, other, full = Basket(3), Basket(3), Basket(3, ["flat"])
    one.held = 2
    one.thrown.append("lob")
    assert (one.held, one.thrown, other.thrown, full.thrown) == (2, ["lob"], [], ["flat"])
    assert other != Basket(3) and len({one, other, full}) == 3
