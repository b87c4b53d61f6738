"""The score of a block or of rounds: where it begins, what hits and misses add, what ends it and what it should be."""

from collections.abc import Iterable
from typing import TypeVar

from ...grammar import syntax as s
from ...grammar.edits import changed, instead, left_out
from ...grammar.edits import name as word
from ...grammar.facts import Names
from ...grammar.frozen import replace
from ...grammar.mistakes import near_names
from ...grammar.syntax import Line, sentences
from ..findings.names import Duplicate
from ..findings.scores import ScoreAtStart, ScoreDown, ScoreOfNone, ScoreOfRounds, ScoreOneWay, ScoreOutside
from ..model.program import Item, Pause, Play, Point, Rounds, Score
from .amounts import Rejected, count
from .members import Family
from .turns import Known

T = TypeVar("T", bound=s.Sentence)


def scored(line: Line) -> bool:
    """Whether a line under it says that there is a score."""
    return any(isinstance(child.sentence, s.Score | s.ScoreGoal) for child in line.children)


def score_under(line: Line, items: Iterable[Item], known: Known) -> Score | None:
    """The score of what stands under a line, or of a block that ends at one; None where nothing says one. Where only
    the end or the goal is said, hits are counted from 0."""
    asked, said = _only(line, s.ScoreGoal), _only(line, s.Score)
    plays = list(_plays(items))
    ended = () if isinstance(line.sentence, s.Rounds) else plays
    until = next((play.score.until for play in ended if play.score), None)
    if not (asked or said or until):
        return None
    if known.scored:
        own = said or asked
        raise Rejected(ScoreOfRounds(), (own or until or line).span, remedies=(left_out(own),) if own else ())
    score = _rules(said, _names(plays, known)) if said else Score()
    each = bool((until and until.each) or (asked and asked.each))
    score = replace(score, until=until, asked=asked, goal=count(asked.number, "score") if asked else None, each=each)
    return replace(score, ends=_ends(score, until)) if until else score


def _only(line: Line, kind: type[T]) -> T | None:
    found = [sentence for _, sentence in sentences(line.children, kind)]
    if found[1:]:
        raise Rejected(Duplicate(found[1].opens), found[1].span, (("first here", found[0].span),))
    return found[0] if found else None


def _plays(items: Iterable[Item]) -> Iterable[Play]:
    for item in items:
        if isinstance(item, Rounds):
            yield from _plays(item.items)
        elif not isinstance(item, Pause):
            yield item


def _names(plays: Iterable[Play], known: Known) -> tuple[str, ...]:
    """What can have a number of its own: the feeds and points that are played, and the variations of the feeds."""
    names, aims = list[str](), list[str]()
    for name in (name for play in plays for _, name in play.shares):
        point = known.points.get(name)
        names.append(name)
        if isinstance(point, Point):
            continue
        family = known.feeds.get(name)
        aims += [ball.variation or "" for ball in family.members] if isinstance(family, Family) else []
    return tuple(dict.fromkeys([*names, *filter(None, aims)]))


def _rules(said: s.Score, names: tuple[str, ...]) -> Score:
    parts: dict[str, s.Worth] = {}
    for part in said.parts:
        key = part.what.text if part.what.kind in ("NAME", "TITLE") else f" {part.what.kind}"
        key += " MISSES" * bool(part.misses)
        if key in parts:
            raise Rejected(Duplicate(part.what.text), part.span, (("first here", parts[key].span),))
        parts[key] = part
        if part.what.kind == "NAME" and part.what.text not in names:
            raise _unknown(said, part, names)

    def number(kind: str, usual: int | None, what: str = "score") -> int | None:
        part = parts.get(f" {kind}")
        return count(part.number, what) if part else usual

    row, adds = parts.get(" IN_A_ROW"), "what a mark adds"
    bonus = number("IN_A_ROW", 0, adds) or 0
    named = [part for part in said.parts if part.what.kind == "NAME"]
    results = [part for part in said.parts if part.what.kind == "TITLE"]
    score = Score(
        start=number("FROM", 0) or 0,
        hit=number("HIT", 0 if results else 1, adds) or 0,
        miss=number("MISSES", 0, adds) or 0,
        named=tuple((part.what.text, count(part.number, adds)) for part in named if not part.misses),
        missed=tuple((part.what.text, count(part.number, adds)) for part in named if part.misses),
        results=tuple((part.what.unquoted, count(part.number, adds)) for part in results),
        row=count(row.row, "goal") if row and row.row and bonus else None,
        bonus=bonus,
        least=number("AT_LEAST", None),
        most=number("AT_MOST", None),
        sentence=said,
    )
    for bound, kind in ((score.least, "AT_LEAST"), (score.most, "AT_MOST")):
        if bound is not None and (score.start < bound if kind == "AT_LEAST" else score.start > bound):
            part = parts[f" {kind}"]
            raise Rejected(ScoreOutside(score.start, part.what.text, bound), part.span)
    return score


def _unknown(said: s.Score, part: s.Worth, names: tuple[str, ...]) -> Rejected:
    near = near_names(part.what.text, list(names))
    others = tuple(one for one in said.parts if one is not part)
    remedies = tuple(instead(part, changed(part, what=word(name))) for name in near)
    if not near and others:
        remedies = (instead(said, changed(said, parts=others)),)
    return Rejected(ScoreOfNone(Names(near), part.what.text, Names(names)), part.what.span, remedies=remedies)


def _ends(score: Score, until: s.Until) -> tuple[int, ...]:
    ends = tuple(count(end, "score") for end in until.ends)
    if score.start in ends:
        down = ScoreDown() if score.sentence is None or score.start == 0 else None
        raise Rejected(ScoreAtStart(score.start), until.span, hint=down)
    if len({end > score.start for end in ends}) < len(ends):
        near = min(range(len(ends)), key=lambda n: abs(ends[n] - score.start))
        one = instead(until, changed(until, ends=(until.ends[near],)))
        raise Rejected(ScoreOneWay(score.start, ends[near], ends[1 - near]), until.span, remedies=(one,))
    return ends
