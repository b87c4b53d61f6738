"""text -> Tree. Each line is a sentence and is parsed on its own; blocks come from indentation.

A bad line costs only itself: it becomes a Line without a sentence and is reported once. The lines indented under it are
not examined.
"""

import re
from collections import Counter
from functools import lru_cache
from itertools import pairwise

from . import mistakes, terminals, units
from .build import build
from .facts import Names
from .finding import Finding, Hint, Message, placed
from .frozen import Changing, own, replace
from .messages import (
    HeadMissing,
    LikelySlip,
    LineTooLong,
    Misplaced,
    MixedIndentation,
    ScriptTooLong,
    SortMissing,
    TooDeep,
    UnexpectedWord,
    Unfinished,
    UnitMissing,
)
from .misplaced import misplaced
from .mistakes import near_names
from .reader import Branch, Reader, Stuck, Token, read
from .source import Rows, ScriptRow, Source, Span
from .syntax import (
    Line,
    Sentence,
    Tree,
)

LONGEST_LINE, MOST_LINES, DEEPEST = 400, 2000, 32
"""Far more than anybody writes; a script made by a program gets an error at once, and nobody waits for it."""
MOST_KEPT = 3 * MOST_LINES
"""Rows that are kept as they were read: those of a script that changes, and of its remedies on trial."""
Slip = tuple[Message, int, int, Hint | None]
"""What is wrong with a sentence, from which to which of its characters, and what might help."""
_COMMENT = re.compile(r'^((?:[^"#]|"[^"]*")*)(#.*)?$', re.S)
_COMMA = re.compile(r"\d,\d")
_ENDS = re.compile(r"(until|first\s+to|goal|score)(?![\w-])")
"""What says when a block ends, what it asks for or counts, and belongs to it also where it is not indented."""
_SPOT = re.compile(r"[0-9]+\.[0-9]+|[A-Za-z0-9_/%-]+|\S")


class _Open(Changing):
    """A line whose indented lines are still being read."""

    indent: int
    line: Line
    """As far as it has been read, without the lines under it."""
    known: bool
    """Whether the line was read and stands where it may; if not, the lines under it are not examined."""
    kept: bool = True
    """False for a sound sentence in a wrong place: the place it stands in can still have such a sentence, unless a line
    further up could have had it."""
    children: list[Line] = own(factory=list)

    @property
    def homely(self) -> tuple[str, ...]:
        """What may stand under it."""
        return terminals.UNDER.get(self.line.kind, ())

    def close(self) -> Line:
        return replace(self.line, children=tuple(self.children)) if self.children else self.line


def parse(source: Source, starts: dict[Source, int] | None = None) -> tuple[Tree, list[Finding]]:
    """The tree of a script and what is wrong with its sentences, each place named once. With `starts`, which hears
    where each row begins, the places in the tree are those in the rows, rows that were read before are not read again,
    and what stands between them is left out."""
    rows, whole = source.text.split("\n"), Span(source, 0, len(source.text))
    if len(rows) > MOST_LINES:
        last = sum(len(row) + 1 for row in rows[:MOST_LINES])
        there = Span(source, last, last + len(rows[MOST_LINES]))
        line = Line(None, above=tuple(rows[:MOST_LINES]), indent="", gap="", place=there)
        return Tree((line,), tuple(rows[MOST_LINES + 1 :]), whole), [Finding(ScriptTooLong(MOST_LINES), there)]
    faults: list[Finding] = []
    root = _Open(-1, Line(None), True)
    stack = [root]
    indent_sign = ""
    above: list[str] = []
    head, alike = "", Counter[tuple[str, str]]()

    def close_to(indent: int, but: _Open | None = None) -> None:
        while stack[-1].indent >= indent and stack[-1] is not but:
            done = stack.pop()
            if done.kept:
                stack[-1].children.append(done.close())

    offset = 0
    for raw in rows:
        start, offset = offset, offset + len(raw) + 1
        if starts is None:
            row = _row(raw, Span(source, start, start + len(raw)))
        else:
            head = head if raw[:1] in ("", " ", "\t", "#") else raw
            row = _of_row(source.name, raw, head, alike[head, raw])
        if row is None:
            above.append(raw)
            continue
        if starts is not None:
            starts[row.span.source] = start
            alike[head, raw] += 1
        indent, span, signs = len(row.indent or ""), row.span, set(row.indent or "")
        if signs and not indent_sign:
            indent_sign = raw[0]
        problem = None
        if len(raw) > LONGEST_LINE:
            problem = Finding(LineTooLong(LONGEST_LINE), Span(span.source, span.start, span.start + 1))
        elif signs and signs != {indent_sign}:
            problem = Finding(MixedIndentation(), Span(span.source, span.start - indent, span.start))
        beside = _ENDS.match(span.text) and next((b for a, b in pairwise(stack) if a.indent < indent <= b.indent), None)
        close_to(indent, beside if beside and "until" in beside.homely else None)
        over, homely = stack[-1], stack[-1].homely
        if len(stack) > DEEPEST:
            if over.known:
                faults.append(Finding(TooDeep("lines are indented under one another", DEEPEST), span))
                over.children.append(replace(row, above=tuple(above)))
                above = []
            else:
                above.append(raw)
            over.known = False
            continue
        sentence = None
        if problem is None:
            read = (_sentence if starts is None else _in_row)(span, homely)
            problem, sentence = (read, None) if isinstance(read, Finding) else (None, read)
        kept = True
        if sentence is not None and over.known and sentence.kind not in homely:
            kept = any(sentence.kind in open_.homely for open_ in stack)
            problem, sentence = misplaced(sentence, over.line, [one.line for one in stack[1:-1]]), None
        if problem is not None and over.known:
            faults.append(problem)
        if kept and all(open_.kept for open_ in stack):
            between = tuple(above) if starts is None else ()
            row = Line(sentence, (), row.comment, between, row.indent, row.gap, row.trail, span)
            above = []
        else:  # not part of the tree, but its text stays
            row = replace(row, sentence=sentence)
            above.append(raw)
        stack.append(_Open(indent, row, over.known and sentence is not None, kept))
    close_to(0)
    faults = _without_head(placed(faults, Rows(source, starts or {}).place))
    return Tree(tuple(root.children), tuple(above), whole), faults


