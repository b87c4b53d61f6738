"""A machine that is moved between two blocks: nothing leaves from the new place before a person typed the code anew. In
virtual time, on a device that shares no line with the host."""

from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.picture import picture
from feedwright.targets.machine.replay.places import Place

from .street import Street
from .test_picture import flying
from .world import SETTINGS

HERE, THERE = "the machine on baseline, on the middle", "the machine on baseline, 2 m right of middle"
RUN = tuple(Place(n, (n - 1) * 1.0, ("steady",), 0, 0, HERE if n < 3 else THERE) for n in range(1, 5))
"""Neither a part nor a long pause would stop it."""


def thrown(street: Street) -> list[int]:
    return [number for number, _ in street.device.thrown]


def test_no_ball_leaves_from_a_place_that_nobody_confirmed() -> None:
    street = Street(shelf=flying(SETTINGS), places=RUN)
    street.arms = 1
    street.thrown(2).to(RunPhase.READY)
    waited = street.now + 30
    street.until(lambda: street.now >= waited)
    assert thrown(street) == [1, 2] and street.host.phase is RunPhase.READY
    assert f"Set by hand first: {THERE}" in picture(street.host, street.now).lines
    street.arms = 1
    street.to(RunPhase.ANSWERING)
    assert f"The code also confirms that this is set by hand: {THERE}" in picture(street.host, street.now).lines
    assert thrown(street) == [1, 2]
    street.end()
    assert thrown(street) == [1, 2, 3, 4] and street.code == 0
