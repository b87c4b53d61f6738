"""Case files: scripts with every message they must give, side by side.

    === a title
    ## why, where it needs saying
    @head
    feed steady
        ...
    ---
    7:15 error wrong-unit: the headline
        at: the marked text
        write: a remedy
            cost: what it replaces, and what differs with it

`@head` and its sisters stand for the good parts below; `@head but player` leaves a line out, `@play a, b` is a session
of those feeds, `@lines 9` so many lines of nothing. `<TAB>` is a tab. Figures of flight in the messages are no check of
the physics, which has its own.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import takewhile
from pathlib import Path

from feedwright.compiler.findings import MESSAGES
from feedwright.compiler.findings.nearest import HadAtHeight, Nearest
from feedwright.compiler.include import EditedLibrary, Library
from feedwright.compiler.model.program import Feed, Program
from feedwright.compiler.pipeline import compile_source, read_source
from feedwright.compiler.printable import escaped, visible
from feedwright.compiler.report.render import given, short
from feedwright.compiler.solve import MOST_CLOSER, each, solve
from feedwright.compiler.trial import BRINGS, HIGH, MILDER, MILDEST
from feedwright.grammar.edits import Remedy
from feedwright.grammar.finding import Finding, Severity
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

from ..whole import WHOLE

FOLDER = Path(__file__).parent
STAGES = ("sentence", "head", "places", "feed", "session", "aim", "ball", "device", "practice", "poor")
SCRIPTS = ScriptShelf(FOLDER / "shared")
PROFILES = ProfileShelf(FOLDER / "feeders")
WIDEST = 60

_HEAD = """\
program "Tuesday at Brackenmoor"
    surface   hard
    player    right-handed, 1.75 m tall
"""
PARTS = {
    "head": _HEAD + "    feeder    machine club, on centre, on baseline, behind a screen\n",
    "academy": _HEAD + "    feeder    machine academy, on centre, on baseline, behind a screen\n",
    "dials": _HEAD + "    feeder    machine dials, on centre, on baseline, behind a screen\n",
    "racket": _HEAD + "    feeder    person racket, on centre, 1 m behind service line, behind a screen\n",
    "basket": _HEAD + "    feeder    person basket, on the player's side, 3 m from net, behind a screen\n",
    "steady": """\
feed steady
    side      middle
    depth     1 to 4 m inside baseline
    stance    1 m behind baseline
    height    1 m over net
    spin      topspin 600 rpm
    interval  5 s
""",
    "tossed": """\
feed tossed
    side      middle
    depth     1 to 4 m behind service line
    stance    1 m inside baseline
    time      1.3 s to contact
    spin      flat
    interval  4 s
