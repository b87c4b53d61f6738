"""What may be written at a place: words of the language, units, and names in reach, all of which fit there."""

import re
from collections.abc import Iterable, Iterator
from itertools import pairwise

from ...grammar import terminals, units
from ...grammar.expect import Expected, expected, openings
from ...grammar.finding import MESSAGES, Severity
from ...grammar.frozen import Frozen
from ...grammar.reader import PATTERNS
from ...grammar.syntax import Line
from ..model.court import courts
from ..model.feeder import ProfileProblem, Profiles
from ..model.player import BODY_SHARES, LEVELS, STROKES
from ..physics.bounce import PACES, SURFACES
from ..resolve.places import DEPTHS, HANDS, SIDES
from ..resolve.spins import AMOUNTS
from .script import NameKind, Script, lines_of

SORTS = ("word", "unit", "name")
_TAIL = re.compile(r"[\w/%'-]*\Z")
TAKE_A_COMMA = frozenset(name for name, (_, pattern) in PATTERNS.items() if pattern.startswith("(,"))
MOST_WORDS = 4
"""The most words that one keyword has."""
MANY = (
    "zone", "variation", "feed", "point", "use", "accept", "given", "limit", "note", "height", "pace", "spin", "stance",
    "time", "way",
    "timed", "counted", "rounds", "rest", "collect", "ownserves", "ladder", "for", "player", "body",
)  # fmt: skip
"""Sentences of which several may stand under one line: a ball has a height over the net and one at the player, and
bounds."""


class Offer(Frozen):
    """A text that may stand in the place of the characters [start, end)."""

    text: str
    sort: str
    start: int
    end: int
    detail: str = ""


def offers(script: Script, place: int, profiles: Profiles) -> tuple[Offer, ...]:
    """What may be written at a place. Each takes the place of the word that stands half written before it; whether the
    rest of the line fits is for whoever writes on."""
    text = script.source.text
    start = text.rfind("\n", 0, place) + 1
    row = text[start:place]
    sentence = row.lstrip(" \t")
    if _closed(sentence):
        return ()
    indent = len(row) - len(sentence)
    over, beside = _around(script, start, indent)
    found: dict[str, Offer] = {}
    for cut in _cuts(sentence):
        before, half = sentence[:cut], sentence[cut:]
        if (may := _following(before)) is None:
            continue
        begin = start + indent + cut
        for offer, sort, detail in _candidates(may, over, beside, script, profiles, whole=cut == _last(sentence)):
            if " ".join(half.split()) == " ".join(offer.split()[: len(half.split())])[: len(" ".join(half.split()))]:
                found.setdefault(offer, Offer(offer, sort, begin, place, detail))
    if all(offer.text == text[offer.start : place] for offer in found.values()):
        return ()  # it stands there already
    return tuple(sorted(found.values(), key=lambda offer: (SORTS.index(offer.sort) == 0, offer.start)))


def _following(before: str) -> Expected | None:
    """What may follow these words; behind a comma also the words that take it along, as `, until` does."""
    may, head = expected(before), before.rstrip(" \t")
    ahead = expected(head[:-1]) if head.endswith(",") else None
    along = ahead.terminals & TAKE_A_COMMA if ahead else frozenset()
    if ahead is None or not along:
        return may
    return Expected((may or ahead).words, along | (may.terminals if may else frozenset()))


def _closed(sentence: str) -> bool:
    """Is the place inside a title or behind a comment's sign?"""
    quoted = False
    for sign in sentence:
        if sign == "#" and not quoted:
            return True
        quoted ^= sign == '"'
    return quoted


def _last(sentence: str) -> int:
    """Where the half written word begins."""
    match = _TAIL.search(sentence)
    return match.start() if match else len(sentence)


def _cuts(sentence: str) -> Iterator[int]:
    """Where a word that is still being written may have begun: the last words may be those of one keyword."""
    cut = _last(sentence)
    yield cut
    for _ in range(MOST_WORDS - 1):
        before = sentence[:cut].rstrip(" \t")
        if not before or before[-1] == ",":
            return
        cut = _last(before)
        yield cut


