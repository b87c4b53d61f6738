"""Canonical text: the laws it keeps, and the command that writes it."""

import os
import re
import stat
import subprocess
from functools import cache
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from feedwright.grammar.format import formatted
from feedwright.grammar.parse import LONGEST_LINE, parse
from feedwright.grammar.source import Source
from feedwright.grammar.syntax import Tree
from feedwright.grammar.terminals import UNDER

from .test_command_line import run as command
from .whole import share

ROOT = Path(__file__).parent.parent
OTHERWISE = ROOT / "tests" / "everything" / "said-otherwise.feed"
SCRIPTS = [*(ROOT / "programs").glob("*.feed"), *(ROOT / "tests" / "everything").glob("*.feed")]
SCRIPTS = sorted(path for path in SCRIPTS if path != OTHERWISE)
FIRST = ROOT / "programs" / "02-first-script.feed"


def tree(text: str) -> Tree:
    found, findings = parse(Source("a.feed", text))
    assert not findings
    return found


def canonical(text: str) -> str:
    found, findings = formatted(Source("a.feed", text))
    assert not findings
    return found


def run(*arguments: str | Path, text: str = "", cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return command("format", *arguments, text=text, cwd=cwd)


# ---- by example

LOOSE = """

# at the top
program   "A  title"  # one

   surface hard   # of our courts
   player right-handed,1.72m tall # tall
# an odd place
   feeder machine club , on the   centre
     # the end of the head
use "a.feed"
use "b.feed"
feed a

    # first thing
    side middle
    spin topspin 900rpm   and sidespin 100 rpm to  the left



    interval 4s
# about b

# directly above b
feed b, like a
session "S",lasts 5min
 100 balls a
 given rhythm b
 2 rounds
  8balls   b
  # within the rounds
 collect
# last
"""
TIDY = """\
# at the top
program "A  title"                       # one
    surface   hard                       # of our courts
    player    right-handed, 1.72 m tall  # tall
    # an odd place
    feeder    machine club, on the centre
    # the end of the head

use "a.feed"
use "b.feed"

feed a
    # first thing
    side      middle
    spin      topspin 900 rpm and sidespin 100 rpm to the left

    interval  4 s
# about b

# directly above b
feed b, like a

session "S", lasts 5 min
    100 balls a
    given rhythm b
    2 rounds
        8 balls   b
        # within the rounds
    collect
# last
"""


def test_what_it_does() -> None:
    assert canonical(LOOSE) == TIDY


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.stem)
def test_what_is_shipped_is_in_canonical_form(path: Path) -> None:
    assert canonical(path.read_text("utf-8")) == path.read_text("utf-8")


def test_what_can_be_said_in_two_ways_is_written_in_one() -> None:
    usual = canonical(OTHERWISE.read_text("utf-8"))
    assert (
        "    body      waist 1.05 m, shoulder 1.45 m\n" in usual
        and "    height    waist, falling, after one bounce\n" in usual
    )
    assert "    if missed, next point\n" in usual
    assert "    reply     1 to 9 m inside baseline, to middle\n" in usual
    assert "    plays     belt-high, then chest-high, then corner-ball, then two-ways\n" in usual
    assert "    air       18 C, sea level\n" in usual and "    ball      worn, pressureless\n" in usual
    assert ", topspin 900 rpm\n" in usual and "    spin      topspin light\n" in usual
    assert "feed corner-ball aims corner, like belt-high\n" in usual
    assert "    height    no lower than 20 cm, on the full\n" in usual
    assert "    8 balls   belt-high\n        until     the goal\n" in usual
    assert "mix 50 % belt-high in order, 50 % chest-high in order, then back, at most 1 alike\n" in usual


def test_examples_of_the_language_are_in_canonical_form() -> None:
    page = (ROOT / "grammar" / "LANGUAGE.md").read_text("utf-8")
    for kind, text in re.findall(r"^```(feed|script|program|session)\n(.*?)^```", page, re.S | re.M):
        head = {"program": 'program "A"\n', "session": 'session "A"\n'}.get(kind, "")
        assert canonical(head + text) == head + text


