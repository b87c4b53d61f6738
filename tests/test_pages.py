"""Every code block of every page is run, and what a page shows is what comes out.

A block says by the words after its fence what it is:

    feed NAME            a script, written as NAME for the lines after it; it compiles without a finding
    feed NAME findings   the same, shown for its findings
    csv NAME             a file for the lines after it
    toml NAME            a whole profile, written as NAME; without a name it is part of one
    sh                   lines that are run, in a folder of the page's own
    sh by hand           lines for a terminal, a port or a browser: the parser takes them
    console              lines after `$ ` that are run, and what they print; `...` stands for any lines left out
    pycon                lines of Python after `>>> ` that are run, one namespace a page, and what they give
    text                 what no command of the page prints; ELSEWHERE says which test reads it
"""

import doctest
import io
import re
import shlex
import sys
import tomllib
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import NamedTuple

import pytest

from feedwright.compiler.model.command import CommandField, Template
from feedwright.compiler.model.evaluation import Scattering
from feedwright.compiler.model.feeder import Axis, Device, Feeder, Repeatability, Wheels
from feedwright.compiler.model.measured import Doubt, MeasuredFeeder
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.report.render import short
from feedwright.grammar.finding import Severity
from feedwright.grammar.source import Source
from feedwright.targets.command.cli import COMMANDS, _parser, main
from feedwright.targets.machine.feeders import SHIPPED, ProfileShelf, read

ROOT = Path(__file__).parent.parent
GENERATED = {"grammar/FINDINGS.md", "programs/README.md"}  # tests of their own
PAGES = sorted(
    str(path.relative_to(ROOT))
    for path in ROOT.rglob("*.md")
    if not any(part.startswith(".") or part in ("build", "node_modules") for part in path.relative_to(ROOT).parts)
    and str(path.relative_to(ROOT)) not in GENERATED
)
INLINE = re.compile(r"`(feedwright [^`]+)`")
ONLY_READ = ("check", "compare")
"""Commands of the text that are run with the scripts of their page, as they write nothing."""
FENCE = re.compile(r"^```([^\n]*)\n(.*?)^```$", re.S | re.M)
ELSEWHERE = {
    "targets/machine/wire/PROTOCOL.md": {"text"},  # tests/replay/test_wire.py
    "targets/editor/EDITORS.md": {"text"},  # tests/editor/test_colours.py
    "targets/machine/replay/REPLAY.md": {"text"},  # test_replay_page.py plays it
    "targets/PLAN.md": {"sh", "python"},  # test_plan_page.py
    "grammar/LANGUAGE.md": {"program", "script", "feed-lines", "session"},  # test_documents.py
}
BY_CI = {"README.md": 2, "DEVELOPERS.md": 1, "targets/desk/DESK.md": 1}
"""Blocks that set up an environment; .ci/run runs the README's."""


class Block(NamedTuple):
    kind: str
    name: str
    text: str


def blocks(page: str) -> list[Block]:
    found = []
    for info, text in FENCE.findall((ROOT / page).read_text("utf-8")):
        kind, _, name = info.partition(" ")
        found.append(Block(kind, name, text))
    return found


def said(line: str) -> tuple[int, str]:
    """Exit code and everything a line prints, in the order of a terminal with 80 columns."""
    words = shlex.split(line, comments=True)
    assert words[0] == "feedwright", line
    out = io.StringIO()
    with redirect_stdout(out), redirect_stderr(out):
        code = main(words[1:])
    return code, out.getvalue()


def parses(line: str) -> None:
    words = shlex.split(line, comments=True)
    assert words[0] == "feedwright" and (words[1] in COMMANDS or "=" in line), line
    with redirect_stdout(io.StringIO()):
        _parser(words[1]).parse_args(words[1:])


def shown(text: str) -> list[tuple[str, list[str]]]:
    """Each line after `$ ` with the lines that stand below it."""
    parts = re.split(r"^\$ (.*)\n", text, flags=re.M)
    assert not parts[0], parts[0]
    return [(line, rest.splitlines()) for line, rest in zip(parts[1::2], parts[2::2], strict=True)]


def holds(printed: list[str], page: list[str]) -> bool:
    """Whether the page shows what was printed; `...` stands for any lines, and for none."""
    if not page:
        return not printed
    if page[0] == "...":
        return any(holds(printed[skip:], page[1:]) for skip in range(len(printed) + 1))
    return bool(printed) and printed[0].rstrip() == page[0].rstrip() and holds(printed[1:], page[1:])