""",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Case:
    path: Path
    title: str
    reason: str
    written: str
    """The source as the case has it, parts not yet expanded."""
    expected: str

    @property
    def name(self) -> str:
        return f"{self.path.parent.name}/{self.path.stem}: {self.title}"

    @property
    def codes(self) -> list[str]:
        return re.findall(r"^\S+ (?:error|warning|note) ([\w-]+):", self.expected, re.M)

    @property
    def source(self) -> Source:
        return Source("case.feed", "".join(_expanded(line) for line in self.written.splitlines(keepends=True)))


def _expanded(line: str) -> str:
    mark = re.fullmatch(r"@(\w+)(?: but ([\w, ]+)| ([\w, -]+))?\n", line)
    if not mark:
        return line.replace("<TAB>", "\t")
    part, without, names = mark.groups()
    if part == "lines":
        return "#\n" * int(names)
    if part == "play":
        return 'session "Practice"\n' + "".join(f"    10 balls {name}\n" for name in re.split(r",\s*", names))
    lines = PARTS[part].splitlines(keepends=True)
    return "".join(text for text in lines if not without or text.split()[0] not in re.split(r",\s*", without))


@cache
def cases() -> tuple[Case, ...]:
    return tuple(case for stage in STAGES for path in sorted((FOLDER / stage).glob("*.txt")) for case in _read(path))


def _read(path: Path) -> Iterator[Case]:
    text = path.read_text("utf-8")
    assert text.startswith("=== "), path
    for part in re.split(r"^=== ", text, flags=re.M)[1:]:
        title, _, rest = part.partition("\n")
        reason = "".join(takewhile(lambda line: line.startswith("## "), rest.splitlines(keepends=True)))
        written, mark, expected = rest[len(reason) :].partition("---\n")
        assert mark, f"{path}: {title} has no line ---"
        yield Case(path, title, reason, written, expected.strip("\n") + "\n" if expected.strip() else "")


def accept(case: Case, given: str) -> None:
    """Write what the case gives as its expectation."""
    parts = [
        f"=== {c.title}\n{c.reason}{c.written}---\n{given if c.title == case.title else c.expected}"
        for c in _read(case.path)
    ]
    case.path.write_text("\n".join(parts), "utf-8")


FLOWN = ("feeds", "flight", "bounce", "bounds", "figures", "scatter", "player")
"""The findings, by their file, that a search among flights may mend, in which most of the time goes: of the cases that
give one a share is searched."""
ALWAYS = (
    "aim/aims: a pace beyond the machine",
    "aim/aims: more sidespin than a person gives, where what it gives brings a warning",
    "aim/aims: a limit in an inherited line, where the feed has another place",
    "ball/balls: a lob for an overhead, of which no flatter ball is proposed",
    "ball/balls: a volley out of the feeder's reach, whose bounds every height breaks too often to be proposed",
    "feed/best: a script in which nothing is met above the waist",
    "feed/families: a family that no one line mends",
)
"""What is proposed beside what is told to be possible; what brings a warning; two findings in one line, told apart by
what mends them; a lob that only another ball would mend; a volley that can be had lower; a bound that nothing keeps; a
line that would break others."""


@cache
def searched() -> frozenset[str]:
    """The cases that are compiled with all that would mend them."""
    flown = [case.name for case in cases() if any(MESSAGES[code].__module__.endswith(FLOWN) for code in case.codes)]
    left_out = set() if WHOLE else set(flown) - {*ALWAYS, *flown[15::18]}
    return frozenset(case.name for case in cases() if case.name not in left_out)


TOGETHER = 4 * MOST_CLOSER
"""Balls of one batch: the whole zones of `MOST_CLOSER` are looked at, and fewer than one in four cannot be had."""


def solve_together(some: Iterable[Case]) -> None:
    """Works out the balls of many cases as one batch for each world, and for each player where the best ball is looked
    for: each case then finds its own, bit for bit what it would work out alone (tests/test_kept.py), in a fraction of
    the time."""
    alike: dict[tuple[str, str], tuple[Program, list[Feed]]] = {}
    for case in some:
        source = case.source
        if program := read_source(source, PROFILES, SCRIPTS, _settings(source)).program:
            for feed in program.feeds.values():
                for_whom = repr((program.player, program.players)) if feed.open else ""
                alike.setdefault((program.world, for_whom), (program, []))[1].append(feed)
    for (_, for_whom), (program, feeds) in alike.items():
        if for_whom:
            solve(program, {f"{i}": feed for i, feed in enumerate(feeds)})
            continue
        for first in range(0, len(feeds), TOGETHER):
            each(program, feeds[first : first + TOGETHER])


@cache
def findings(case: Case) -> tuple[Finding, ...]:
    source = case.source
    return compiled(source) if case.name in searched() else without_remedies(source)


def compiled(source: Source) -> tuple[Finding, ...]:
    return compile_source(source, PROFILES, SCRIPTS, _settings(source)).findings


def fault_alone(text: str) -> str:
    """Of what a case tells the messages and their places, which are the same whatever would mend them."""
    return "".join(line for line in text.splitlines(keepends=True) if not re.match(" {4}(?!at[: ])", line))


def _settings(source: Source) -> dict[str, tuple[str, str]]:
    """A comment such as `# set rhythm=5 s` stands for the option of a run."""
    return {name: (number, unit) for name, number, unit in re.findall(r"^# set (\w+)=(\S+) (\S+)$", source.text, re.M)}


def without_remedies(
    source: Source, library: Library = SCRIPTS, profiles: ProfileShelf = PROFILES
) -> tuple[Finding, ...]:
    """What is found, compiled from the beginning, without a search for remedies, in which most of the time goes."""
    return compile_source(source, profiles, library, _settings(source), plan=False, remedies=False).findings


def told(findings: tuple[Finding, ...]) -> str:
    """Every finding with its marked text, other places, advice and remedies."""
    return "".join(_told(finding) for finding in findings)


def _told(finding: Finding) -> str:
    source = finding.span.source
    lines = [short([finding]).removeprefix(f"{source.name}:").rstrip("\n")]
    marked, _, more = finding.span.text.partition("\n")
    marked = marked[:WIDEST] + " ..." if more or len(marked) > WIDEST else marked
    lines.append(f"    at: {_exact(marked)}" if marked else "    at the end of the line")
    for why, span in finding.also:
        number, _, text = span.source.line_of(span.start)
        lines.append(f"    {why}: {number}: {_exact(text.strip())}")
    lines += [f"    {words}" for words in finding.advice]
    for remedy in finding.remedies:
        rows = [row for part in remedy.parts or (remedy,) for row in part.text.split("\n")]
        sentence = " / ".join(row.strip() for row in rows if row.strip())
        where = "" if remedy.span.start < remedy.span.end else " (a new line)" if "\n" in remedy.text else " (added)"
        lines.append(f"    write: {sentence}{where}" if sentence else f"    leave out: {_exact(remedy.span.text)}")
        lines += [f"        cost: {given(remedy)}"] if remedy.cost else []
    return "\n".join(lines) + "\n"


def mended(source: Source, remedy: Remedy, library: Library = SCRIPTS) -> tuple[Source, Library]:
    """The script and those that it may use, the remedy written into the one that it is of."""
    old = remedy.span.source
    new = Source(old.name, old.text[: remedy.span.start] + remedy.text + old.text[remedy.span.end :])
    return (new, library) if old == source else (source, EditedLibrary(library, new))


def news(before: Iterable[Finding], after: Iterable[Finding], mended: Finding, remedy: Remedy) -> list[str]:
    """What speaks against a remedy: errors and warnings that are told of more balls of a line than before, and what it
    should have mended. A line that the remedy makes counts as the one beside it."""
    line = remedy.span.source.line_of(remedy.span.start)[0]
    lines = remedy.text.count("\n") - remedy.span.text.count("\n")

    def counted(findings: Iterable[Finding], moved: int) -> Counter[tuple[str, str, int]]:
        told: Counter[tuple[str, str, int]] = Counter()
        for one in findings:
            if one.severity is not Severity.NOTE:
                at = one.span.source.line_of(one.span.start)[0]
                at = at if one.span.source.name != remedy.span.source.name or at <= line else max(line, at - moved)
                told[one.code, one.span.source.name, at] += 1 + one.more
        return told

    # Beside the best that was tried, where nothing mends it, what is at fault may stay.
    stays = isinstance(mended.resort, Nearest)
    allowed = counted(before, 0) - (Counter() if stays else counted([mended], 0))
    # Nobody could tell these of a ball that was impossible.
    kept_less = MILDEST if isinstance(mended.resort, HadAtHeight) else MILDER
    milder = (*kept_less, *HIGH.get(mended.code, ())) if mended.severity is Severity.ERROR else ()
    milder += tuple(word for one in remedy.cost if one.what == BRINGS for word in f"{one.after}".split())
    new = counted(after, lines) - allowed
    return [f"{code} in line {at} of {name}" for code, name, at in new if code not in milder]


def _exact(text: str) -> str:
    """`visible`, and line breaks and tabs by their numbers too: a case may turn on one."""
    return "".join(escaped(c) if c in "\n\t" else visible(c) for c in text)