def test_a_script_with_slips_stays_as_it_is() -> None:
    text = "feed a\n  side   midddle or so\n"
    found, findings = formatted(Source("a.feed", text))
    assert found == text and [f.code for f in findings] == ["unexpected-word"]


def test_a_line_that_would_outgrow_the_limit_stays() -> None:
    text = "feed a\n spin flat" + ",flat" * 77 + "\n"
    assert max(map(len, text.splitlines())) <= LONGEST_LINE < len("    spin      flat" + ", flat" * 77)
    assert canonical(text) == text
    comments = "feed a\n side middle # " + "x" * 370 + "\n depth 1 to 4 m inside baseline # y\n"
    assert tree(canonical(comments)) == tree(comments)


# ---- laws

HEADS = ('program "a"', "zone a", 'variation a "b"', "feed a", "point a", 'session "a"',
         'session "a"\n ladder a, up to 9 balls, pace 7, 8 m/s', 'session "a"\n 9 points a')  # fmt: skip


@cache
def sentences() -> dict[str, list[str]]:
    """The sentences of the shipped scripts by their kind, each found by putting it under one head after another."""
    found: dict[str, list[str]] = {}
    written = (raw.strip() for path in SCRIPTS for raw in path.read_text("utf-8").splitlines())
    for sentence in dict.fromkeys(line for line in written if line and not line.startswith("#")):
        found.setdefault(kind_of(sentence), []).append(sentence)
    return found


def kind_of(sentence: str) -> str:
    lines = parse(Source("a.feed", f"{sentence}\n"))[0].lines
    if lines and lines[0].kind:
        return lines[0].kind
    for head in HEADS:
        read, findings = parse(Source("a.feed", f"{head}\n{' ' * (head.count(chr(10)) + 1)}{sentence}\n"))
        if not findings:
            last = read.lines[0]
            while last.children:
                last = last.children[-1]
            return last.kind
    return ""


BLANKS = st.sampled_from([" ", " ", "  ", "    "])
COMMENTS = st.sampled_from(["# a", "#b  ", '# "odd', "#", "# two # three"])


@st.composite
def written(draw: st.DrawFn, sentence: str) -> str:
    """The sentence with other blanks between its words, none before or more around a comma, perhaps a comment."""
    parts = re.split(r'("[^"]*"|,| )', sentence) if not sentence.startswith("when") else [sentence]
    text = "".join(draw(BLANKS) if p == " " else draw(st.sampled_from([",", " ,", ",  "])) if p == "," else p
                   for p in parts)  # fmt: skip
    text = re.sub(r",(?=\S)", ", ", text)  # 1,2 is refused: it may be a decimal comma
    return text + draw(st.one_of(st.just(""), st.just("  "), COMMENTS.map(lambda c: "  " + c)))


@st.composite
def scripts(draw: st.DrawFn) -> str:
    """Sentences of every kind where they may stand, each block indented at will, comments and blank lines anywhere."""
    lines: list[str] = []
    tabs = draw(st.booleans())

    def between() -> None:
        for _ in range(draw(st.integers(0, 2))):
            width = draw(st.integers(0, 9))
            lines.append(draw(st.sampled_from(["", "   ", ("\t" if tabs else " ") * width + draw(COMMENTS)])))

    def block(place: str, indent: int, deep: int) -> None:
        kinds = [kind for kind in UNDER.get(place, ()) if kind in sentences()]
        if not kinds or deep > 3:
            return
        step = draw(st.integers(1, 8)) if deep else 0
        for _ in range(draw(st.integers(0 if deep else 1, 4))):
            kind = draw(st.sampled_from(kinds))
            step = draw(st.integers(1, step)) if step else 0  # a line further out still is its brother
            between()
            sentence = draw(written(draw(st.sampled_from(sentences()[kind]))))
            lines.append(("\t" if tabs else " ") * (indent + step) + sentence)
            block(kind, indent + step, deep + 1)

    block("", 0, 0)
    between()
    return "\n".join(lines) + draw(st.sampled_from(["", "\n", "\n\n"]))


