"""The loop between keys, line, host and screen: what a key does, and what happens when the program itself fails."""

import os
import signal
import time
from collections import deque
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import replace
from types import SimpleNamespace, TracebackType
from typing import Any, Self

import pytest

from feedwright.targets.machine.replay import loop as looping
from feedwright.targets.machine.replay.brake import Brake, brake
from feedwright.targets.machine.replay.flow import Halt, RunPhase
from feedwright.targets.machine.replay.layout import laid_out
from feedwright.targets.machine.replay.loop import FAULT, INTERRUPTED, Loop
from feedwright.targets.machine.replay.picture import Picture, picture
from feedwright.targets.machine.replay.places import Place, RunShelf
from feedwright.targets.machine.replay.run import UNCONFIRMED, Ending, Run
from feedwright.targets.machine.replay.state import State
from feedwright.targets.machine.wire.frames import DEVICE, encode

from .club import built
from .world import BLOCKS, SETTINGS, Disk

STOP = b"\x07\x07\x07"
QUICK = Brake(STOP, 0.01, 0.1, True)
"""As the protocol's, in a fraction of its time."""
STOPPED = encode(DEVICE, "5e551011", 0, "stopped", {"ev": 9, "why": "byte"})
SHOTS = {shot.id: shot for shot in built()[0].shots}
PLACES = tuple(Place(n, float(n), (next(iter(SHOTS)),), 0, 0) for n in (1, 2, 3))


@pytest.fixture(autouse=True)
def _no_collections(monkeypatch: pytest.MonkeyPatch) -> None:
    """A loop collects before it begins: here all that the tests have loaded, again and again."""
    monkeypatch.setattr(looping, "_still", nullcontext)


class Breaks(Exception):
    """What a fault in the program may raise."""


class Player:
    """The host as far as the loop knows it: notes what it is told; `breaks` is what of it fails."""

    def __init__(self, phase: RunPhase = RunPhase.LIVE, breaks: str = "") -> None:
        self.phase, self.halt, self.why, self.question, self.told = phase, Halt.START, "", "w7xy", False
        self.run = Run("ab" * 8, "bench", PLACES, Disk())
        self.counts = {"gone": 0, "missed": 0, "hit": 0, "miss": 0}
        self.last_gone, self.quiet_shown, self.ending = PLACES[0], True, None
        self.shelf = RunShelf(SHOTS, {shot: SETTINGS["steady"] for shot in SHOTS}, BLOCKS)
        self.state = State(self.shelf, iter(()), self.run)
        self.messages: deque[str] = deque(maxlen=50)
        self.said = 0
        self.told_of: list[tuple[Any, ...]] = []
        self.breaks = breaks

    def __getattribute__(self, name: str) -> Any:
        if name != "breaks" and name == object.__getattribute__(self, "__dict__").get("breaks"):
            raise Breaks(name)
        return object.__getattribute__(self, name)

    def start(self, now: float) -> None: ...
    def received(self, now: float, data: bytes) -> None:
        self.told_of.append(("received", len(data)))

    def step(self, now: float) -> None: ...
    def lost(self, now: float, why: str) -> None:
        self.stop(now, why, 3)

    def stop(self, now: float, why: str, code: int) -> None:
        self.told_of.append(("stop", why, code))
        self.phase, self.why = RunPhase.ENDED, why
        self.ending = Ending(code, why, True, 1, None)

    def arm(self, now: float) -> None:
        self.told_of.append(("arm",))

    def answer(self, now: float, text: str) -> None:
        self.told_of.append(("answer", text))

    def pause(self, now: float) -> None:
        self.told_of.append(("pause",))

    def skip(self, now: float) -> None:
        self.told_of.append(("skip",))

    def mark(self, now: float, hit: bool | None) -> None:
        self.told_of.append(("mark", hit))

    def armed_places(self) -> tuple[Place, ...]:
        return PLACES

    def coming(self) -> tuple[Place, str] | None:
        return PLACES[1], PLACES[1].shots[0]

    def first_in_s(self, now: float) -> float:
        return 4.2

    def serve_in_s(self, now: float) -> float | None:
        return None


class Wire:
    """A line whose device answers a stop, or does not."""

    def __init__(self, answers: bool = True, comes: bytes = b"") -> None:
        self.sent, self._answers, self._comes = b"", answers, comes

    def write(self, data: bytes) -> None:
        self.sent += data
        if self._answers and b"\x07" in data:
            self._comes += STOPPED

    def read(self) -> bytes:
        data, self._comes = self._comes, b""
        return data

    def close(self) -> None: ...


class Hands:
    """Keys, each list of them at one look, or something that happens at that look; the last is SPACE."""

    gone = False

    def __init__(self, *looks: list[str] | Callable[[], None]) -> None:
        self._looks = deque(looks)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...

    def read(self, wait: float) -> list[str]:
        look = self._looks.popleft() if self._looks else ["space"]
        if isinstance(look, list):
            return look
        look()
        return []

    def forget(self) -> None: ...