def _around(script: Script, start: int, indent: int) -> tuple[Line | None, tuple[str, ...]]:
    """The line under which a line with this indentation stands, None at the margin, and the kinds of the lines beside
    it."""
    if not indent:
        return None, tuple(line.kind for line in script.tree.lines if line.span.start != start)
    over = None
    for line in lines_of(script.tree):
        if line.place is None or line.span.start >= start:
            break
        if line.sentence and len(line.indent or "") < indent:
            over = line
        elif over and len(line.indent or "") <= len(over.indent or ""):
            over = None
    if over is None:
        return None, ()
    return over, tuple(child.kind for child in over.children if child.span.start != start + indent)


def _candidates(
    may: Expected, over: Line | None, beside: tuple[str, ...], script: Script, profiles: Profiles, whole: bool
) -> Iterator[tuple[str, str, str]]:
    """Text, sort and detail of everything that may follow. Without `whole`, only keywords of several words."""
    kinds = may.kinds
    if not kinds:
        under = terminals.UNDER.get(over.kind if over else "", ())
        free = [kind for kind in under if kind in MANY or kind not in beside]
        opening = [openings().get(kind, {kind.upper()}) for kind in free]  # `way` opens a bound, and no rule
        for terminal in dict.fromkeys(term for terms in opening for term in sorted(terms)):
            word = terminals.KEYWORDS.get(terminal)
            if (
                word
                and (whole or " " in word)
                and (terminal != "GIVEN" or "given" in free or _own(script, NameKind.AMOUNT))
            ):
                yield word, "word", ""
        return
    for terminal in sorted(may.terminals):
        word = terminals.KEYWORDS.get(terminal)
        if word and (whole or " " in word) and not (terminal == "GIVEN" and not _own(script, NameKind.AMOUNT)):
            yield word, "word", ""
    if not whole:
        return
    if "UNIT" in may.terminals:
        dimensions = _dimensions(kinds)
        for unit, known in units.UNITS.items():
            if known.dimension in dimensions:
                yield unit, "unit", known.dimension
    if "NAME" in may.terminals:
        for name, detail in _names(may, script, profiles):
            yield name, "name", detail


def _dimensions(kinds: tuple[str, ...]) -> frozenset[str]:
    """What the unit after these words may measure."""
    if kinds[0] == "NUMBER":  # a block: 3 min
        return frozenset({"time"})
    if kinds[0] == "REPLY" and "AT_LEAST" in kinds and "COMMA" not in kinds[kinds.index("AT_LEAST") :]:
        return frozenset({"length"})  # over the net
    comma = max((i for i, kind in enumerate(kinds) if kind == "COMMA"), default=0)
    ranged = {i for i, (one, two) in enumerate(pairwise(kinds), 1) if (one, two) == ("NUMBER", "TO")}
    nearest = [*range(len(kinds) - 1, comma - 1, -1), 0, *range(len(kinds) - 1, 0, -1)]
    last = next((kinds[i] for i in nearest if kinds[i] in _MEASURES and i not in ranged), "")
    return _MEASURES.get(last, frozenset(known.dimension for known in units.UNITS.values()))


_MEASURES = {
    **dict.fromkeys(("PACE", "WIND", "UP_TO"), frozenset({"speed"})),
    **dict.fromkeys(
        ("TIME", "INTERVAL", "LASTS", "REST", "COLLECT", "CHANGEOVER", "SERVES", "THEN"), frozenset({"time"})
    ),
    **dict.fromkeys(("TOPSPIN", "BACKSPIN", "SIDESPIN", "SPIN"), frozenset({"spin"})),
    **dict.fromkeys(
        ("CEILING", "BODY", "REACH", "SIDE", "DEPTH", "STANCE", "HEIGHT", "TO", "ALTITUDE", "FEEDER",
         "PLAYER", "ABOVE", "BELOW", "WHERE_IT_IS", "WAY", "STARTS"),
        frozenset({"length"}),
    ),
    "SCATTER": frozenset({"angle", "share"}),
    "AIR": frozenset({"temperature"}),
    "HUMIDITY": frozenset({"share"}),
    "REPLY": frozenset({"length", "speed"}),
}  # fmt: skip


