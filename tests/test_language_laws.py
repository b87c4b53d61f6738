"""Laws of the language and of the practice it makes: what holds for every script, tried on drawn ones."""

import os
import re
import subprocess
import sys
from collections import Counter
from functools import cache
from itertools import groupby
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.lark import from_lark

from feedwright.compiler.draw import BAG_COPIES
from feedwright.compiler.expand import expand
from feedwright.compiler.model.program import Program
from feedwright.compiler.model.schedule import BlockTimes, Schedule
from feedwright.compiler.model.shots import Shots
from feedwright.compiler.report.render import human, short
from feedwright.compiler.resolve import resolve
from feedwright.compiler.schedule import schedule
from feedwright.grammar import terminals
from feedwright.grammar.frozen import replace
from feedwright.grammar.lalr import lark
from feedwright.grammar.parse import LONGEST_LINE, parse
from feedwright.grammar.print import printed
from feedwright.grammar.print import text as as_text
from feedwright.grammar.source import Source
from feedwright.grammar.syntax import Line, Node, Word
from feedwright.targets.machine.feeders import ProfileShelf

from .shipped import OF_A_KIND, PROGRAMS
from .whole import share

ROOT = Path(__file__).parent.parent
CALM = settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
# Blanks around them, so that the drawn terminals do not run into one another.
PADDED = {
    "NUMBER": st.sampled_from(["0", "1.5", "12", "-3", "+0.25", "007", "99999999999"]),
    "UNIT": st.sampled_from(["km/h", "m/s", "rev/s", "mph", "rpm", "min", "cm", "ft", "in", "deg", "m", "s", "C", "F"]),
    "NAME": st.sampled_from(["deep", "waist", "steady-2", "alpha_1", "x9", "Ball", "topspins", "onward"]),
    "TITLE": st.sampled_from(['""', '"deep, clear"', '"at 1,5 m # 火曜日 🎾"']),
    "FREE_TEXT": st.sampled_from(["the ball sits up", "1,5 m over net!", "für später"]),
    "COMMA": st.just(","),
    "STATE": st.sampled_from(["worn", "pressureless"]),
    "MUCH": st.sampled_from(["light", "medium", "heavy"]),
} | {name: st.just(text) for name, text in terminals.KEYWORDS.items()}


@cache
def sentences() -> st.SearchStrategy[str]:
    return from_lark(
        lark(),
        start="start",
        explicit={name: drawn.map(" {} ".format) for name, drawn in PADDED.items()},
    )


def words(node: Node) -> list[Word]:
    return [w for part in node.nodes() for w in ([part] if isinstance(part, Word) else words(part))]


def lines(found: tuple[Line, ...]) -> list[Line]:
    return [line for top in found for line in (top, *lines(top.children))]


HEADS = (
    "",
    'program "x"',
    "zone x",
    'variation x "x"',
    "feed x",
    "point x",
    'session "x"',
    'session "x"\n ladder x, up to 9 balls, pace 1, 2 m/s',
    'session "x"\n 9 points x',
)


@settings(CALM, max_examples=share(120))
@given(st.data())
def test_every_sentence_of_the_grammar_parses_has_a_home_and_keeps_its_words(data: st.DataObject) -> None:
    text = data.draw(sentences()).strip(" \t")
    assume(len(text) <= LONGEST_LINE - 2 and not re.search(r"down\s+the\s+middle", text))  # which says `to middle`
    spins = text.startswith("reply") and re.search(r"flat|most|spin", text)  # after one `and` says another
    assume(not (spins and re.search(r"\band\b", text)))
    read = {head: parse(Source("law.feed", f"{head}\n  {text}\n" if head else text)) for head in HEADS}
    # In the wrong place it is a sentence all the same.
    assert {finding.code for _, findings in read.values() for finding in findings} <= {"misplaced"}
    head, tree = next((head, tree) for head, (tree, findings) in read.items() if not findings)
    sentence = next(line.sentence for line in reversed(lines(tree.lines)) if line.sentence)
    assert all(w.text == " ".join(w.span.text.split()) or w.kind == "TITLE" for w in words(sentence))
    # The usual form has its commas, `to` before a side, and the kind of a spin before its amount.
    printed = as_text(sentence)
    assert bare(printed) == bare(text)
    again = parse(Source("law.feed", f"{head}\n  {printed}\n" if head else printed))[0]
    assert lines(again.lines)[-1].sentence == sentence


