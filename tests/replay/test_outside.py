"""`feedwright replay` as a process, and at the other end of a pseudo-terminal a device that shares no line with it.

All scenes are started together and mostly wait.
"""

import contextlib
import os
import pty
import select
import threading
import time
import tty
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path

import pytest

from ..whole import WHOLE
from .club import built, written
from .rig import Player
from .stranger import Habits, Stranger

# Real processes against the clock, on a machine that may be busy: a moment too late is tried again.
pytestmark = pytest.mark.flaky(reruns=2)

Ended = tuple[int, str, Stranger]


class Port:
    """A stranger behind a pseudo-terminal, in a thread; `speed`: its seconds to ours."""

    def __init__(self, speed: float = 1.0, **habits: object) -> None:
        limits = built()[1].limits
        assert limits is not None
        self.device = Stranger(dict(limits.ranges), limits.cap, limits.gap, limits.id)
        self.device.habits = Habits(**habits)  # type: ignore[arg-type]
        self._speed, self._start, self._over = speed, time.monotonic(), False
        self._master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self._master, False)
        self.name = os.ttyname(self._slave)
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        while not self._over:
            ms = (time.monotonic() - self._start) * 1000 * self._speed
            with contextlib.suppress(BlockingIOError, OSError):
                self.device.take(ms, os.read(self._master, 4096))
            self.device.pass_time(ms)
            if self.device.out:
                out, self.device.out = self.device.out, b""
                with contextlib.suppress(BlockingIOError, OSError):
                    os.write(self._master, out)
            select.select([self._master], [], [], 0.005)

    def close(self) -> None:
        self._over = True
        self._thread.join(2)
        os.close(self._master)
        os.close(self._slave)


def played(folder: Path, act: Callable[[Player], None], speed: float = 1.0, **habits: object) -> Ended:
    port = Port(speed, **habits)
    player = Player.start(written(folder), port.name, "--plain", "--to", "3")
    act(player)
    code, text = player.end()
    port.close()
    return code, text, port.device


def armed(player: Player) -> None:
    player.arm()


def asked(player: Player) -> None:
    player.ask()
    player.answer()


def untouched(player: Player) -> None:
    pass


SCENES: dict[str, tuple[Callable[[Path], Ended], int, str, list[int]]] = {
    "an honest one": (lambda folder: played(folder, armed), 0, "All balls are played", [1, 2, 3]),
    "an event without its ball": (
        lambda folder: played(folder, armed, event_without_b="gone"), 3, "gone without a valid b=", [1]),
    "ignores the walk time": (
        lambda folder: played(folder, asked, walk_share=0.0), 3, "was given 3 s to walk", []),
    "keeps a tenth of the walk time": (
        lambda folder: played(folder, asked, walk_share=0.1), 3, "was given 3 s to walk", []),
    "not before eleven days": (
        lambda folder: played(folder, asked, not_before=999_999_999), 3, "was given 3 s to walk", []),
    "double speed": (lambda folder: played(folder, untouched, speed=2.0), 3, "runs at another speed", []),
    "half speed": (lambda folder: played(folder, untouched, speed=0.5), 3, "runs at another speed", []),
    "throws twice": (lambda folder: played(folder, armed, gone_twice=True), 4, "threw on its own (ball 1", [1, 1]),
    "another ball": (lambda folder: played(folder, armed, other_ball=7), 4, "threw on its own (ball 8", [1, 8]),
    "as soon as announced": (
        lambda folder: played(folder, armed, throws_on_go=True), 4, "before its moment", [1]),
    "never says that it stopped": (
        lambda folder: played(folder, untouched, never_stopped=True), 4, "NOT CONFIRMED", []),
}  # fmt: skip

# Some with every run; test_fault_table.py plays all of them in a time of its own.
OFTEN = ("an honest one", "an event without its ball", "keeps a tenth of the walk time", "double speed", "throws twice",
         "never says that it stopped")  # fmt: skip
if not WHOLE:
    SCENES = {name: SCENES[name] for name in OFTEN}


@pytest.fixture(scope="module")
def together(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, "Future[Ended]"]]:
    with ThreadPoolExecutor(len(SCENES)) as pool:
        yield {name: pool.submit(SCENES[name][0], tmp_path_factory.mktemp("outside")) for name in SCENES}


@pytest.mark.parametrize("name", SCENES)
def test_a_machine_that_shares_no_line_with_the_host(
    request: pytest.FixtureRequest, together: dict[str, "Future[Ended]"], tmp_path: Path, name: str
) -> None:
    act, wanted, said, thrown = SCENES[name]
    first = getattr(request.node, "execution_count", 1) == 1
    code, text, device = together[name].result() if first else act(tmp_path)
    assert code == wanted and said in text, text
    assert [ball for ball, _ in device.thrown] == thrown and "Traceback" not in text
    assert device.stops >= 3
    assert (code == 4) == ("NOT CONFIRMED" in text or "go to its own switch" in text)
