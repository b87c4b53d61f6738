"""Rules of the device beyond the numbered fault cases, each with a case of its own."""

import pytest

from feedwright.targets.machine.replay.explain import explain
from feedwright.targets.machine.replay.stand_in import faults_of
from feedwright.targets.machine.wire.frames import crc

from .bench import FP, RUN, STEADY, Bench


@pytest.fixture
def bench() -> Bench:
    return Bench()


def test_a_gate_that_fails_at_the_moment_drops_the_ball(bench: Bench) -> None:
    at = bench.armed()
    bench.fly(1, at)
    bench.wait(at - bench.ms - 1)
    bench.tick()
    bench.ms = at + 31  # the machine itself was busy: 30 ms are allowed
    bench.device.advance(bench.now)
    assert [(f.word, f.values.get("why")) for f in bench.listen()] == [("miss", "moment"), ("held", "moment")]
    assert bench.thrown == []


def test_an_empty_hopper() -> None:
    bench = Bench(hopper=1)
    at = bench.armed()
    bench.fly(1, at)
    bench.wait(500)
    bench.ready(2)
    assert bench.go(2, at + 700) == "not-ready"


def test_slow_wheels() -> None:
    bench = Bench(wheels_ms=5000.0)
    bench.fly(1, bench.armed())
    bench.wait(500)
    assert bench.thrown == [] and bench.state == "held"
    assert [(f.word, f.values["why"]) for f in bench.heard if f.word in ("miss", "held")] == [
        ("miss", "wheels"), ("held", "wheels")]  # fmt: skip


def test_a_jam_is_latched_until_its_cause_is_gone() -> None:
    bench = Bench(jam_at=1)
    at = bench.armed()
    bench.fly(1, at)
    bench.wait(500)
    assert bench.thrown == [] and bench.state == "faulted"
    assert bench.why("clear") == "fault"
    assert bench.go(1, at + 900) == "state"
    bench.raw(b"\x07")
    assert bench.state == "faulted"
    bench.device.clear_jam()
    assert bench.why("clear") == "ok" and bench.state == "connected"


def test_go_without_ready_and_with_other_settings(bench: Bench) -> None:
    at = bench.armed()
    assert bench.go(1, at) == "not-ready"
    bench.ready(1)
    assert bench.go(1, at, e=12001) == "not-ready"
    assert bench.go(1, at) == "ok"


def test_arm_and_yes_without_a_fresh_tick(bench: Bench) -> None:
    bench.up_to_arm()
    bench.wait(600, ticks=False)
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "not-fresh"
    bench.tick()
    bench.tick()
    right = bench.say("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}).values["c"]
    bench.wait(800, ticks=False)
    assert bench.why("yes", c=right, w=3000) == "not-fresh" and bench.state == "connected"


def test_armed_for_two_minutes_without_a_launch(bench: Bench) -> None:
    bench.armed()
    bench.wait(120_000)
    assert bench.state == "live"
    bench.wait(400)
    assert bench.state == "connected"


def test_quiet_for_five_seconds_ends_a_session(bench: Bench) -> None:
    bench.up_to_arm()
    bench.wait(4900, ticks=False)
    assert bench.state == "connected"
    bench.wait(200, ticks=False)
    assert bench.state == "asleep" and bench.why("clear") == "asleep"


def test_words_verbs_and_their_values(bench: Bench) -> None:
    at = bench.armed()
    assert bench.why("fly", b=1) == "verb"
    assert bench.why("go", b=1, at=at) == "words"
    assert bench.why("go", b=1, at="soon", **STEADY) == "words"
    assert bench.why("fate") == "words"
    assert bench.why("arm", fp="short", run=RUN, **{"from": 1, "of": 3}) == "state"
    bench.why("hold")
    assert bench.why("arm", fp="short", run=RUN, **{"from": 1, "of": 3}) == "words"
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 3, "of": 1}) == "range"
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 0, "of": 3}) == "range"


def test_the_machines_own_key(bench: Bench) -> None:
    bench.fly(1, bench.armed())
    bench.device.stop(bench.now, "key")
    bench.wait(500)
    assert bench.thrown == [] and bench.state == "stopped"


def test_the_machines_own_key_proves_nothing_about_the_line(bench: Bench) -> None:
    bench.hello()
    bench.device.stop(bench.now, "key")
    assert bench.why("clear") == "ok"
    bench.tick()
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "stop-unproven"


def test_a_reset_at_the_moment_of_a_ball() -> None:
    bench = Bench(reset_at=1)
    bench.fly(1, bench.armed())
    bench.wait(500)
    assert bench.thrown == [] and bench.state == "asleep" and bench.device.boots == 2


@pytest.mark.parametrize(
    ("line", "why", "said"),
    [
        (b"@5e551011 8 fate b=1 ~00000000", "garbled", "its checksum says 00000000, its bytes give "),
        (b"@5e551011 8 fate b=1 ~00000000\r", "garbled", "it ends in CR LF, and LF alone is expected"),
        (b"ATZ", "garbled", "a line starts with @"),
        (b"@5e551011 8 fate b=1", "garbled", "it has no checksum"),
        (b"@5e551011 8 faet b=1 ~", "garbled", "its checksum says"),
        (b"\x00\xff", "garbled", "received \\x00\\xff"),
        (b"@5e551011 8 fate b=1 ~00000000", "early", "refused: early"),
        (b"x" * 95, "swallowed", "a line has at most 96 with its end"),
    ],
)
def test_the_device_explains_itself(line: bytes, why: str, said: str) -> None:
    assert said in explain(line, why)


def test_a_verb_that_is_near_is_named() -> None:
    body = b"@5E551011 8 faet b=1 "
    assert "near: fate" in explain(body + b"~" + crc(body).encode(), "garbled")


def test_faults_are_read_from_words() -> None:
    line, machine = faults_of("lost=0.1, merged=0.5,jam_at=3,reset_at=2,mute")
    assert (line.lost, line.merged, machine.jam_at, machine.reset_at, machine.mute) == (0.1, 0.5, 3, 2, True)