def bare(text: str) -> list[str]:
    """The words of a sentence, without those that may be left out, whatever their order."""
    return sorted(word for word in text.replace(",", " ").split() if word not in ("and", "to", "then"))


PIECES = st.sampled_from(
    ["feed a", "session", '"', "height 1 m", "\n", "\n    ", "\n\t", " ", ",", "1,2", "#", "aims", "like", "–", "\0",
     "\ufeff", "\u202e", "\u2028", "\x1b[31m", "火", "🎾", "é", "٣", "1e999", "to", "km/h", "\x85", "$found", "{0}"]
)  # fmt: skip


@settings(CALM, max_examples=share(150))
@given(st.one_of(st.text(max_size=200), st.lists(PIECES, max_size=40).map("".join)))
def test_any_text_is_read_and_every_place_lies_in_it(text: str) -> None:
    source = Source("law.feed", text)
    tree, findings = parse(source)
    spans = [f.span for f in findings] + [line.span for line in lines(tree.lines)]
    spans += [word.span for line in lines(tree.lines) if line.sentence for word in words(line.sentence)]
    assert all(0 <= span.start <= span.end <= len(text) for span in spans)
    assert len({(f.span.start, f.span.end) for f in findings}) == len(findings)  # one slip, one finding
    assert printed(tree) == text
    shown = human(findings) + short(findings)
    assert not any(c in shown for c in "\0\x1b\u202e\u2028\ufeff")  # nothing that moves a terminal


def program_of(text: str) -> Program:
    tree, faults = parse(Source("law.feed", text))
    program, slips = resolve(tree, ProfileShelf(), {})
    assert program and not faults and not slips, (faults, short(slips))
    return program


def script(intervals: dict[str, float], session: str, seed: int = 1) -> str:
    feeds = "".join(
        f"feed {name}\n    side middle\n    depth deep\n    stance on baseline\n    height 1 m over net\n"
        f"    spin flat\n    interval {seconds} s\n" for name, seconds in intervals.items()
    )  # fmt: skip
    head = f'program "Law"\n    surface hard\n    player right-handed\n    feeder machine club\n    seed {seed}\n'
    return f'{head}{feeds}session "Law"\n{session}'


def schedule_of(text: str) -> Schedule:
    program = program_of(text)
    assert program.feeder
    # What an empty hopper adds is told in test_refill.py.
    program = replace(program, feeder=replace(program.feeder, hopper=None))
    sequence, findings = expand(program)
    assert sequence and not findings
    scheduled, findings = schedule(program, sequence, Shots({}, {}))
    assert {finding.code for finding in findings} <= {"block-too-short"}
    return scheduled


HASHED = """
import sys
from pathlib import Path
from feedwright.compiler.expand import expand
from feedwright.compiler.model.shots import Shots
from feedwright.compiler.report.render import human, ordered
from feedwright.compiler.resolve import resolve
from feedwright.compiler.schedule import schedule
from feedwright.grammar.parse import parse
from feedwright.grammar.print import printed
from feedwright.grammar.print import text as as_text
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf
for path in sys.argv[1:]:
    tree, faults = parse(Source("law.feed", Path(path).read_text("utf-8")))
    assert not faults
    program, slips = resolve(tree, ProfileShelf(), {})
    sequence = expand(program)[0]
    if sequence:
        scheduled, _ = schedule(program, sequence, Shots({}, {}))
        print([block.words for block in scheduled.blocks], scheduled.feed.tolist(), scheduled.at.tolist())
    print(human(ordered(slips)))
"""


