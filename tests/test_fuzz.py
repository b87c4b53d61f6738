"""Broken input on purpose: whatever a script, a profile or a plan holds, the answer is a finding or a refusal in words.

A small seeded share runs with the suite. FUZZ=20000 tries so many of each, FUZZ_SEED=n starts elsewhere:

    FUZZ=20000 pytest tests/test_fuzz.py
"""

import json
import os
import re
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random

import pytest

from feedwright.compiler.model.feeder import Feeder, ProfileProblem
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.scripts import LARGEST
from feedwright.grammar.source import Source
from feedwright.targets import document
from feedwright.targets.command.cli import main
from feedwright.targets.machine import feeders

ROOT = Path(__file__).parent.parent
SEED = int(os.environ.get("FUZZ_SEED", "1"))
TRIES = int(os.environ.get("FUZZ", "0"))
SCRIPTS, PROFILES, PLANS = TRIES or 8, TRIES or 60, TRIES or 60
SLOW_S = 2.0
"""Processor seconds that one script may take; the longest one shipped takes about a quarter of it. Held in a long run
alone, `FUZZ`: an ordinary one shares its machine with others."""

PROGRAMS = sorted((ROOT / "programs").glob("*.feed"))
TEXTS = [path.read_bytes() for path in PROGRAMS]
TABLES = [path.read_bytes() for path in sorted((ROOT / "targets" / "machine" / "feeders").glob("*.toml"))]
NUMBERS = [b"1e400", b"-0", b"0", b"99999999999", b"nan", b"NaN", b"inf", b"-1", b"0.0000001", b"1_000", b"0x10",
           b"-5e-324", b"1" * 300, b"true", b"1e308", b"007", b"\xd9\xa3"]  # fmt: skip
PIECES = [b"\0", b"\xed\xa0\x80", b"\xef\xbb\xbf", b"\xe2\x80\xae", b"\x1b[2J", b"\r", b"\t", b"    ", b'"', b"#", b",",
          b"\\", b"\xff", b"{", b"]", b"\xf0\x9f\x8e\xbe", b" to ", b"\n", b" like ", b" at most 1 alike",
          b"\xe2\x80\xa8", b"A" * 500, b"\\ud800", b"[" * 3000]  # fmt: skip


def bend(data: bytes, chance: Random, others: list[bytes]) -> bytes:
    """One to five small accidents; mostly one, so that what is broken is told late as well as early."""
    for _ in range(chance.choice([1, 1, 1, 2, 5])):
        data = chance.choice(ACCIDENTS)(data, chance, others)
    return data


def at(data: bytes, chance: Random) -> int:
    return chance.randrange(len(data) + 1)


def flip(data: bytes, chance: Random, _: list[bytes]) -> bytes:
    i = at(data, chance)
    return data[:i] + bytes([chance.randrange(256)]) + data[i + 1 :]


def put(data: bytes, chance: Random, _: list[bytes]) -> bytes:
    i = at(data, chance)
    return data[:i] + chance.choice(PIECES) + data[i:]


def cut(data: bytes, chance: Random, _: list[bytes]) -> bytes:
    i = at(data, chance)
    return data[:i] + data[i + chance.randint(1, 60) :]


def number(data: bytes, chance: Random, _: list[bytes]) -> bytes:
    found = list(re.finditer(rb"-?\d+(\.\d+)?", data))
    if not found:
        return data
    spot = chance.choice(found)
    return data[: spot.start()] + chance.choice(NUMBERS) + data[spot.end() :]


def lines(data: bytes, chance: Random, others: list[bytes]) -> bytes:
    """A line lost, doubled, moved, indented otherwise or taken from another file."""
    rows = data.split(b"\n")
    i, j = chance.randrange(len(rows)), chance.randrange(len(rows))
    what = chance.randrange(6)
    if what == 0:
        del rows[i]
    elif what == 1:
        rows.insert(j, rows[i])
    elif what == 2:
        rows[i], rows[j] = rows[j], rows[i]
    elif what == 3:
        rows[i] = b" " * chance.choice([0, 4, 8, 12]) + rows[i].lstrip()
    elif what == 4:
        rows.insert(i, chance.choice(chance.choice(others).split(b"\n")))
    else:
        rows[i] = rows[i].replace(b" ", b"", 1) if chance.random() < 0.5 else rows[i] + rows[j]
    return b"\n".join(rows)


