"""From a phone's STOP to the stop byte on the line, with ten phones, over the loopback network: median and p99.

FEEDWRIGHT_BENCH=1 python -m pytest -s tests/benchmarks/test_phone_stop.py
"""

import os
import re
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from ..court.stage import Client
from ..replay.club import built, written
from ..replay.hindered import held, until
from ..replay.outside import Machine, Terminal, replay

pytestmark = pytest.mark.skipif("FEEDWRIGHT_BENCH" not in os.environ, reason="benchmarks are run by name")
STOPS = int(os.environ.get("FEEDWRIGHT_STOPS", "50"))
AT_ONCE = int(os.environ.get("FEEDWRIGHT_AT_ONCE", "1"))
"""One: the machine and the phones of a run are threads of this process, and would wait for those of another."""
WAY_IN = re.compile(r"http://127\.0\.0\.1:(\d+)/#(\w{12})")
PHONES, BEAT_S = 10, 0.25
HINDRANCES = ("nothing", "a log that is held", "a flooding device")


def phone_to_line(folder: Path, hindrance: str, wait_s: float) -> float:
    """Seconds from the request of the stop to its byte, read on the device's side."""
    plan, db = written(folder), folder / "practice.db"
    machine = Machine(built()[0].feeder.device, noise=hindrance == "a flooding device")
    over = threading.Event()
    with held(db, hindrance):
        more = ("--quiet", "--plain", "--db", str(db), "--court", "127.0.0.1:0")
        terminal = Terminal(*replay(plan, machine.port, *more), size=(120, 200))
        try:
            phones: list[Client] = []
            for n in range(PHONES):
                if n:
                    terminal.press(b"j")
                until(lambda n=n: len(WAY_IN.findall(terminal.cells.all)) > n)  # type: ignore[misc]
                port, word = WAY_IN.findall(terminal.cells.all)[n]
                phones.append(Client(int(port)))
                assert phones[-1].join(f"p{n}", word)[0] == 200
                terminal.see(f"p{n} has joined")
            beats = [threading.Thread(target=_beat, args=(phone, over), daemon=True) for phone in phones[1:]]
            for beat in beats:
                beat.start()
            _first_ball(terminal, machine)
            phones[0].exchange()  # as a page does, which says every moment that it is there
            time.sleep(wait_s)
            before, pressed = len(machine.stops), time.monotonic()
            phones[0].stop()
            until(lambda: len(machine.stops) > before)
            took = machine.stops[before] - pressed
            assert terminal.end(20.0) == 0
            return took
        finally:
            over.set()
            machine.close()


def _first_ball(terminal: Terminal, machine: Machine) -> None:
    """Arm, and once more where the computer was too busy for a ball: the replay then holds."""
    for _ in range(4):
        terminal.arm()
        end = time.monotonic() + 8.0
        while not machine.thrown and time.monotonic() < end:
            time.sleep(0.005)
        if machine.thrown:
            return
    raise AssertionError(f"no ball leaves:\n{terminal.cells.all}")


def _beat(phone: Client, over: threading.Event) -> None:
    try:
        while not over.wait(BEAT_S):
            phone.exchange()
    except OSError:
        pass  # the replay has ended


@pytest.mark.parametrize("hindrance", HINDRANCES)
def test_from_phone_to_line(hindrance: str, tmp_path: Path) -> None:
    folders = [tmp_path / str(n) for n in range(STOPS)]
    for folder in folders:
        folder.mkdir()
    with ThreadPoolExecutor(AT_ONCE) as pool:
        runs = [pool.submit(phone_to_line, f, hindrance, 0.1 + n % 7 * 0.07) for n, f in enumerate(folders)]
        took = sorted(run.result() * 1000 for run in runs)
    p99 = took[min(STOPS - 1, int(STOPS * 0.99))]
    slowest = ", ".join(f"{t:.1f}" for t in took[-4:])
    print(f"\n{hindrance}: {STOPS} stops, median {took[STOPS // 2]:.1f} ms, p99 {p99:.1f} ms; the slowest {slowest}")
    assert p99 <= 60.0
