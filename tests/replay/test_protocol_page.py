"""What PROTOCOL.md tells whoever writes firmware beyond words and numbers, held against the simulated machine."""

import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from feedwright.compiler.model.feeder import Feeder
from feedwright.targets.machine.feeders import SHIPPED
from feedwright.targets.machine.wire.frames import encode

from .bench import FP, RUN, STEADY, Bench

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "targets" / "machine" / "wire" / "PROTOCOL.md").read_text("utf-8")


@pytest.fixture
def bench() -> Bench:
    return Bench()


def told(row: str) -> set[str]:
    """The words in `code` of a row of the events' table."""
    table = PAGE[PAGE.index("| event | with |") : PAGE.index("## Refusals")]
    (found,) = re.findall(rf"^\| `{row}` \| .*$", table, re.M)
    return set(re.findall(r"`([a-z-]+)`", found)) - {row}


def ordered(start: str) -> list[str]:
    """The words in `code` from a phrase of the page to the end of the sentence."""
    (sentence,) = re.findall(rf"{start}(.*?)[.;]\s", PAGE, re.S)
    return re.findall(r"`([a-z-]+)`", sentence)


def test_reasons_of_events_are_all_on_the_page() -> None:
    code = "".join(
        (ROOT / "targets" / "machine" / "replay" / f"{name}.py").read_text("utf-8") for name in ("device", "mechanism")
    )
    assert set(re.findall(r'_drop\(now, "([a-z-]+)"\)', code)) - {"reset"} <= told("miss")
    assert set(re.findall(r'_hold\(now, "([a-z-]+)"\)', code)) <= told("held") & told("miss")
    assert told("stopped") == {"byte", "key"} and "jam" in told("fault")


def test_the_gates_of_a_launch_are_in_the_pages_order() -> None:
    code = (ROOT / "targets" / "machine" / "replay" / "mechanism.py").read_text("utf-8")
    (gates,) = re.findall(r"gates = \((.*?)\)\n", code)
    assert ordered("At the launch moment again, in this order:") == re.findall(r'"([a-z-]+)"', gates)


def test_ready_is_refused_in_the_pages_order(bench: Bench) -> None:
    """Each case has one fault more than the one before: the first of the page's list is told."""
    at = bench.armed()
    assert bench.fly(1, at) == "ok"
    wrong = [
        ("busy", {"b": 2}),
        ("ball", {"b": 1}),
        ("cap", {"b": 1, "s": 30500}),
        ("range", {"b": 1, "s": 30500, "a": 13000}),
    ]
    for why, change in wrong:
        assert bench.why("ready", **({"b": 1} | STEADY | change)) == why
    bench.why("hold")
    assert bench.why("ready", **({"b": 1} | STEADY | {"s": 30500, "a": 13000})) == "state"
    assert ["state", *(why for why, _ in reversed(wrong))] == ordered("At `ready`, in this order; .*? refusal:")


def test_a_speed_over_its_range_is_the_cap_and_under_it_the_range(bench: Bench) -> None:
    bench.armed()
    assert bench.ready(1, s=31500) == "cap"
    assert bench.ready(1, s=7000) == "range"