def word(data: bytes, chance: Random, others: list[bytes]) -> bytes:
    """A word in the place of another: mostly sound sentences with another meaning."""
    found = list(re.finditer(rb"[a-z-]+", data))
    if not found:
        return data
    spot = chance.choice(found)
    return data[: spot.start()] + chance.choice(re.findall(rb"[a-z-]+", chance.choice(others))) + data[spot.end() :]


Accident = Callable[[bytes, Random, list[bytes]], bytes]
ACCIDENTS: list[Accident] = [flip, put, cut, number, number, lines, lines, word, word]


@cache
def patience() -> float:
    """`SLOW_S`, and more on a slower machine: so many times what the longest script shipped takes there."""
    start = time.process_time()
    compile_source(Source(PROGRAMS[-1].name, TEXTS[-1].decode()), feeders.ProfileShelf())
    return max(SLOW_S, 4 * (time.process_time() - start))


def check(data: bytes, folder: Path, capsys: pytest.CaptureFixture[str]) -> int:
    """The exit code of a check; it may say what it likes in plain words, quickly, and write nothing."""
    script = folder / "fuzz.feed"
    script.write_bytes(data)
    limit = patience() if TRIES else 0.0
    start = time.process_time()
    code = main(["check", str(script)])
    spent = time.process_time() - start
    said = capsys.readouterr()
    assert not TRIES or spent < limit, f"{spent:.1f} s"
    assert code in (0, 1, 2) and (code == 0 or said.err)
    assert "a fault in the program" not in said.err and not re.search(r"[\0\x1b\u202e\u2028]", said.out + said.err)
    assert [path.name for path in folder.iterdir()] == ["fuzz.feed"]
    return code


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder that only holds the script."""
    (tmp_path / "fuzz").mkdir()
    return tmp_path / "fuzz"


def kept(data: bytes, tmp_path: Path) -> str:
    """The input that failed, where it can be looked at."""
    path = tmp_path / "failed"
    path.write_bytes(data)
    return f"the input is in {path}"


def test_broken_scripts(tmp_path: Path, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    codes = [0, 0, 0]
    for n in range(SCRIPTS):
        chance = Random(SEED * 1_000_003 + n)
        # Each round takes the quick scripts more often than the long one.
        data = bend(chance.choice(TEXTS[-1:] + 4 * TEXTS[:-1]), chance, TEXTS)
        try:
            codes[check(data, folder, capsys)] += 1
        except BaseException as error:
            error.add_note(f"script {n}: {kept(data, tmp_path)}")
            raise
    # The accidents leave some sound, break some and, in a larger sample, make some no text at all.
    assert all(codes[:2]) and (all(codes) or sum(codes) < 100), codes
    with capsys.disabled():
        if TRIES:
            print(f"\nscripts: {SCRIPTS}, exit codes 0, 1, 2: {codes}")


def nested(depth: int, times: int) -> bytes:
    rounds = b"".join(b"    " * (i + 1) + b"%d rounds\n" % times for i in range(depth))
    return TEXTS[1].split(b"session")[0] + b'session "x"\n' + rounds + b"    " * (depth + 1) + b"1 balls high\n"


MONSTERS = {
    "rounds in rounds, 40 deep, each twice": nested(40, 2),
    "rounds in rounds, 40 deep, each once": nested(40, 1),
    "rounds in rounds, 3000 deep": b"\n".join(b" " * i + b"2 rounds" for i in range(3000)),
    "rounds in rounds, 300 deep, in short lines": TEXTS[1].split(b"session")[0] + b'session "x"\n'
    + b"".join(b" " * (i + 1) + b"1 rounds\n" for i in range(300)) + b" " * 301 + b"1 balls high\n",
    "rounds of what cannot be read": nested(30, 200).replace(b"1 balls high", b"1 balls nobody"),
    "a million rounds": nested(1, 1_000_000),
    "all rounds there may be": nested(2, 200),
    "long names, all unknown": b"".join(b"feed a%0200d\n" % i for i in range(100))
    + b'session "x"\n' + b"".join(b"    9 balls b%0200d\n" % i for i in range(500)),
    "10 MB": TEXTS[1] + b"# \n" * 3_500_000,
    "the largest, all comment": (TEXTS[1] + b"# \n" * LARGEST)[:LARGEST],
    "the largest, all brackets": b"(" * LARGEST,
    "the largest, of one short wrong word": b"x\n" * (LARGEST // 2),
    "the largest, of feeds alike in nothing": b"".join(b"feed a%d, like a%d\n" % (i, i + 1) for i in range(9000)),
    "the largest, of one feed again and again": b"feed a\n" * (LARGEST // 7),
    "a thousand feeds in one mix": b"feed a\nsession \"x\"\n 3 balls mix " + b", ".join(b"a%d" % i for i in range(60)),
    "NUL": TEXTS[1].replace(b"hard", b"ha\0rd"),
    "a lone surrogate": TEXTS[1].replace(b"hard", b"ha\xed\xa0\x80rd"),
    "a byte order mark in the middle": TEXTS[1].replace(b"hard", b"ha\xef\xbb\xbfrd"),
    "a byte order mark in a title": TEXTS[1].replace(b"Ten minutes", b"Ten\xef\xbb\xbfminutes"),
    "only quotes": b'"' * 399,
    "only line ends": b"\r\n" * 1000,
    "all balls there may be": TEXTS[1].split(b"session")[0]
    + b'session "x"\n 6000 balls mix high, 9 low, at most 9 alike\n',
}  # fmt: skip


@pytest.mark.parametrize("name", MONSTERS)
def test_monsters(name: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    check(MONSTERS[name], folder, capsys)


class One:
    """A single profile, whatever is asked for."""

    def __init__(self, feeder: Feeder) -> None:
        self.feeder = feeder

    def names(self) -> list[str]:
        return ["mine"]

    def load(self, name: str) -> Feeder:
        return self.feeder


def test_broken_profiles(tmp_path: Path) -> None:
    taken = tried = 0
    for n in range(PROFILES):
        chance = Random(SEED * 1_000_003 + n)
        data = bend(chance.choice(TABLES), chance, TABLES)
        try:
            start = time.process_time()
            try:
                feeder = feeders.read(data, "mine")
            except ProfileProblem as problem:
                assert str(problem)
                continue
            finally:
                assert not TRIES or time.process_time() - start < patience()
            taken += 1
            if taken % (4 if TRIES else 8) == 0:  # a profile that is taken has to be one that can be worked with
                tried += 1
                text = TEXTS[1].decode().replace("machine club", f"{feeder.kind} mine")
                compile_source(Source("fuzz.feed", text), One(feeder))
                assert not TRIES or time.process_time() - start < patience()
        except BaseException as error:
            error.add_note(f"profile {n}: {kept(data, tmp_path)}")
            raise
    assert 0 < tried < taken < PROFILES
    if TRIES:
        print(f"\nprofiles: {PROFILES}, taken {taken}, worked with {tried}")


def test_broken_plans(tmp_path: Path) -> None:
    plan = compile_source(Source(PROGRAMS[1].name, TEXTS[1].decode()), feeders.ProfileShelf()).plan
    assert plan
    block = plan.blocks[0].model_copy(update={"balls": 3})
    part, totals = plan.parts[0].model_copy(update={"end_s": block.end_s}), {"duration_s": block.end_s, "parts": 1}
    cut = {"launches": plan.launches[:3], "blocks": (block,), "parts": (part,)}
    short = plan.model_copy(update={**cut, "totals": plan.totals.model_copy(update=totals)}).sealed()
    sound = document.render(short)
    assert document.read(sound) == short
    taken = 0
    for n in range(PLANS):
        chance = Random(SEED * 1_000_003 + n)
        data = bend(sound, chance, [sound])
        if n % 2:
            data = sealed_again(data) or data
        try:
            start = time.process_time()
            try:
                read: Plan = document.read(data)
                taken += 1
                assert read.digest == read.fresh_digest()
                assert document.read(document.render(read)) == read
            except document.PlanRefused as refusal:
                assert str(refusal)
            assert not TRIES or time.process_time() - start < patience()
        except BaseException as error:
            error.add_note(f"plan {n}: {kept(data, tmp_path)}")
            raise
    assert taken < PLANS / 2
    if TRIES:
        print(f"\nplans: {PLANS}, taken {taken}")


def sealed_again(data: bytes) -> bytes | None:
    """A bent plan with a fresh digest, as somebody would make it who wants it taken; None where it is no plan."""
    try:
        return document.render(Plan(**json.loads(data)).sealed())
    except (ValueError, RecursionError):
        return None
