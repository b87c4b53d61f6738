"""Fault cases of the device, each by its number and with the refusal it must meet; `thrown` is the device's own log."""

import pytest

from feedwright.targets.machine.wire.frames import encode

from .bench import FP, RUN, STEADY, Bench


@pytest.fixture
def bench() -> Bench:
    return Bench()


def test_01_no_fault(bench: Bench) -> None:
    at = bench.armed()
    assert bench.fly(1, at) == "ok"
    bench.wait(400)
    assert bench.thrown == [1]


def test_02_reply_lost_same_line_again(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    line = bench.line("go", b=1, at=at, **STEADY)
    first, again = bench.raw(line), bench.raw(line)
    assert first == again and [f.word for f in again] == ["ok"]
    bench.wait(400)
    assert bench.thrown == [1]


def test_03_same_line_after_the_ball_has_gone(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    line = bench.line("go", b=1, at=at, **STEADY)
    bench.raw(line)
    bench.wait(400)
    assert [f.word for f in bench.raw(line)] == ["ok"]
    bench.wait(1000)
    assert bench.thrown == [1]


def test_04_same_ball_new_number(bench: Bench) -> None:
    at = bench.armed()
    bench.fly(1, at)
    bench.wait(400)
    assert bench.go(1, at + 600) == "ball"
    bench.wait(1000)
    assert bench.thrown == [1]


def test_05_second_ball_while_one_waits(bench: Bench) -> None:
    at = bench.armed()
    bench.fly(1, at)
    assert bench.go(2, at + 600) == "busy"
    bench.wait(1500)
    assert bench.thrown == [1]


def test_06_a_line_was_lost(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    (answer,) = bench.raw(bench.line("go", number=bench.number + 1, b=1, at=at, **STEADY))
    assert answer.values == {"why": "number", "want": str(bench.number)}
    bench.wait(500)
    assert bench.thrown == []


def test_07_a_ball_that_was_left_out_does_not_come_later(bench: Bench) -> None:
    at = bench.armed()
    assert bench.fly(2, at) == "ok"
    bench.wait(400)
    assert bench.ready(1) == "ball" and bench.go(1, at + 600) == "ball"
    bench.wait(1000)
    assert bench.thrown == [2]


def test_08_one_bit_changed_in_a_digit(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    line = bench.line("go", b=1, at=at, **STEADY)
    place = line.index(b"s=20000") + 2
    (answer,) = bench.raw(line[:place] + bytes([line[place] ^ 1]) + line[place + 1 :])
    assert answer.values["why"] == "garbled"
    bench.wait(500)
    assert bench.thrown == []


def test_09_two_lines_run_together(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    both = bench.line("fate", b=1)[:-1] + bench.line("fate", number=bench.number + 1, b=1)
    assert [f.values["why"] for f in bench.raw(both)] == ["garbled"]
    long = bench.line("fate", b=1)[:-1] + bench.line("go", number=bench.number + 1, b=1, at=at, **STEADY)
    assert bench.raw(long) == []  # beyond 96 bytes it is swallowed without an answer
    bench.wait(500)
    assert bench.thrown == []


def test_10_five_thousand_bytes_without_an_end_then_a_good_line(bench: Bench) -> None:
    bench.armed()
    assert bench.raw(b"x" * 5000 + b"\n") == []
    assert bench.ready(1) == "ok"


def test_11_words_of_another_program(bench: Bench) -> None:
    bench.armed()
    assert [f.values["why"] for f in bench.raw(b"AT+CGMI\nATZ\r\n")] == ["garbled", "garbled"]
    assert bench.ready(1) == "ok"


def test_12_speed_over_the_cap(bench: Bench) -> None:
    at = bench.armed()
    assert bench.ready(1, s=30001) == "cap"
    assert bench.go(1, at, s=30001) == "cap"
    assert bench.ready(1, s=30000) == "ok" and bench.go(1, at, s=30000) == "ok"


@pytest.mark.parametrize("setting", [{"e": -1}, {"e": 45001}, {"a": 12001}, {"t": 18001}, {"k": 1}, {"s": 7999}])
def test_12b_a_setting_out_of_range(bench: Bench, setting: dict[str, int]) -> None:
    at = bench.armed()
    assert bench.ready(1, **setting) == "range" and bench.go(1, at, **setting) == "range"
    assert bench.thrown == []


def test_13_one_ball_more_than_agreed(bench: Bench) -> None:
    at = bench.armed(last=1)
    bench.fly(1, at)
    assert bench.go(2, at + 600) == "range"
    bench.wait(1500)
    assert bench.thrown == [1] and bench.state == "connected"


def test_14_moment_past(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    bench.wait(400)
    assert bench.go(1, at) == "late"
    assert bench.go(1, int(bench.ms) + 19) == "late"
    assert bench.go(1, int(bench.ms) + 20) == "ok"


def test_15_moment_nine_seconds_ahead(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    assert bench.go(1, at + 9000) == "early"
    assert bench.go(1, int(bench.ms) + 2001) == "early"
    assert bench.go(1, int(bench.ms) + 2000) == "ok"


def test_16_inside_the_warning_time(bench: Bench) -> None:
    bench.up_to_arm()
    at = bench.arm()
    bench.wait(at - bench.ms - 100)
    bench.ready(1)
    assert bench.go(1, at - 1) == "walk-time"
    assert bench.go(1, at) == "ok"


def test_17_sooner_than_the_gap(bench: Bench) -> None:
    at = bench.armed()
    bench.fly(1, at)
    bench.wait(400)
    bench.ready(2)
    assert bench.go(2, at + 499) == "gap"
    assert bench.go(2, at + 501) == "ok"  # 500 after the launch, which may be a part of 1 ms after its moment


def test_18_stop_while_a_ball_waits(bench: Bench) -> None:
    bench.fly(1, bench.armed())
    assert [(f.word, f.values.get("why")) for f in bench.raw(b"\x07")] == [("miss", "stop"), ("stopped", "byte")]
    bench.wait(1000)
    assert bench.thrown == [] and bench.state == "stopped"


def test_19_stop_in_the_middle_of_a_line(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    line = bench.line("go", b=1, at=at, **STEADY)
    heard = bench.raw(line[:20] + b"\x07" + line[20:])
    assert [(f.word, f.values["why"]) for f in heard] == [("stopped", "byte"), ("no", "state")]
    bench.wait(500)
    assert bench.thrown == []


def test_20_go_after_stop(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    bench.raw(b"\x07")
    assert bench.go(1, at) == "state"


def test_21_arm_after_stop_without_clear(bench: Bench) -> None:
    bench.armed()
    bench.raw(b"\x07")
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "state"


def test_22_go_after_stop_and_clear(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    bench.prove()
    assert bench.go(1, at) == "state"
    bench.wait(500)
    assert bench.thrown == []


def test_23_ticks_cease_while_a_ball_waits(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    bench.go(1, at + 400)
    bench.wait(1000, ticks=False)
    assert bench.thrown == [] and bench.state == "held"
    assert [(f.word, f.values["why"]) for f in bench.heard[-2:]] == [("miss", "quiet"), ("held", "quiet")]


def test_24_ticks_repeat_one_old_word(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    bench.go(1, at + 400)
    word = bench.word
    for _ in range(20):
        bench.wait(50, ticks=False)
        bench.tick(word)
    assert bench.thrown == [] and bench.state == "held"


def test_24b_a_fresh_tick_does_not_lead_back_to_live(bench: Bench) -> None:
    bench.fly(1, bench.armed())
    bench.wait(600, ticks=False)
    bench.wait(1000)
    assert bench.state == "held" and bench.thrown == [1]  # due 300 ms on, held at 500 ms


def test_25_line_of_an_older_session(bench: Bench) -> None:
    at = bench.armed()
    bench.ready(1)
    old = bench.line("go", b=1, at=at, **STEADY)
    bench.hello(nonce="12345678")
    assert [f.values["why"] for f in bench.raw(old)] == ["old-session"]
    bench.wait(1000)
    assert bench.thrown == []


def test_26_hello_while_a_ball_waits(bench: Bench) -> None:
    bench.fly(1, bench.armed())
    bench.hello(nonce="12345678")
    bench.wait(1000)
    assert bench.thrown == [] and bench.state == "connected"


def test_27_reset_while_a_ball_waits(bench: Bench) -> None:
    bench.fly(1, bench.armed())
    bench.device.reset(bench.now)
    bench.ms += 1000
    bench.device.advance(bench.now)
    assert bench.thrown == [] and bench.state == "asleep"


def test_28_arm_before_the_stop_was_proven(bench: Bench) -> None:
    bench.hello()
    bench.tick()
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "stop-unproven"


def question(bench: Bench) -> str:
    bench.up_to_arm()
    bench.tick()
    return bench.say("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}).values["c"]


def test_29_wrong_answer_then_the_right_one(bench: Bench) -> None:
    right = question(bench)
    bench.wait(500)
    assert bench.why("yes", c="zzzz", w=3000) == "wrong-answer"
    assert bench.why("yes", c=right, w=3000) == "no-question"
    assert bench.state == "connected"


def test_30_answer_at_once(bench: Bench) -> None:
    right = question(bench)
    bench.wait(290)
    assert bench.why("yes", c=right, w=3000) == "answer-time"


def test_31_answer_after_eleven_seconds(bench: Bench) -> None:
    right = question(bench)
    bench.wait(11_000)
    assert bench.why("yes", c=right, w=3000) == "answer-time"


@pytest.mark.parametrize("warning", [2999, 120_001])
def test_31b_warning_time_out_of_range(bench: Bench, warning: int) -> None:
    right = question(bench)
    bench.wait(500)
    assert bench.why("yes", c=right, w=warning) == "range" and bench.state == "connected"


def test_32_old_yes_after_stop_and_clear(bench: Bench) -> None:
    right = question(bench)
    bench.wait(500)
    line = bench.line("yes", c=right, w=3000)
    bench.raw(line)
    bench.number += 1
    assert bench.state == "live"
    bench.prove()
    assert [f.values["why"] for f in bench.raw(line)] == ["number"]
    assert bench.state == "connected"


def test_33_arm_from_a_ball_already_thrown(bench: Bench) -> None:
    bench.fly(1, bench.armed())
    bench.wait(500)
    assert bench.why("hold") == "ok"
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "done-already"
    assert bench.say("arm", fp=FP, run=RUN, **{"from": 2, "of": 3}).word == "ok"


def test_33b_the_last_ball_outlives_a_reset(bench: Bench) -> None:
    bench.fly(1, bench.armed())
    bench.wait(500)
    bench.device.reset(bench.now)
    answer = bench.hello(nonce="12345678")
    assert (answer.values["last"], answer.values["lfp"], answer.values["lrun"]) == ("1", FP, RUN)
    bench.prove()
    bench.tick()
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "done-already"


def test_34_hello_with_a_wrong_number(bench: Bench) -> None:
    answer = bench.hello(number=2)
    assert answer.values == {"why": "number", "want": "1"} and bench.state == "asleep"


def test_34b_hello_of_another_version(bench: Bench) -> None:
    assert bench.hello(version=2).values["why"] == "version" and bench.state == "asleep"


def test_35_what(bench: Bench) -> None:
    at = bench.armed()
    bench.fly(1, at)
    assert bench.say("fate", b=1).values["fate"] == "pending"
    bench.wait(500)
    assert bench.say("fate", b=1).values["fate"] == "gone"
    assert bench.say("fate", b=2).values["fate"] == "never"
    bench.fly(2, at + 1000)
    bench.wait(700, ticks=False)
    assert bench.say("fate", b=2).values["fate"] == "missed"


def test_36_hello_while_the_device_wakes() -> None:
    bench = Bench()
    bench.device._boots_s = 0.5
    bench.device.reset(0.0)
    hello = encode("@", "00000000", 1, "hello", {"n": "abcdef01", "v": 1})
    bench.ms = 100
    assert bench.raw(hello) == []
    bench.ms = 600
    assert [f.word for f in bench.raw(hello)] == ["hi"]


def test_36b_bye_then_hello_after_stop(bench: Bench) -> None:
    bench.armed()
    bench.raw(b"\x07")
    assert bench.why("bye") == "ok"
    assert bench.hello(nonce="12345678").values["state"] == "stopped"
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "state"


def test_36c_a_stop_outlives_a_reset(bench: Bench) -> None:
    bench.armed()
    bench.raw(b"\x07")
    bench.device.reset(bench.now)
    assert bench.hello(nonce="12345678").values["state"] == "stopped"


def test_56_noise_is_garbled_only(bench: Bench) -> None:
    at = bench.armed()
    noise = b"\x00\xff\x11\x13\n"
    assert [f.values["why"] for f in bench.raw(noise)] == ["garbled"]
    assert bench.fly(1, at) == "ok"
    assert [f.values["why"] for f in bench.raw(noise)] == ["garbled"]
    bench.wait(500)
    assert bench.thrown == [1]


def test_53_a_host_that_does_not_read(bench: Bench) -> None:
    bench.fly(1, bench.armed())
    word = bench.word
    for _ in range(500):
        bench.device.receive(bench.now, encode("@", bench.session, 0, "tick", {"k": word, "q": 1, "saw": 0}))
    assert len(bench.device._out) <= 2048
    bench.device.receive(bench.now, b"\x07")
    bench.ms += 1000
    bench.device.advance(bench.now)
    assert bench.state == "stopped" and bench.thrown == []