@pytest.mark.parametrize("page", PAGES)
def test_every_block_of_a_page_holds(page: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("FEEDWRIGHT_DB", str(tmp_path / "practice.db"))
    monkeypatch.setattr(sys, "stdin", io.StringIO())  # nobody answers
    own = 0
    names: dict[str, object] = {}
    for block in blocks(page):
        file, _, mark = block.name.partition(" ")
        match block.kind:
            case "feed":
                assert mark in ("", "findings"), block.name
                if file:
                    Path(file).write_text(block.text, "utf-8")
                found = compile_source(Source(file or "example.feed", block.text), ProfileShelf(tmp_path))
                assert bool(found.findings) == (mark == "findings"), short(found.findings)
            case "csv":
                Path(file or "results.csv").write_text(block.text, "utf-8")
            case "toml" if file:
                Path(file).write_text(block.text, "utf-8")
                assert read(block.text.encode(), file.removesuffix(".toml"))
            case "toml":
                whole = tomllib.loads((SHIPPED / "answering.toml").read_text("utf-8"))
                assert Feeder(**{**whole, **tomllib.loads(block.text)})
            case "sh" if "feedwright" not in block.text.split() or ".venv/bin/" in block.text:
                own += 1
            case "sh" if "sh" not in ELSEWHERE.get(page, ()):
                for line in block.text.splitlines():
                    if block.name == "by hand":
                        parses(line)
                        continue
                    assert not block.name, block.name
                    code, printed = said(line)
                    assert code == 0, f"{line}\n{printed}"
            case "console":
                for line, below in shown(block.text):
                    code, printed = said(line)
                    assert code in (0, 1), f"{line}\n{printed}"
                    assert holds(printed.splitlines(), below), f"{line} prints\n{printed}"
            case "pycon":
                told: list[str] = []
                lines = doctest.DocTestParser().get_doctest(block.text, names, page, None, 0)
                doctest.DocTestRunner(verbose=False).run(lines, out=told.append, clear_globs=False)
                names |= lines.globs
                assert not told, "".join(told)
            case _:
                assert block.kind in ELSEWHERE.get(page, ()), f"```{block.kind} {block.name}"
    assert own == BY_CI.get(page, 0)
    for line in INLINE.findall(FENCE.sub("", (ROOT / page).read_text("utf-8"))):
        files = [word for word in shlex.split(line) if word.endswith(".feed")]
        if files and line.split()[1] in ONLY_READ and all(Path(file).exists() for file in files):
            code, printed = said(line)
            assert code in (0, 1), f"{line}\n{printed}"


@pytest.mark.parametrize("page", PAGES)
def test_a_page_names_what_there_is(page: str) -> None:
    text = (ROOT / page).read_text("utf-8")
    prose = FENCE.sub("", text)
    for target, _, anchor in (link.partition("#") for link in links(text)):
        place = (ROOT / page).parent / target if target else ROOT / page
        assert place.exists(), f"{page} leads to {target}, which is not there"
        if anchor:
            heads = re.findall(r"^#+ (.*)$", place.read_text("utf-8"), re.M)
            assert anchor in {re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-") for head in heads}, anchor
    for word in re.findall(r"`feedwright ([a-z][a-z-]*)", prose):
        assert word in COMMANDS, f"{page} names feedwright {word}, which is no command"
    options = set(re.findall(r"`(?:[^`]* )?(--[a-z][a-z-]*)", prose))
    assert options <= every_option() | {"--update", "--fast"}, options - every_option()


def links(text: str) -> list[str]:
    """Where a page leads to inside the repository."""
    return re.findall(r"\]\(([^)\s:]+)\)", text)


def test_a_reader_of_the_first_page_comes_to_every_page() -> None:
    found, new = {"README.md"}, ["README.md"]
    while new:
        page = new.pop()
        targets = (link.partition("#")[0] for link in links((ROOT / page).read_text("utf-8")))
        there = {str(((ROOT / page).parent / t).resolve().relative_to(ROOT)) for t in targets if t.endswith(".md")}
        new += there - found
        found |= there
    assert {*PAGES, *GENERATED} - found == set(), "no page leads to it"


def every_option() -> set[str]:
    found, waiting = set(), [_parser()]
    while waiting:
        parser = waiting.pop()
        for action in parser._actions:
            found |= set(action.option_strings)
            if isinstance(action.choices, dict):
                waiting += action.choices.values()
    return found


# ---- what a page says of itself, and of balls


MINUTES = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
    "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17,
    "eighteen": 18, "nineteen": 19, "twenty": 20, "twenty-two": 22, "twenty-four": 24, "thirty": 30,
    "thirty-five": 35, "forty": 40, "forty-five": 45, "fifty": 50,
}  # fmt: skip
WORDS_A_MINUTE = 238
"""Of silent reading of English prose: Brysbaert, J. Mem. Lang. 109, 104047 (2019), a review; from memory."""


@pytest.mark.parametrize("page", PAGES)
def test_a_page_says_at_its_head_how_long_it_takes_to_read(page: str) -> None:
    """To a minute, or a tenth of a longer time: readers differ more than that."""
    text = (ROOT / page).read_text("utf-8").partition("\n## Changes")[0]
    said = re.search(r"(prose)?\s+takes\s+([a-z-]+)\s+minutes\s+to\s+read", text[:900])
    assert said, page
    if said[1]:  # its tables are for looking things up
        text = "\n".join(line for line in FENCE.sub("", text).splitlines() if not line.startswith("|"))
    needed = minutes(text)
    assert MINUTES[said[2]] == pytest.approx(needed, abs=max(1.0, 0.1 * needed))


def minutes(text: str) -> float:
    """What all words that a reader sees take, those of code as long as others."""
    seen = re.sub(r"<!--.*?-->|!\[.*?\]\(.*?\)|(?<=\])\(.*?\)", "", text, flags=re.S)
    return sum(bool(re.search(r"\w", word)) for word in seen.split()) / WORDS_A_MINUTE


def test_a_new_coach_reads_the_first_two_pages_in_a_quarter_of_an_hour() -> None:
    assert sum(minutes((ROOT / page).read_text("utf-8")) for page in ("README.md", "grammar/GUIDE.md")) < 15


def test_the_places_that_the_guide_puts_together_have_balls() -> None:
    """Both ends of each cell of its table, with the least and the most spin that it names: no error, no warning."""
    guide = (ROOT / "grammar" / "GUIDE.md").read_text("utf-8")
    head, _, *rows = re.findall(r"^\| `depth` .*(?:\n\|.*)+", guide, re.M)[0].splitlines()
    asked = re.findall(r"`(height[^`]+)`", head)
    feeds = []
    for row in rows:
        depth, *cells = [cell.strip() for cell in row.split("|")[1:-1]]
        for flight, cell in zip(asked, cells, strict=True):
            ends = re.findall(r"([\d.]+)(?: m)?(?: (behind|inside))?", cell)
            side = ends[-1][1] if ends else ""
            feeds += [
                f"    side      backhand wing\n    depth     {depth.strip('`')}\n"
                f"    stance    {end} m {own or side} baseline\n"
                f"    {flight}\n    spin      topspin {spin} rpm\n    interval  8 s\n"
                for end, own in ends for spin in (600, 1200)
            ]  # fmt: skip
    assert len(feeds) == 32
    text = guide.partition("```feed balls.feed\n")[2].partition("\n\n#")[0]
    text += "".join(f"\nfeed ball-{n}\n{feed}" for n, feed in enumerate(feeds)) + '\nsession "Each"\n'
    text += "".join(f"    1 ball    ball-{n}\n" for n in range(len(feeds)))
    found = compile_source(Source("places.feed", text), ProfileShelf(None), remedies=False)
    assert found.plan and found.plan.blocks, short(found.findings)
    warned = [finding for finding in found.findings if finding.severity is not Severity.NOTE]
    assert not warned, short(warned)


def by_racket(place: str, feeds: list[str]) -> tuple[dict[str, Scattering], str]:
    """How the balls b-0, b-1 ... of a person on a place scatter, and the warnings of their zones."""
    text = (
        f'program "x"\n    surface   hard\n    player    right-handed, 1.75 m tall\n'
        f"    feeder    person racket, on centre, {place}, behind a screen\n"
    )
    text += "".join(f"\nfeed b-{n}\n{feed}    spin flat\n    interval 6 s\n" for n, feed in enumerate(feeds))
    text += '\nsession "Each"\n' + "".join(f"    1 ball b-{n}\n" for n in range(len(feeds)))
    found = compile_source(Source("racket.feed", text), ProfileShelf(None), remedies=False)
    assert found.evaluation, short(found.findings)
    warned = [one for one in found.findings if one.code == "zone-small" and one.severity is not Severity.NOTE]
    return dict(found.evaluation.scatterings), short(warned)


def test_a_person_with_a_racket_holds_what_the_language_page_says() -> None:
    page = " ".join((ROOT / "grammar" / "LANGUAGE.md").read_text("utf-8").split())
    rows = re.findall(r"\| ([\d.]+ m) \| (\d+) to (\d+) \| (\d+) to (\d+) \|", page)
    hip = re.search(r"keeps knee to chest in (\d+) to (\d+) of 100 at (1 m)\.", page)
    near = re.search(
        r"that land 3\.5 m from the net (\d+) to (\d+) and (\d+) to (\d+) do at (.*? m), "
        r"only (\d+) to (\d+) and (\d+) to (\d+) at (.*? m)\.",
        page,
    )
    assert len(rows) == 5 and hip and near
    far, close = "4.5 to 9.5", "1 to 6"
    asked = [(far, over, "waist", "chest", low, high) for over, low, high, _, _ in rows]
    asked += [(far, over, "waist", "shoulder", low, high) for over, _, _, low, high in rows]
    asked += [(far, hip[3], "hip", "chest", hip[1], hip[2])]
    for *shares, over in (near.groups()[:5], near.groups()[5:]):
        asked += [(close, over, "waist", "chest", *shares[:2]), (close, over, "waist", "shoulder", *shares[2:])]
    feeds = [
        f"    side 1.5 m left of centre\n    depth {zone} m from net\n"
        f"    stance where it is {part} high, falling\n    height {over} over net\n"
        f"    height no lower than knee\n    height no higher than {top}\n"
        for zone, over, part, top, _, _ in asked
    ]
    places = [by_racket(place, feeds)[0].values() for place in ("on service line", "8 m from net", "10 m from net")]
    for (*ball, low, high), scatterings in zip(asked, zip(*places, strict=True), strict=True):
        kept = [100 * (1 - sum(1 - share for share, _ in one.kept.values())) for one in scatterings]
        assert [min(kept), max(kept)] == pytest.approx([int(low), int(high)], abs=0.5), ball  # rounded by the page


def test_zones_as_large_as_the_language_page_says_are_enough_for_a_person_with_a_racket() -> None:
    page = " ".join((ROOT / "grammar" / "LANGUAGE.md").read_text("utf-8").split())
    said = re.search(
        r"3 m wide: ([\d.]+) m deep from the service line, ([\d.]+) m from 10 m behind the net, (\S+) m from", page
    )
    few = re.search(r"at 8\.5 m from the net, .*? (\d+) to (\d+) of 100 do", page)
    assert said and few
    for place, deep in zip(("on service line", "10 m from net", "on baseline"), map(float, said.groups()), strict=True):
        around = f"    side within 1.5 m of centre\n    depth {8 - deep / 2} to {8 + deep / 2} m from net\n"
        _, warned = by_racket(place, [around + "    stance on baseline\n    height 1 m over net\n"])
        assert not warned, place
    near = "    side middle\n    depth 8.5 m from net\n    stance on baseline\n    height {} m over net\n"
    feeds = [near.format(over) for over in (0.8, 1.5)]
    found = [by_racket(place, feeds)[0] for place in ("8 m from net", "10 m from net")]
    shares = [100 * ball.in_zone for balls in found for ball in balls.values()]
    assert (round(min(shares)), round(max(shares))) == tuple(map(int, few.groups()))


# ---- the profile


FEEDERS = (ROOT / "targets" / "machine" / "feeders" / "FEEDERS.md").read_text("utf-8")
TABLES = {
    "The whole": Feeder, "An axis": Axis, "`[wheels]`": Wheels, "`[repeatability]`": Repeatability,
    "`[measured]`": MeasuredFeeder, "`[doubt]`": Doubt,
    "`[device]`": Device, "`[template]`": Template, "`[template.fields]`": CommandField,
}  # fmt: skip


@pytest.mark.parametrize("head", TABLES)
def test_the_page_names_every_key_of_a_profile_and_no_other(head: str) -> None:
    section = re.search(rf"^### {re.escape(head)}\n(.*?)(?=^##|\Z)", FEEDERS, re.S | re.M)
    assert section, head
    keys = [key for cell in re.findall(r"^\| (`[^|]*`) \|", section[1], re.M) for key in re.findall(r"`(\w+)`", cell)]
    assert len(keys) == len(set(keys))
    assert set(keys) == set(TABLES[head]._fields) - {"name"}  # the name is the file's


@pytest.mark.parametrize("head", TABLES)
def test_the_page_names_the_keys_that_have_to_be_there(head: str) -> None:
    section = re.search(rf"^### {re.escape(head)}\n(.*?)(?=^##|\Z)", FEEDERS, re.S | re.M)
    said = re.search(r"^Required: (.*?)[.;]", section[1], re.S | re.M) if section else None
    assert said, head
    assert set(re.findall(r"`(\w+)`", said[1])) == TABLES[head].required()


def test_a_sign_and_four_digits_are_as_the_page_says() -> None:
    assert "`width = 5, sign = true`, which writes `+0000`" in FEEDERS
    assert CommandField(width=5, sign=True).written(0.0) == "+0000"


def test_the_page_tells_units_and_bounds_that_hold() -> None:
    from feedwright.compiler.model.feeder import _SENSE

    for name, (low, high, unit) in _SENSE.items():
        assert f"{low:g} to {high:g} {unit}" in FEEDERS, name
