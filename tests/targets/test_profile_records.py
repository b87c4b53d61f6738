"""What a record of a profile takes and refuses by itself."""

from typing import Annotated, Literal

import pytest

from feedwright.compiler.model.record import Record, Slip, Unsound, Within


class Head(Record):
    reach: Annotated[float, Within(gt=0, le=2)]
    count: int = 1
    way: Literal["up", "down"] = "up"
    dial: tuple[float, ...] | None = None


class Rig(Record):
    head: Head
    name: str = ""


def slips(**given: object) -> tuple[Slip, ...]:
    with pytest.raises(Unsound) as unsound:
        Rig(**given)  # type: ignore[arg-type]
    return unsound.value.slips


def test_plain_data_becomes_records_with_numbers_of_their_kind() -> None:
    rig = Rig(head={"reach": 1, "count": 2.0, "dial": [1, 2]})  # type: ignore[arg-type]
    assert rig == Rig(head=Head(reach=1.0, count=2, dial=(1.0, 2.0)))
    assert rig.data() == {"head": {"reach": 1.0, "count": 2, "way": "up", "dial": [1.0, 2.0]}, "name": ""}
    assert Head.required() == {"reach"} and type(rig.head.reach) is float and type(rig.head.count) is int


@pytest.mark.parametrize("value", [True, "1", None, [1.0], 10**400, float("inf"), float("nan"), 0.0, 2.1])
def test_no_other_value_is_taken_for_a_number_in_its_bounds(value: object) -> None:
    (slip,) = slips(head={"reach": value})
    assert slip.place == ("head", "reach") and slip.kind == "wanted"


def test_every_slip_is_told_with_its_place() -> None:
    found = slips(head={"count": 1.5, "dial": [1, "two"], "way": "left", "rech": 1}, name=3)
    assert [(slip.place, slip.kind) for slip in found] == [
        (("head", "reach"), "missing"), (("head", "count"), "wanted"), (("head", "way"), "wanted"),
        (("head", "dial", 1), "wanted"), (("head", "rech"), "unknown"), (("name",), "wanted"),
    ]  # fmt: skip