def _without_head(faults: list[Finding]) -> list[Finding]:
    """The faults, those of neighbouring lines that lack one and the same head told once."""
    found: list[Finding] = []
    groups: list[list[Finding]] = []
    for fault in faults:
        if groups and _neighbours(groups[-1][-1], fault) and _homes([*groups[-1], fault]):
            groups[-1].append(fault)
        else:
            groups.append([fault])
    for group in groups:
        first = group[0]
        if len(group) > 1 and isinstance(first.message, Misplaced):
            kinds = Names(one.message.kind for one in group if isinstance(one.message, Misplaced))
            message = HeadMissing(kinds, first.message.over, Names(_homes(group)))
            also = (*first.also, ("the last of them", group[-1].span))
            found.append(Finding(message, first.span, also))
        else:
            found += group
    return found


def _homes(faults: list[Finding]) -> list[str]:
    """Where misplaced lines all belong, in the order of the language."""
    each = [one.message.homes if isinstance(one.message, Misplaced) else () for one in faults]
    return [home for home in each[0] if all(home in homes for homes in each)]


def _neighbours(one: Finding, other: Finding) -> bool:
    """Whether two misplaced lines stand under the same line with nothing but blanks and comments between."""
    if not (isinstance(one.message, Misplaced) and isinstance(other.message, Misplaced)) or one.also != other.also:
        return False
    between = one.span.source.text[one.span.end : other.span.start].split("\n")[1:-1]
    return all(not row.strip() or row.lstrip().startswith("#") for row in between)


def _row(raw: str, place: Span) -> Line | None:
    """A line of the script in its parts, its sentence not yet read; None if it holds no sentence."""
    body = raw.lstrip(" \t")
    indent = raw[: len(raw) - len(body)]
    if body.startswith("#"):
        return None
    match = _COMMENT.match(body) if "#" in body else None
    text, comment = (match[1], match[2] or "") if match else (body, "")
    sentence = text.rstrip(" \t")
    if not sentence:
        return None
    start = place.start + len(indent)
    span = Span(place.source, start, start + len(sentence))
    kept = comment.rstrip(" \t")
    return Line(None, (), kept, (), indent, text[len(sentence) :], comment[len(kept) :], span)


@lru_cache(MOST_KEPT)
def _of_row(name: str, raw: str, head: str, number: int) -> Line | None:
    return _row(raw, Span(ScriptRow(name, raw, head, number), 0, len(raw)))


@lru_cache(MOST_LINES)
def _read(text: str) -> Branch | None:
    """The words of a sentence, None if it is none; one that was read before, in a script that changes, is not read
    again."""
    try:
        return read(text)
    except Stuck:
        from .in_words import read_in_digits  # slow to load, and few lines need it

    try:
        return read_in_digits(text)
    except Stuck:
        return None


def reads(row: str) -> bool:
    """Is it a sentence of the language, in whatever place and with whatever comment?"""
    line = _row(row, Span(Source("", row), 0, len(row)))
    return line is not None and _read(line.span.text) is not None


