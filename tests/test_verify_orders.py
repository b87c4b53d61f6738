"""A forged plan is refused for what the machine is told, and for a limit that a ball does not keep."""

from math import hypot, tau

import pytest

from .forged import document, judged
from .test_verify import refused


@pytest.mark.parametrize("over", ["the ball", "what the machine is told"])
def test_neither_the_ball_nor_what_the_machine_is_told_may_be_over_its_cap(over: str) -> None:
    """A measured machine throws at another speed than it is told."""
    launch = document("02")["shots"][0]["launch"]
    order = {key: value for key, value in launch.items() if key != "origin_m"}
    (launch if over == "the ball" else order)["speed_mps"] = 40.0
    wrong = refused("02", {"shots.0.launch": launch, "shots.0.order": order})
    assert "Ball high: its speed is over the machine's cap of 31 m/s." in wrong


def test_what_the_machine_is_told_lies_within_what_it_states_on_its_line() -> None:
    """The profile's elevation goes from 0 to 45 degrees."""
    order = {key: value for key, value in document("02")["shots"][0]["launch"].items() if key != "origin_m"}
    stated = "Ball high: elevation is outside the limits that the machine states on its line."
    for elevation, outside in ((45.0, False), (45.1, True), (-0.1, True)):
        wrong = refused("02", {"shots.0.order": {**order, "elevation_deg": elevation}})
        assert (stated in wrong) is outside


def test_a_machine_is_told_nothing_that_it_does_not_have() -> None:
    """The club machine has no sidespin, whatever the ball itself does."""
    order = {key: value for key, value in document("02")["shots"][0]["launch"].items() if key != "origin_m"}
    wrong = refused("02", {"shots.0.order": {**order, "sidespin_rpm": 300.0}})
    assert "Ball high: the machine is told a sidespin; the feeder has none." in wrong


@pytest.mark.parametrize(
    ("of", "unit", "near"), [("pace", "m/s", 0.002), ("spin", "rpm", 0.002 * 60 / tau)], ids=["pace", "spin"]
)
def test_a_ball_may_be_beyond_a_limit_by_two_thousandths_in_si(of: str, unit: str, near: float) -> None:
    """As where it was aimed: own choice. A turn a minute is 2 pi / 60 rad/s."""
    plan, launch = document("02"), document("02")["shots"][0]["launch"]
    value = launch["speed_mps"] if of == "pace" else hypot(launch["topspin_rpm"], launch["sidespin_rpm"])
    broken = "Ball high: it does not keep `at most this`."
    kept = {"share_kept": None, "share_kept_least": None}
    for least, most in ((None, -1), (1, None)):
        for beyond, told in ((0.9 * near, False), (1.2 * near, True)):
            edges = [None if way is None else value + way * beyond for way in (least, most)]
            limit = {"of": of, "unit": unit, "least": edges[0], "most": edges[1], "words": ["at most this"], **kept}
            plan["shots"][0]["limits"] = [limit]
            assert (broken in judged(plan)[1]) is told