def test_sequence_and_messages_are_the_same_in_every_process(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.feed"
    wrong.write_text(
        PROGRAMS[0].read_text("utf-8").replace(" aims rally", " aims nowhere").replace("steady-hip", "x", 1)
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", HASHED, *map(str, OF_A_KIND), str(wrong)],
            env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, check=True, text=True, timeout=60,
        ).stdout
        for seed in ("1", "77")
    }  # fmt: skip
    assert len(told) == 1 and "no variation called" in told.pop()


@settings(CALM, max_examples=share(60))
@given(
    weights=st.lists(st.integers(1, 9), min_size=2, max_size=5),
    at_most=st.one_of(st.none(), st.integers(1, 4)),
    bags=st.integers(1, 6),
    seed=st.integers(0, 10**9 - 1),
)
def test_a_mix_keeps_its_shares_over_each_bag(weights: list[int], at_most: int | None, bags: int, seed: int) -> None:
    names = "abcde"[: len(weights)]
    size = BAG_COPIES * sum(weights)
    shares = ", ".join(f"{weight} {name}" for weight, name in zip(weights, names, strict=True))
    limit = f", at most {at_most} alike" if at_most else ""
    text = script(dict.fromkeys(names, 2), f"    {bags * size} balls mix {shares}{limit}\n", seed)
    drawn = schedule_of(text).feed.tolist()
    if at_most:
        assert max(len(list(run)) for _, run in groupby(drawn)) <= at_most
    # A share larger than at most so many between all others cannot be kept.
    if not at_most or max(weights) <= at_most * (sum(weights) - max(weights)):
        bag = Counter({i: BAG_COPIES * weight for i, weight in enumerate(weights)})
        assert all(Counter(drawn[i : i + size]) == bag for i in range(0, len(drawn), size))


@settings(CALM, max_examples=share(60))
@given(
    weights=st.lists(st.integers(1, 9), min_size=2, max_size=5),
    balls=st.integers(2, 150),
    timed=st.booleans(),
    seed=st.integers(0, 10**9 - 1),
)
@example(weights=[3, 2], balls=50, timed=True, seed=1)
def test_a_mix_keeps_its_shares_over_a_block(weights: list[int], balls: int, timed: bool, seed: int) -> None:
    """The quota rule of apportionment: each share gets its part of the balls, rounded down or up (Balinski and Young,
    Fair Representation, 1982)."""
    names = "abcde"[: len(weights)]
    shares = ", ".join(f"{weight} {name}" for weight, name in zip(weights, names, strict=True))
    amount = f"{2 * balls} s" if timed else f"{balls} balls"
    drawn = Counter(schedule_of(script(dict.fromkeys(names, 2), f"    {amount} mix {shares}\n", seed)).feed.tolist())
    for i, weight in enumerate(weights):
        assert abs(drawn[i] - sum(drawn.values()) * weight / sum(weights)) < 1 + 1e-9


@settings(CALM, max_examples=share(60))
@given(
    weights=st.lists(st.integers(1, 6), min_size=2, max_size=4),
    most=st.lists(st.integers(0, 3), min_size=4, max_size=4),
    alike=st.integers(0, 3),
    seed=st.integers(0, 10**9 - 1),
)
def test_a_mix_keeps_the_limit_of_each_ball_and_its_shares(
    weights: list[int], most: list[int], alike: int, seed: int
) -> None:
    """A multiset can be laid out if each share has enough others between its runs: of c with runs of at most m, c <= m
    times one more than the others. So can a bag, whatever came before, if that holds without the one more."""
    names = "abcd"[: len(weights)]
    shares = [f"{weight} {name}" for weight, name in zip(weights, names, strict=True)]
    shares += [f"at most {many} {name} in a row" for many, name in zip(most, names, strict=False) if many]
    shares += [f"at most {alike} alike"] * bool(alike)
    size = BAG_COPIES * sum(weights)
    drawn = schedule_of(script(dict.fromkeys(names, 2), f"    {4 * size} balls mix {', '.join(shares)}\n", seed)).feed
    limits = [min((x for x in (many, alike) if x), default=0) for many in most]
    for ball, run in groupby(drawn.tolist()):
        assert not limits[ball] or len(list(run)) <= limits[ball]
    if all(not m or w <= m * (sum(weights) - w) for w, m in zip(weights, limits, strict=False)):
        bag = Counter({i: BAG_COPIES * weight for i, weight in enumerate(weights)})
        assert all(Counter(drawn[i : i + size].tolist()) == bag for i in range(0, len(drawn), size))


