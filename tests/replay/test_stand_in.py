"""The simulated machine as a user starts it."""

import gc
import io
import json
import os
import signal

import pytest

from feedwright.targets.command.cli import main
from feedwright.targets.machine.replay import stand_in
from feedwright.targets.machine.replay.stand_in import Bench
from feedwright.targets.machine.wire.frames import STOP

from . import bench as played
from .world import LIMITS


def test_no_start_draws_the_words_of_another_unless_a_seed_is_given() -> None:
    def draws(seed: int | None) -> int:
        return Bench(LIMITS, "", seed, None, 0.0).device._random.getrandbits(64)

    # Two of 64 bits alike by chance: once in 2**64 runs.
    assert draws(None) != draws(None) and draws(7) == draws(7)


@pytest.mark.parametrize(
    ("name", "said"), [("nobody", "there is no profile nobody"), ("racket", "the profile racket names no device")]
)
def test_a_device_that_no_profile_describes(name: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["device", name]) == 2
    assert said in capsys.readouterr().err


def test_a_ball_that_it_throws_is_printed_with_where_it_lands_and_noted() -> None:
    machine = played.Bench()
    at = machine.armed()
    machine.fly(1, at)
    machine.wait(500)
    out, log = io.StringIO(), io.StringIO()
    for fact in machine.device.log:
        if fact.what == "throw":
            stand_in._report(fact, out, log, lambda settings: f"lands far off at {settings[0]}")
    thrown, lands = out.getvalue().splitlines()
    noted = json.loads(log.getvalue())
    assert thrown.startswith("threw ") and json.loads(thrown.removeprefix("threw ")) == noted
    assert noted["ball"] == 1 and noted["agreed_ms"] == at and noted["run"] == played.RUN
    assert {key: noted[key] for key in played.STEADY} == played.STEADY
    assert lands == f"ball 1 lands far off at {played.STEADY['s']}"


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")
def test_what_the_machine_did_is_printed_and_noted_until_it_is_interrupted(monkeypatch: pytest.MonkeyPatch) -> None:
    """A host sends a stop, and once the machine has done something, somebody presses Ctrl+C."""
    master, slave = stand_in.open_ends()
    turn, host = stand_in._turn, os.open(os.ttyname(slave), os.O_RDWR | os.O_NOCTTY)
    os.write(host, bytes([STOP]))

    def turned(master: int, bench: Bench, owed: bytes) -> bytes:
        owed = turn(master, bench, owed)
        if bench.device.log:
            signal.raise_signal(signal.SIGINT)
        return owed

    monkeypatch.setattr(stand_in, "_turn", turned)
    handlers = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    out, log = io.StringIO(), io.StringIO()
    try:
        stand_in.serve((master, slave), LIMITS, "", 7, out, log)
    finally:
        gc.enable()
        for number, handler in handlers.items():
            signal.signal(number, handler)
        os.close(host)
    noted = [json.loads(line) for line in log.getvalue().splitlines()]
    assert [fact["what"] for fact in noted] == ["stop", "state"], noted
    port, limits, *said = out.getvalue().splitlines()
    assert port.startswith("/dev/") and limits.startswith("bench-1: ")
    assert said[-2:] == [" ".join([fact["what"], *map(str, fact["about"])]) for fact in noted]
