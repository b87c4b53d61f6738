"""Real processes on a pseudo-terminal, a person's keys, and signals at awkward moments; the device's log is the truth.

All scenes are started together and mostly wait, so that the suite does not.
"""

import os
import pty
import random
import signal
import threading
import time
import tty
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import pairwise
from pathlib import Path
from typing import Any

import pexpect
import pytest

from .club import written
from .rig import DeviceProcess, Player

# Real processes against the clock, on a machine that may be busy: a moment too late is tried again.
pytestmark = pytest.mark.flaky(reruns=2)

SCENES: dict[str, Callable[[Path], Any]] = {}


def scene(act: Callable[[Path], Any]) -> Callable[[Path], Any]:
    SCENES[act.__name__] = act
    return act


@pytest.fixture(scope="module")
def together(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, "Future[Any]"]]:
    """All scenes at once: they mostly wait."""
    with ThreadPoolExecutor(len(SCENES)) as pool:
        folders = {name: tmp_path_factory.mktemp(name) for name in SCENES}
        for folder in folders.values():
            written(folder)
        yield {name: pool.submit(act, folders[name]) for name, act in SCENES.items()}


class Alone(dict[str, "Future[Any]"]):
    """A scene played by itself, when it is tried again."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self._folder = folder

    def __missing__(self, name: str) -> "Future[Any]":
        written(self._folder)
        self[name] = future = Future[Any]()
        future.set_result(SCENES[name](self._folder))
        return future


@pytest.fixture
def played(
    request: pytest.FixtureRequest, together: dict[str, "Future[Any]"], tmp_path: Path
) -> dict[str, "Future[Any]"]:
    return together if getattr(request.node, "execution_count", 1) == 1 else Alone(tmp_path)


def plan(folder: Path) -> Path:
    return folder / "quick.plan.json"


# ---- a person at the keyboard, the device in the same process


@scene
def to_the_end(folder: Path) -> tuple[int, str]:
    player = Player.start(plan(folder), "simulated", "--from", "7")
    player.arm()
    player.see("1 ball thrown")
    player.press("m")
    player.see("1 miss")
    player.see("played")
    player.arm()
    return player.end()


def test_a_person_plays_to_the_end(played: dict[str, "Future[Any]"]) -> None:
    code, text = played["to_the_end"].result()
    assert code == 0 and "All balls are played" in text and "Last ball surely thrown: 10" in text


@scene
def pause_and_on(folder: Path) -> tuple[int, str]:
    player = Player.start(plan(folder), "simulated", "--plain", "--to", "5")
    player.arm()
    player.see("next: ball 3")
    player.press("p")
    player.see("Paused")
    player.arm()
    player.see("next: ball 5")
    player.press("h")
    return player.end()


def test_pause_and_armed_anew(played: dict[str, "Future[Any]"]) -> None:
    code, text = played["pause_and_on"].result()
    assert code == 0 and "All balls are played" in text and "1 hit," in text


@scene
def skip_and_stop(folder: Path) -> tuple[int, str]:
    player = Player.start(plan(folder), "simulated", "--plain")
    player.arm()
    player.see("next: ball 2")
    player.press("n")
    player.see("Skipped to the next block")
    player.see("balls, 5 to 8")
    player.press("a")
    player.see("type")
    player.press(" ")
    return player.end()


def test_skip_then_stop_at_the_question(played: dict[str, "Future[Any]"]) -> None:
    code, text = played["skip_and_stop"].result()
    assert code == 0 and "The machine is stopped and said so." in text


@scene
def wrong_answer_then_term(folder: Path) -> tuple[int, str]:
    player = Player.start(plan(folder), "simulated", "--plain")
    player.ask()
    player.answer("aaaa")
    player.see("nothing is armed")
    player.press("a")
    player.see("type")
    os.kill(player.host, signal.SIGTERM)
    return player.end()


def test_55_sigterm_at_the_question(played: dict[str, "Future[Any]"]) -> None:
    code, text = played["wrong_answer_then_term"].result()
    assert code == 130 and "Interrupted" in text and "Last ball surely thrown: none" in text


@scene
def first_balls(folder: Path) -> tuple[int, str]:
    player = Player.start(plan(folder), "simulated", "--plain", "--test-balls", "--to", "1")
    player.see("Test balls, nobody in front")
    player.arm()
    player.see("Brackenmoor quick: 3 balls")
    player.arm()
    return player.end()


def test_first_balls_come_first_and_are_armed_apart(played: dict[str, "Future[Any]"]) -> None:
    code, text = played["first_balls"].result()
    assert code == 0 and "Last ball surely thrown: 1" in text


# ---- over a pseudo-terminal


class OwnCommands:
    """A machine with commands of its own: each line is noted, and answered with `done` if it answers."""

    def __init__(self, answers: bool) -> None:
        self.master, slave = pty.openpty()
        tty.setraw(slave)
        self.port, self._slave, self.answers, self.lines = os.ttyname(slave), slave, answers, list[bytes]()
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        heard = b""
        while self.lines[-1:] != [b"over"]:
            heard += os.read(self.master, 1024)
            *lines, heard = heard.split(b"\r\n")
            self.lines += lines
            if self.answers:
                os.write(self.master, b"done\r\n" * len(lines))

    def close(self) -> list[bytes]:
        os.write(self._slave, b"over\r\n")
        self._thread.join(5)
        os.close(self.master)
        os.close(self._slave)
        return self.lines[:-1]


def stopped_by_space(folder: Path, answers: bool) -> tuple[int, str, list[bytes]]:
    machine = OwnCommands(True)
    player = Player.start(written(folder, "answering", spin="flat", interval="6"), machine.port, "--plain")
    player.see("Its port is set to 115200 baud")
    player.arm()
    player.see("1 ball thrown")
    machine.answers = answers
    player.press(" ")
    code, text = player.end()
    return code, text, machine.close()


@scene
def own_commands_answer_a_stop(folder: Path) -> tuple[int, str, list[bytes]]:
    return stopped_by_space(folder, True)


@scene
def own_commands_leave_a_stop_unanswered(folder: Path) -> tuple[int, str, list[bytes]]:
    return stopped_by_space(folder, False)


@pytest.mark.parametrize(
    ("name", "wanted", "said"),
    [
        ("own_commands_answer_a_stop", 0, "heard its stop line"),
        ("own_commands_leave_a_stop_unanswered", 4, "Stop NOT CONFIRMED"),
    ],
)
def test_space_on_a_machine_with_commands_of_its_own(
    played: dict[str, "Future[Any]"], name: str, wanted: int, said: str
) -> None:
    code, text, lines = played[name].result()
    assert code == wanted and said in text, text
    assert lines.count(b"throw") == 1 and lines[-1] == b"rest"


@scene
def over_the_port(folder: Path) -> tuple[int, str, list[int], list[float], str]:
    device = DeviceProcess(folder)
    player = Player.start(plan(folder), device.port, "--plain", "--to", "3")
    player.ask()
    second = Player.start(plan(folder), device.port, "--plain")
    busy, said = second.end()
    player.answer()
    code, text = player.end()
    device.close()
    return code, text, device.thrown, device.times(), f"{busy} {said}"


def test_43_over_the_port_and_a_second_opener(played: dict[str, "Future[Any]"]) -> None:
    code, text, thrown, times, busy = played["over_the_port"].result()
    assert (code, thrown) == (0, [1, 2, 3]), text
    assert busy.startswith("3 ") and "is busy" in busy
    # 0.6 s apart by the plan; each launch is at most 30 ms off its moment.
    assert all(abs(b - a - 0.6) <= 0.06 for a, b in pairwise(times))


def killed(folder: Path, seed: int) -> tuple[list[int], list[float], float, int]:
    """SIGKILL at a random moment of the play, then another host goes on by the record."""
    device = DeviceProcess(folder)
    player = Player.start(plan(folder), device.port, "--plain", "--to", "6")
    player.arm()
    time.sleep(random.Random(seed).uniform(2.5, 5.5))
    os.kill(player.host, signal.SIGKILL)
    at = time.monotonic()
    player.leave()
    time.sleep(1.0)
    before = device.times()
    again = Player.start(plan(folder), device.port, "--plain", "--to", "6", "--continue")
    again.arm()
    code, _ = again.end()
    device.close()
    return device.thrown, before, at, code


@scene
def kill_1(folder: Path) -> Any:
    return killed(folder, 1)


def test_37_38_host_killed_and_another_goes_on(played: dict[str, "Future[Any]"]) -> None:
    """At one moment; in virtual time at many, in test_random_runs.py."""
    thrown, before, at, code = played["kill_1"].result()
    assert len(set(thrown)) == len(thrown) and thrown == sorted(thrown), thrown
    assert not any(moment > at + 0.55 for moment in before), "a ball long after the host was gone"
    assert set(range(1, 7)) - set(thrown) <= {max([0, *thrown[: len(before)]]) + 1}, (
        "at most the ball in doubt is left out"
    )
    assert code == 0


@scene
def frozen(folder: Path) -> tuple[int, str, list[float], float]:
    device = DeviceProcess(folder)
    player = Player.start(plan(folder), device.port, "--plain")
    player.arm()
    player.see("next: ball 2")
    os.kill(player.host, signal.SIGSTOP)
    at = time.monotonic()
    time.sleep(3.0)
    os.kill(player.host, signal.SIGCONT)
    code, text = player.end()
    device.close()
    return code, text, device.times(), at


def test_40_48_host_stopped_for_three_seconds(played: dict[str, "Future[Any]"]) -> None:
    code, text, times, at = played["frozen"].result()
    assert code == 3 and "The computer was away for" in text
    assert max(times) <= at + 0.55


@scene
def frozen_short(folder: Path) -> tuple[list[int], list[float]]:
    device = DeviceProcess(folder)
    player = Player.start(plan(folder), device.port, "--plain", "--to", "4")
    player.arm()
    player.see("next: ball 2")
    os.kill(player.host, signal.SIGSTOP)
    time.sleep(0.3)
    os.kill(player.host, signal.SIGCONT)
    # It plays on, or waits for a person; away for more than a second, as on a busy machine, it ends.
    if player.child.expect(["All balls are played", "Ready to arm", pexpect.EOF]) < 2:
        player.press(" ")
    player.end()
    device.close()
    return device.thrown, device.times()


def test_39_host_stopped_for_a_moment(played: dict[str, "Future[Any]"]) -> None:
    thrown, times = played["frozen_short"].result()
    assert thrown == list(range(1, len(thrown) + 1)) and len(thrown) >= 1
    assert all(b - a >= 0.4 for a, b in pairwise(times)), "no burst to catch up"


@scene
def interrupted_twice(folder: Path) -> tuple[int, str, object, list[float], float]:
    device = DeviceProcess(folder)
    player = Player.start(plan(folder), device.port, "--plain")
    player.arm()
    player.see("next: ball 2")
    player.press("\x03")
    at = time.monotonic()
    time.sleep(0.05)
    player.press("\x03")
    code, text = player.end()
    device.close()
    return code, text, device.state(), device.times(), at


def test_54_interrupted_twice(played: dict[str, "Future[Any]"]) -> None:
    code, text, state, times, at = played["interrupted_twice"].result()
    assert code == 0 and state == "stopped" and "The machine is stopped and said so." in text
    assert not any(moment > at + 0.5 for moment in times)


@scene
def keyboard_gone(folder: Path) -> tuple[object, list[float], float]:
    device = DeviceProcess(folder)
    player = Player.start(plan(folder), device.port, "--plain")
    player.arm()
    player.see("next: ball 2")
    at = time.monotonic()
    player.leave()  # the terminal's window is closed: hang-up
    time.sleep(2.0)
    device.close()
    return device.state(), device.times(), at


def test_49_the_terminal_is_closed(played: dict[str, "Future[Any]"]) -> None:
    state, times, at = played["keyboard_gone"].result()
    assert state == "stopped"
    assert not any(moment > at + 0.55 for moment in times)
