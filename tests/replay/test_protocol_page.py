"""What PROTOCOL.md tells whoever writes firmware beyond words and numbers, held against the virtual device."""

import re
from pathlib import Path

import pytest

from feedwright.targets.stream.wire import encode

from .bench import FP, RUN, STEADY, Bench

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "targets" / "stream" / "PROTOCOL.md").read_text("utf-8")


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
    code = "".join((ROOT / "targets" / "replay" / f"{name}.py").read_text("utf-8") for name in ("device", "mechanism"))
    assert set(re.findall(r'_drop\(now, "([a-z-]+)"\)', code)) - {"reset"} <= told("miss")
    assert set(re.findall(r'_hold\(now, "([a-z-]+)"\)', code)) <= told("held") & told("miss")
    assert told("stopped") == {"byte", "key"} and "jam" in told("fault")


def test_the_gates_of_a_launch_are_in_the_pages_order() -> None:
    code = (ROOT / "targets" / "replay" / "mechanism.py").read_text("utf-8")
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
    (answer,) = bench.raw(encode("@", "0badf00d", 9, "what", {"b": 1}))
    assert (answer.session, answer.number, answer.values["why"]) == (mine, 9, "old-session")


def test_a_missed_ball_is_not_the_next_again(bench: Bench) -> None:
    at = bench.armed()
    assert bench.fly(1, at) == "ok"
    bench.why("hold")
    assert bench.say("what", b=1).values["fate"] == "missed"
    bench.arm(first=2)
    assert bench.ready(1) == "ball" and bench.ready(2) == "ok"
    assert bench.say("what", b=1).values["fate"] == "missed", "kept while it is the same run"


def test_a_hello_is_as_good_as_a_fresh_tick(bench: Bench) -> None:
    bench.hello()
    bench.wait(4900, ticks=False)
    assert bench.state == "met"
    bench.wait(200, ticks=False)
    assert bench.state == "asleep"


def test_hold_and_the_last_ball_have_no_event_of_their_own(bench: Bench) -> None:
    at = bench.armed(last=1)
    assert bench.fly(1, at) == "ok"
    bench.heard.clear()
    bench.wait(400)
    assert bench.state == "met"
    assert {frame.word for frame in bench.heard} == {"gone", "tock"}
    bench.arm(first=2, last=3)
    bench.heard.clear()
    assert bench.why("hold") == "ok" and [frame.word for frame in bench.heard] == ["ok"]