def test_every_kind_of_sentence_is_among_those_generated() -> None:
    assert {kind for kinds in UNDER.values() for kind in kinds} == set(sentences())


@settings(max_examples=share(60))
@example("feed a\n    side middle\n   # between brothers\n  depth deep\n")
@example("feed a\n    # under a head without lines\nfeed b\n")
@example('session "s"\n 9 rounds\n   3 min a\n  goal score 2\n')
@given(scripts())
def test_it_keeps_the_tree_and_the_comments_and_twice_is_once(text: str) -> None:
    once = canonical(text)
    assert tree(once) == tree(text)
    assert canonical(once) == once
    assert [c.strip() for c in comments(once)] == [c.strip() for c in comments(text)]
    assert "\n\n\n" not in once and not once.startswith("\n")
    assert not [line for line in once.split("\n") if line != line.rstrip(" ")]


def comments(text: str) -> list[str]:
    return [line[line.index("#") :] for line in re.sub(r'^((?:[^"#\n]|"[^"\n]*")*)', "", text, flags=re.M).split("\n")
            if "#" in line]  # fmt: skip


# ---- the command


def test_in_place_whole_with_its_mode_and_through_a_link(tmp_path: Path) -> None:
    script, link = tmp_path / "a.feed", tmp_path / "link.feed"
    script.write_text(LOOSE)
    script.chmod(0o640)
    link.symlink_to(script)
    done = run(link)
    assert done.returncode == 0 and done.stdout == f"formatted {link}\n"
    assert script.read_text() == TIDY and link.is_symlink()
    assert stat.S_IMODE(script.stat().st_mode) == 0o640
    assert {p.name for p in tmp_path.iterdir()} == {"a.feed", "link.feed"}
    before = script.stat().st_mtime_ns
    assert run(script).stdout == "" and script.stat().st_mtime_ns == before


def test_check_and_diff_write_nothing(tmp_path: Path) -> None:
    loose, tidy = tmp_path / "loose.feed", tmp_path / "tidy.feed"
    loose.write_text(LOOSE)
    tidy.write_text(TIDY)
    done = run("--check", loose, tidy)
    assert (done.returncode, done.stdout) == (1, f"{loose} would change\n")
    assert run("--check", tidy).returncode == 0
    done = run("--diff", loose, tidy)
    assert done.returncode == 0 and "+    surface   hard" in done.stdout and "-   surface hard" in done.stdout
    assert "tidy" not in done.stdout and run("--diff", "--check", loose).returncode == 1
    assert loose.read_text() == LOOSE


def test_standard_input_goes_to_standard_output() -> None:
    done = run("-", text=LOOSE)
    assert (done.returncode, done.stdout, done.stderr) == (0, TIDY, "")


def test_one_bad_script_is_told_and_left_and_the_others_are_written(tmp_path: Path) -> None:
    bad, good = tmp_path / "bad.feed", tmp_path / "good.feed"
    bad.write_text("feed a\n  side   midddle or so\n")
    good.write_text(LOOSE)
    done = run(bad, good)
    assert done.returncode == 1 and "unexpected-word" in done.stderr and "bad.feed stays as it is" in done.stderr
    assert bad.read_text() == "feed a\n  side   midddle or so\n" and good.read_text() == TIDY


def test_line_ends_stay_as_they_are(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_bytes(LOOSE.replace("\n", "\r\n").encode())
    assert run(script).returncode == 0
    assert script.read_bytes() == TIDY.replace("\n", "\r\n").encode()
    assert run("--check", script).returncode == 0


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_text(LOOSE)
    tmp_path.chmod(0o500)
    done = run(script)
    assert done.returncode == 2 and done.stderr.count("\n") == 1 and script.read_text() == LOOSE


def test_a_file_that_is_none_is_told_before_any_is_written(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_text(LOOSE)
    done = run(script, tmp_path / "missing.feed")
    assert done.returncode == 2 and done.stderr.count("\n") == 1 and script.read_text() == LOOSE