_NAMED = {
    "AIMS": NameKind.VARIATION, "INTO": NameKind.ZONE, **dict.fromkeys(("LIKE", "LADDER", "SAME_AS"), NameKind.FEED)
}  # fmt: skip
"""Keywords after which a name of the script stands."""


def _names(may: Expected, script: Script, profiles: Profiles) -> Iterable[tuple[str, str]]:
    """The names that are known at such a place, each with a word on it; none where a new name is made."""
    opening, last = may.kinds[0], may.kinds[-1]
    if last == "GIVEN":
        return () if len(may.kinds) == 1 else _own(script, NameKind.AMOUNT)
    if last in _NAMED:
        return _own(script, _NAMED[last])
    ends = ("COMMA", "THEN", "AND" if opening == "PLAYS" else "")  # what comes then is another ball
    if [kind for kind in may.kinds if kind in ("FOR", *ends)][-1:] == ["FOR"]:
        return _own(script, NameKind.PLAYER)
    match opening:
        case "COURT":
            return _plain(courts(False))
        case "SURFACE":
            return _plain(PACES if last == "PACE" else SURFACES)
        case "BALL":
            return _plain(("new", "worn", "pressurised", "pressureless"))
        case "PLAYER":
            return () if last == "CALLED" else _plain(LEVELS)
        case "BODY" if last == "BODY":
            return _own(script, NameKind.PLAYER) or _plain(BODY_SHARES)
        case "BODY":
            return _plain(BODY_SHARES)
        case "FEEDER" if last in ("MACHINE", "PERSON"):
            return _feeders(profiles, may.words[-1])
        case "FEEDER":
            return _plain(HANDS)
        case "AIR":
            return _plain(("left", "right", "behind", "ahead"))
        case "ACCEPT":
            return ((code, "") for code, of in MESSAGES.items() if of.severity is not Severity.ERROR)
        case "STROKE":
            return _plain(STROKES)
        case "SIDE" | "REPLY" if last == "NAME":
            return _plain(SIDES)
        case "SIDE":
            return _plain(HANDS if last in ("UNIT", "INSIDE") else (*HANDS, "middle"))
        case "REPLY" if last in ("UNIT", "INSIDE"):
            return _plain(HANDS)
        case "REPLY" if last == "TO":
            return _plain((*HANDS, "middle"))
        case "NUMBER" | "GIVEN":
            known = [*_own(script, NameKind.FEED), *_own(script, NameKind.POINT)]
            return [one for one in known if "AT_MOST" not in may.kinds or one[0] in may.words]
        case "PLAYS":
            return _own(script, NameKind.FEED)
        case "LADDER" if "UP_TO" not in may.kinds:
            return [one for one in _own(script, NameKind.FEED) if one[0] not in may.words]
        case "SCORE":
            return [*_own(script, NameKind.FEED), *_own(script, NameKind.POINT), *_own(script, NameKind.VARIATION)]
        case "LIMIT" | "STANCE" if last in ("ABOVE", "BELOW", "NO_HIGHER_THAN", "NO_LOWER_THAN", "WHERE_IT_IS"):
            return _plain(BODY_SHARES)
    if last in ("TOPSPIN", "BACKSPIN", "SIDESPIN"):
        return _plain(AMOUNTS)
    if opening == "HEIGHT" or "HEIGHT" in may.kinds:
        return _plain(BODY_SHARES)
    return (
        _plain((*DEPTHS, "anywhere") if opening == "DEPTH" else DEPTHS)
        if {"DEPTH", "STANCE", "REPLY"} & set(may.kinds)
        else ()
    )


def _plain(names: Iterable[str]) -> Iterable[tuple[str, str]]:
    return ((name, "") for name in names)


def _own(script: Script, kind: NameKind) -> list[tuple[str, str]]:
    return [(name.name, kind.value) for name in script.names if name.made and name.kind is kind]


def _feeders(profiles: Profiles, kind: str) -> Iterator[tuple[str, str]]:
    for name in profiles.names():
        try:
            feeder = profiles.load(name)
        except ProfileProblem:
            continue
        if feeder and feeder.kind == kind:
            yield name, feeder.title
