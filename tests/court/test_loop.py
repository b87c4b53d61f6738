"""The replay's loop with phones beside it: which keys are theirs, and that nothing of theirs is in the way of Stop."""

from contextlib import nullcontext
from typing import Any

import pytest

from feedwright.targets.machine.court.invitation import card
from feedwright.targets.machine.replay import loop as looping
from feedwright.targets.machine.replay.flow import RunPhase
from feedwright.targets.machine.replay.loop import MOST_BYTES, Loop
from feedwright.targets.machine.replay.picture import Picture

from ..replay.test_loop import QUICK, STOPPED_BY_PLAYER, Hands, Player, Wall, Wire

CODE = card("For one phone: http://192.168.1.5:8437/#abc", ["██▀▄", "▄▄██"])


@pytest.fixture(autouse=True)
def _no_collections(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(looping, "_still", nullcontext)


class Beside:
    """Phones, as far as the loop knows them."""

    keys = ("j  phones",)

    def __init__(self, shown: bool) -> None:
        self.shown, self.keys_got = shown, list[str]()
        self.host: Player | None = None
        self.pieces: list[int] = []
        """At each look, how many pieces of what the line sent the host has had."""

    @property
    def card(self) -> Picture | None:
        return CODE if self.shown else None

    def took(self, key: str) -> bool:
        was, self.shown = self.shown, False
        return was

    def turn(self, now: float) -> None:
        assert self.host
        self.pieces.append(sum(what[0] == "received" for what in self.host.told_of))

    def pressed(self, now: float, key: str) -> None:
        self.keys_got.append(key)


def beside(
    phase: RunPhase, *looks: list[str], shown: bool = False, comes: bytes = b""
) -> tuple[list[tuple[Any, ...]], Beside, Picture]:
    """What the host was told, the phones, and what the screen showed at first."""
    host, phones, hands = Player(phase), Beside(shown), Hands(*looks)
    phones.host = host
    loop = Loop(host, Wire(comes=comes), QUICK, hands, Wall, bells=False, phones=phones)  # type: ignore[arg-type]
    first = loop._picture(0.0)
    loop.play()
    return host.told_of, phones, first


def test_a_key_that_closes_the_code_arms_nothing() -> None:
    """The cautions were not to be seen behind it."""
    told, _, first = beside(RunPhase.READY, [], ["a"], shown=True)
    assert ("arm",) not in told and first == CODE
    told, _, _ = beside(RunPhase.READY, [], ["a"], [], ["a"], shown=True)
    assert ("arm",) in told


def test_stop_stops_whatever_is_on_the_screen() -> None:
    for key in ("space", "escape"):
        assert beside(RunPhase.LIVE, [key], shown=True)[0][0] == STOPPED_BY_PLAYER


def test_keys_that_nothing_else_wants_are_the_phones_but_not_the_signs_of_the_code() -> None:
    _, phones, _ = beside(RunPhase.LIVE, ["j"], ["x"], ["3"], ["p"])
    assert phones.keys_got == ["j", "x", "3"]
    told, phones, first = beside(RunPhase.ANSWERING, [], ["w", "7", "x", "y", "enter"], shown=True)
    assert told[0] == ("answer", "w7xy") and phones.keys_got == []
    assert first != CODE, "the question stays to be seen"


def test_phones_are_looked_at_between_pieces_of_noise() -> None:
    _, phones, _ = beside(RunPhase.LIVE, *[[]] * 9, comes=b"x" * (MOST_BYTES * 5))
    assert set(phones.pieces) >= {0, 1, 2, 3, 4}


def test_the_screen_names_the_key_and_keeps_stop_last() -> None:
    _, _, first = beside(RunPhase.READY, [], [])
    assert first.keys[-2:] == ("j  phones", "SPACE  stop and leave")