@st.composite
def blocks(draw: st.DrawFn, deep: int = 2) -> str:
    """A block or rounds of blocks, each line with its own indentation."""
    kind = draw(st.sampled_from(["timed", "timed", "counted", "rest", "collect", "rounds"]))
    if kind == "rounds" and deep:
        inner = draw(st.lists(blocks(deep=deep - 1), min_size=1, max_size=3))
        return f"    {draw(st.integers(1, 3))} rounds\n" + "".join(
            f"    {line}\n" for text in inner for line in text.rstrip("\n").split("\n")
        )
    if kind in ("rest", "collect"):
        return f"    {kind} {draw(st.sampled_from([1, 2, 3, 5, 8, 30, 120, 121]))} s\n"
    amount = f"{draw(st.integers(6, 400)) / 2} s" if kind == "timed" else f"{draw(st.integers(1, 40))} balls"
    order = draw(st.sampled_from(["a", "b", "c", "cycle a, b", "cycle 2 c, a, a", "mix a, 2 b, c, at most 1 alike"]))
    return f"    {amount} {order}\n"


HALVES = st.integers(1, 40).map(lambda n: n / 2)  # exact in binary, so that a plain sum gives the same times
PATTERNS = {"a": "a", "b": "b", "c": "c", "cycle a, b": "ab", "cycle 2 c, a, a": "ccaa"}


@settings(CALM, max_examples=share(100))
@example(intervals=(0.5, 0.5, 0.5), session="    60.5 s a\n")  # as many balls as no hopper of the club machine holds
@given(intervals=st.tuples(HALVES, HALVES, HALVES), session=st.lists(blocks(), min_size=1, max_size=6).map("".join))
def test_a_schedule_keeps_every_interval_to_the_second(intervals: tuple[float, float, float], session: str) -> None:
    """As somebody with a stop-watch would say it; tests/test_clock_laws.py asks what holds between contacts too."""
    of = dict(zip("abc", intervals, strict=True))
    schedule = schedule_of(script(of, session))
    last = float("-inf")
    for i, block in enumerate(schedule.blocks):
        if block.kind == "balls":
            mine = schedule.block == i
            names = [schedule.feeds[ball] for ball in schedule.feed[mine]]
            check_block(block, names, schedule.at[mine].tolist(), of, last)
            last = max([last, *schedule.at[mine].tolist()])


def check_block(block: BlockTimes, drawn: list[str], times: list[float], of: dict[str, float], last: float) -> None:
    """The next ball is due its own interval after the last."""
    amount, _, order = block.words.partition(" balls " if " balls " in block.words else " s ")
    if order in PATTERNS:
        pattern = PATTERNS[order]
        assert "".join(drawn) == (pattern * (len(drawn) // len(pattern) + 1))[: len(drawn)]
    assert len(drawn) == len(times) == block.balls
    due = block.start if not drawn else max(block.start, last + of[drawn[0]])
    for i, (name, time) in enumerate(zip(drawn, times, strict=True)):
        due = due if i == 0 else due + of[name]
        assert time == pytest.approx(due, abs=1e-6)  # sums of halves
    if " balls " in block.words:
        assert len(drawn) == int(amount) and block.end == due + of[drawn[-1]]
    else:
        assert block.end == block.start + float(amount) and due < block.end
        if order in PATTERNS:
            follower = PATTERNS[order][len(drawn) % len(PATTERNS[order])]
            after = due + of[follower] if drawn else max(block.start, last + of[follower])
            assert after >= block.end - 1e-4  # not one ball more had room; the plan tells seconds to 0.1 ms