def test_a_yes_uses_up_its_question_whatever_becomes_of_it(bench: Bench) -> None:
    bench.up_to_arm()
    bench.tick()
    question = bench.say("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}).values["c"]
    bench.wait(500)
    assert bench.why("yes", c=question, w=1) == "range"
    assert bench.why("yes", c=question, w=3000) == "no-question"


def test_a_line_of_another_session_is_answered_in_the_devices_own(bench: Bench) -> None:
    bench.hello()
    mine = bench.session
    (answer,) = bench.raw(encode("@", "0badf00d", 9, "fate", {"b": 1}))
    assert (answer.session, answer.number, answer.values["why"]) == (mine, 9, "old-session")


def test_a_missed_ball_is_not_the_next_again(bench: Bench) -> None:
    at = bench.armed()
    assert bench.fly(1, at) == "ok"
    bench.why("hold")
    assert bench.say("fate", b=1).values["fate"] == "missed"
    bench.arm(first=2)
    assert bench.ready(1) == "ball" and bench.ready(2) == "ok"
    assert bench.say("fate", b=1).values["fate"] == "missed", "kept while it is the same run"


def test_a_hello_is_as_good_as_a_fresh_tick(bench: Bench) -> None:
    bench.hello()
    bench.wait(4900, ticks=False)
    assert bench.state == "connected"
    bench.wait(200, ticks=False)
    assert bench.state == "asleep"


def test_hold_and_the_last_ball_have_no_event_of_their_own(bench: Bench) -> None:
    at = bench.armed(last=1)
    assert bench.fly(1, at) == "ok"
    bench.heard.clear()
    bench.wait(400)
    assert bench.state == "connected"
    assert {frame.word for frame in bench.heard} == {"gone", "tock"}
    bench.arm(first=2, last=3)
    bench.heard.clear()
    assert bench.why("hold") == "ok" and [frame.word for frame in bench.heard] == ["ok"]


# ---- the order of the general refusals


def listed() -> list[str]:
    """The words in `code` of the numbered list, but for what each verb is refused with."""
    return re.findall(r"`([a-z-]+)`", points().partition("7. ")[0])


def points() -> str:
    (found,) = re.findall(r"In this order; the first that fits is the answer:\n\n(.*?)\n\n", PAGE, re.S)
    return " ".join(found.split())


def refusal(bench: Bench, line: bytes) -> str:
    answer = bench.raw(line)[-1]
    return answer.values.get("why", answer.word)


def test_a_hello_is_refused_in_the_pages_order(bench: Bench) -> None:
    wrong = encode("@", "00000000", 2, "hello", {"n": "short", "v": 9})
    assert refusal(bench, wrong[:-2] + b"\n") == "garbled"
    assert refusal(bench, wrong) == "number"
    assert refusal(bench, encode("@", "00000000", 1, "hello", {"n": "short", "v": 9})) == "words"
    assert refusal(bench, encode("@", "00000000", 1, "hello", {"n": "abcdef01", "v": 9})) == "version"
    assert listed()[:4] == ["garbled", "number", "words", "version"]


def test_any_other_line_is_refused_in_the_pages_order(bench: Bench) -> None:
    """Each case has one fault less than the one before: the first of the page's list is told."""
    assert refusal(bench, encode("@", "0badf00d", 9, "dance")) == "asleep"
    bench.hello()
    assert refusal(bench, encode("@", "0badf00d", 9, "dance")) == "old-session"
    assert refusal(bench, encode("@", bench.session, 9, "dance")) == "number"
    assert refusal(bench, encode("@", bench.session, 9, "tick")) == "number"
    assert refusal(bench, encode("@", bench.session, 2, "dance")) == "verb"
    assert refusal(bench, encode("@", bench.session, 3, "fate")) == "words", "the number of the line before is used up"
    assert refusal(bench, encode("@", bench.session, 2, "fate")) == "number"
    assert listed()[4:] == ["asleep", "old-session", "number", "verb"]


def test_the_same_line_again_comes_before_its_number(bench: Bench) -> None:
    bench.hello()
    line = encode("@", bench.session, 2, "fate", {"b": 1})
    assert refusal(bench, line) == refusal(bench, line) == "ok"


def test_words_come_before_the_state_where_the_page_says_so(bench: Bench) -> None:
    bench.hello()
    assert "`arm` and `yes`: `state` before `words`" in points()
    assert "`ready` and `go`: `words` before `state`" in points()
    assert bench.why("ready", b=1) == "words" and bench.ready(1) == "state"
    assert bench.why("go", b=1, **STEADY) == "words" and bench.go(1, 5000) == "state"
    assert bench.why("arm") == "words" and bench.why("yes") == "words"
    assert bench.why("fate") == "words"
    bench.raw(b"\x07")
    assert bench.why("arm") == bench.why("yes") == bench.why("hold") == "state"
    bench.device.jam(bench.now)
    assert bench.why("clear") == "fault"
    bench.device.clear_jam()
    assert bench.why("clear") == "ok" and bench.why("clear") == "state"
    assert bench.why("bye") == "ok"


# ---- what else it tells


def test_keys_in_any_order_and_unknown_ones(bench: Bench) -> None:
    at = bench.armed()
    turned = dict(reversed(list(STEADY.items())))
    assert bench.why("ready", colour="red", **turned, b=1) == "ok"
    assert bench.why("go", at=at, **STEADY, b=1, more=1) == "ok"


@pytest.mark.parametrize("given", [{}, {"q": 5}, {"k": "00000000"}, {"q": "x", "k": "00000000"}])
def test_a_tick_without_its_words_is_answered_and_freshens_nothing(bench: Bench, given: dict[str, object]) -> None:
    bench.up_to_arm()
    bench.wait(600, ticks=False)
    (tock,) = bench.raw(encode("@", bench.session, 0, "tick", given))
    assert (tock.word, tock.values["q"]) == ("tock", "5" if given.get("q") == 5 else "0")
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "not-fresh"


def test_a_stop_without_a_session_is_told_by_the_next_hello_and_proves_nothing(bench: Bench) -> None:
    assert bench.raw(b"\x07") == [] and bench.state == "stopped"
    assert refusal(bench, encode("@", "00000000", 2, "clear")) == "asleep"
    assert bench.hello().values["state"] == "stopped"
    assert bench.why("clear") == "ok"
    bench.tick()
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "stop-unproven"
    bench.prove()
    bench.tick()
    assert bench.why("arm", fp=FP, run=RUN, **{"from": 1, "of": 3}) == "ok"


def club(change: Callable[[dict[str, dict[str, object]]], object]) -> str:
    """The limits of the club's machine, its profile changed."""
    profile = tomllib.loads((SHIPPED / "club.toml").read_text("utf-8"))
    change(profile)
    limits = Feeder(**{**profile, "name": "club"}).limits
    assert limits
    return limits.text


def test_fit_is_rounded_as_the_page_says_and_knows_no_step() -> None:
    told = re.findall(r"(\d+\.\d+) m/s is (\d+)", PAGE)
    assert len(told) == 2
    for value, line in told:
        assert f"cap={line} " in club(lambda profile, value=value: profile["device"].update(cap_mps=float(value)))  # type: ignore[misc]
    as_shipped = club(lambda profile: None)
    assert as_shipped in PAGE
    assert club(lambda profile: profile["speed"].update(step=4)) == as_shipped
    assert "s=8333..30278 " in club(lambda profile: profile["speed"].update(high=109))  # 30.2777 m/s