class Wall:
    """A screen that keeps what it shows, of a size."""

    def __init__(self, size: tuple[int, int] = (80, 24), breaks: BaseException | None = None) -> None:
        self.size, self.breaks = size, breaks
        self.pictures: list[Picture] = []
        self.said: list[str] = []

    def show(self, picture: Picture) -> None:
        self.pictures.append(picture)
        if self.breaks:
            raise self.breaks

    def say(self, text: str) -> None:
        self.said.append(text)

    def ring(self) -> None: ...
    def pages(self, picture: Picture) -> int:
        return laid_out(picture, *self.size).pages

    def close(self) -> None: ...


def played(
    host: Player, hands: Hands, wire: Wire | None = None, wall: Wall | None = None, marks: bool = False,
    how: Brake = QUICK,
) -> tuple[Ending, Loop]:  # fmt: skip
    screen = wall or Wall()
    loop = Loop(host, wire or Wire(), how, hands, lambda: screen, bells=False, marks=marks)  # type: ignore[arg-type]
    return loop.play(), loop


def told(host: Player, *looks: list[str], marks: bool = False) -> list[tuple[Any, ...]]:
    played(host, Hands(*looks), marks=marks)
    return host.told_of


# ---- keys

STOPPED_BY_PLAYER = ("stop", "Stopped by the player", 0)
STOPPED_BY_CLICKER = ("stop", "Stopped by the clicker", 0)


@pytest.mark.parametrize("phase", [phase for phase in RunPhase if phase is not RunPhase.ENDED])
@pytest.mark.parametrize("key", ["space", "escape"])
def test_space_and_escape_stop_from_anywhere(phase: RunPhase, key: str) -> None:
    assert told(Player(phase), [key])[0] == STOPPED_BY_PLAYER


@pytest.mark.parametrize("phase", [RunPhase.LIVE, RunPhase.WATCHING, RunPhase.READY])
def test_marks_and_taking_one_back(phase: RunPhase) -> None:
    assert told(Player(phase), ["h"], ["m"], ["u"])[:3] == [("mark", True), ("mark", False), ("mark", None)]


def test_without_marks_every_key_of_a_clicker_is_stop() -> None:
    for key in looping.CLICKER:
        assert told(Player(), [key])[0] == STOPPED_BY_CLICKER


def test_with_marks_forward_is_hit_back_is_miss_and_the_rest_is_stop() -> None:
    marks = told(Player(), ["page down"], ["page up"], ["right"], ["left"], marks=True)[:4]
    assert marks == [("mark", True), ("mark", False)] * 2
    for key in ("f5", ".", "b", "tab"):
        assert told(Player(), [key], marks=True)[0] == STOPPED_BY_CLICKER


@pytest.mark.parametrize("phase", [RunPhase.LIVE, RunPhase.ANSWERING, RunPhase.READY])
def test_the_same_key_of_a_clicker_twice_or_held_down_is_stop(phase: RunPhase) -> None:
    assert told(Player(phase), ["page down"], ["page down"], marks=True)[:2][-1] == STOPPED_BY_CLICKER
    assert told(Player(phase), ["page up"] * 9, marks=True)[1] == STOPPED_BY_CLICKER


def test_the_same_key_later_is_another_mark(monkeypatch: pytest.MonkeyPatch) -> None:
    time_now = [100.0]

    def later() -> None:
        time_now[0] += looping.TWICE_S + 0.01

    monkeypatch.setattr(looping, "clock", lambda: time_now[0])
    host = Player()
    played(host, Hands(["page down"], later, ["page down"]), marks=True)
    assert host.told_of[:2] == [("mark", True), ("mark", True)]


def test_the_signs_are_typed_and_stop_is_none_of_them() -> None:
    host = Player(RunPhase.ANSWERING)
    assert told(host, [], ["w", "8", "backspace", "7", "x"], ["y", "enter"])[0] == ("answer", "w7xy")


# ---- what must be read


def test_a_small_screen_arms_only_from_its_last_page(monkeypatch: pytest.MonkeyPatch) -> None:
    wall, pages, now = Wall((40, 12)), 0, [100.0]
    monkeypatch.setattr(looping, "clock", lambda: now[0])

    def later() -> None:
        now[0] += looping.PAGE_S + 0.01

    for presses in range(1, 9):
        host = Player(RunPhase.READY)
        played(host, Hands([], *[later, ["a"]] * presses), wall=wall)
        if ("arm",) in host.told_of:
            pages = presses
            break
    assert pages == laid_out(picture(Player(RunPhase.READY), 0.0), 40, 12).pages > 2


@pytest.fixture
def stands_still(monkeypatch: pytest.MonkeyPatch) -> None:
    """However slow the machine is, no time goes by."""
    monkeypatch.setattr(looping, "clock", lambda: 100.0)


def test_a_large_screen_arms_at_once_and_a_page_is_turned_back(stands_still: None) -> None:
    assert told(Player(RunPhase.READY), ["a"])[0] == ("arm",)
    host = Player(RunPhase.READY)
    played(host, Hands(["a"], ["backspace"], ["a"], ["a"]), wall=Wall((40, 12)))
    assert ("arm",) not in host.told_of