def _sentence(span: Span, homely: tuple[str, ...]) -> Sentence | Finding:
    tree = _read(span.text)
    if tree is None:
        message, start, end, hint = _slip(span.text, homely)
        return Finding(message, Span(span.source, span.start + start, span.start + end), hint=hint)
    return (_COMMA.search(span.text) and _decimal_comma(tree, span)) or build(tree, span)


_in_row = lru_cache(MOST_KEPT)(_sentence)
"""For places in rows."""


def _decimal_comma(tree: Branch, span: Span) -> Finding | None:
    """1,2 m is no list of two numbers for most who write it: refused, since the one is far from the other."""
    numbers = [part for part in tree.parts if isinstance(part, Token) and part.kind == "NUMBER"]
    for first, then in pairwise(numbers):
        pair = Span(span.source, span.start + first.start, span.start + then.end)
        if pair.text == f"{first},{then}":
            wanted = Names((f"{first}.{then}", f"{first}, {then}"))
            return Finding(UnexpectedWord(near=Names(), found=pair.text, wanted=wanted), pair)
    inner = (part for part in tree.parts if isinstance(part, Branch))
    return next((found for part in inner if (found := _decimal_comma(part, span))), None)


@lru_cache(MOST_LINES)
def _slip(text: str, homely: tuple[str, ...]) -> Slip:
    """What is wrong with a sentence: read it again up to the bad place and ask what could stand there. Asked after
    the bad word was read, the reader has already reduced and knows less."""
    from .in_words import in_digits  # slow to load, and only mistakes need it

    said, text = text, in_digits(text)
    reader = Reader(text)
    place, accepted = len(text), reader.accepts()
    last, last_accepted = Token.of("", "", 0), set[str]()
    try:
        while (token := reader.next()) is not None:
            last, last_accepted, accepted = token, accepted, reader.accepts()
    except Stuck as stuck:
        place = stuck.place
    if place == 0:  # the word that opens the sentence: name what may stand under the line above
        opened_by = [terminals.OPENED_BY.get(kind, kind) for kind in homely]
        accepted = {name for name in accepted if terminals.KEYWORDS.get(name) in opened_by}
    elif last.kind == "NAME" and text.split()[0] in terminals.OWN_NAMES and last in terminals.OPENING_WORDS:
        # A keyword out of place was taken for a name: the mistake is there, not at the word after it.
        place, accepted = last.start, last_accepted
    return _worded(text, said, place, accepted)


def _worded(text: str, said: str, place: int, accepted: set[str]) -> Slip:
    """`text` is what was `said`, perhaps with numbers in digits that were in words."""
    spot = _SPOT.match(said, place)
    found = spot[0] if spot else ""
    end = spot.end() if spot else place
    names = accepted - {"GIVEN", "MUCH"} if place else accepted  # may stand for many: not worth saying
    keywords = [terminals.KEYWORDS[name] for name in names if name in terminals.KEYWORDS]
    wanted = Names(sorted(keywords) + [terminals.KINDS[name] for name in terminals.KINDS if name in names])
    if not found:
        meant = mistakes.spoken(text)
        return Unfinished(wanted), place, end, LikelySlip(meant) if meant else None
    if "UNIT" in accepted:
        near = [units.SPELLINGS[found]] if found in units.SPELLINGS else near_names(found, units.UNITS)
    else:
        near = _near_phrases(text[place:], keywords) or near_names(found, keywords)
    spelled = "UNIT" in accepted and found in units.SPELLINGS and found != "degrees"  # of an angle or of the air
    spoken = None if spelled else mistakes.spoken(text, near, found)
    slip = spoken or mistakes.hint(text, place)
    hint: Hint | None = LikelySlip(slip) if slip else None
    if hint is None and "UNIT" in accepted and not near and text[:place].rstrip()[-1:].isdigit():
        unit = mistakes.UNITS.get(text.split()[0], "m")
        hint = UnitMissing(text[:place].split()[-1], unit)
    if accepted >= {"MACHINE", "PERSON"} and not spoken:
        hint = SortMissing(found)
    if near and not spoken and found not in mistakes.NEAR_AND_OTHER and not mistakes.turned(text):
        hint = None  # a word that is nearly right says more
    near = [] if hint else near
    return UnexpectedWord(near=Names(near), found=found, wanted=wanted), place, end, hint


def _near_phrases(rest: str, keywords: list[str]) -> list[str]:
    """Keywords of several words that look like the words `rest` begins with, written apart or as one."""
    words = rest.split()
    phrases = [(k, range(1, k.count(" ") + 2)) for k in keywords if " " in k]
    return [k for k, counts in phrases if any(near_names(" ".join(words[:n]), [k], 0.8) for n in counts)][:3]