def test_a_key_held_down_reads_no_pages(stands_still: None) -> None:
    host = Player(RunPhase.READY)
    played(host, Hands([], *[["a"] * 20] * 5), wall=Wall((40, 12)))
    assert ("arm",) not in host.told_of


# ---- signals


@pytest.mark.parametrize(
    ("sent", "wanted"),
    [
        (signal.SIGINT, STOPPED_BY_PLAYER),
        (signal.SIGTERM, ("stop", "Interrupted", INTERRUPTED)),
        (signal.SIGHUP, ("stop", "Interrupted", INTERRUPTED)),
    ],
)
def test_interrupting_is_a_stop_and_other_signals_end_it(sent: signal.Signals, wanted: tuple[Any, ...]) -> None:
    host = Player()
    played(host, Hands(lambda: os.kill(os.getpid(), sent), [], []))
    assert host.told_of[0] == wanted


def test_a_system_without_hang_up_and_without_a_clock_that_counts_sleep(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(looping, "signal", SimpleNamespace(signal=signal.signal, SIGINT=signal.SIGINT))
    monkeypatch.setattr(looping, "time", SimpleNamespace(monotonic=time.monotonic))
    assert told(Player(), ["space"]) == [STOPPED_BY_PLAYER]


# ---- faults of the program itself

FAILS = ["step", "received", "messages", "first_in_s", "coming", "phase", "stop", "mark", "said", "counts"]


@pytest.mark.parametrize("breaks", FAILS)
@pytest.mark.parametrize("answers", [True, False])
def test_whatever_fails_the_machine_is_stopped_over_the_line_itself(breaks: str, answers: bool) -> None:
    host, wire = Player(), Wire(answers, b"noise\n")
    host.breaks = breaks
    ending, loop = played(host, Hands([], ["m"], [], ["space"]), wire)
    assert STOP in wire.sent and isinstance(loop.fault, Breaks)
    assert (ending.code, ending.stopped) == ((FAULT, True) if answers else (UNCONFIRMED, False))
    assert ending.why == "A fault in the program itself (Breaks)" and "counts as thrown" in ending.said
    if not answers:
        assert wire.sent.count(STOP) >= 2  # again, as long as the protocol says: more often, if the machine is not busy


def raises(error: BaseException) -> Callable[[], None]:
    def act() -> None:
        raise error

    return act


@pytest.mark.parametrize("error", [Breaks(), KeyboardInterrupt(), SystemExit(0), MemoryError(), RecursionError()])
def test_a_keyboard_that_fails_stops_the_machine(error: BaseException) -> None:
    wire = Wire()
    ending, loop = played(Player(), Hands([], raises(error)), wire)
    assert STOP in wire.sent and ending.code == FAULT and loop.fault is error


def test_a_screen_that_fails_stops_the_machine() -> None:
    wire = Wire()
    ending, _ = played(Player(), Hands(*[lambda: time.sleep(0.03)] * 20), wire, Wall(breaks=Breaks()))
    assert STOP in wire.sent and ending.code == FAULT


def test_a_screen_that_is_gone_is_a_stop_of_the_hosts_own() -> None:
    host = Player()
    played(host, Hands(*[lambda: time.sleep(0.03)] * 20), wall=Wall(breaks=OSError(5, "gone")))
    assert host.told_of[0] == ("stop", "The screen is gone", 3)


def test_a_line_that_fails_at_the_last_stop_is_tried_again_and_told() -> None:
    class Broken(Wire):
        def write(self, data: bytes) -> None:
            raise ValueError("the port's own fault")

    ending, _ = played(Player(breaks="step"), Hands(), Broken())
    assert (ending.code, ending.stopped) == (UNCONFIRMED, False)


def test_what_fails_before_anything_was_sent_sends_nothing() -> None:
    wire = Wire()
    ending, _ = Loop(Player(), wire, QUICK, Hands(), raises(Breaks()), bells=False).play(), None  # type: ignore[arg-type]
    assert wire.sent == b"" and (ending.code, ending.stopped) == (FAULT, None)


def test_a_machine_with_commands_of_its_own_gets_its_stop_line_once_and_is_not_believed() -> None:
    """Its answer may be a late one to another line."""
    how = replace(brake(built("answering", "flat", "6")[1]), for_s=0.05)
    wire = Wire(comes=b"done\r\n")
    ending, _ = played(Player(breaks="step"), Hands(), wire, how=how)
    assert wire.sent == b"rest\r\n" and (ending.code, ending.stopped) == (UNCONFIRMED, False)


# ---- a line that never ends


def test_noise_is_handed_on_in_small_parts_with_a_look_at_the_keys_between() -> None:
    host = Player()
    played(host, Hands([], [], ["space"]), Wire(comes=b"x" * 100_000))
    parts = host.told_of[: host.told_of.index(STOPPED_BY_PLAYER)]
    assert all(size <= looping.MOST_BYTES for _, size in parts) and len(parts) <= 3
