"""What ends a block before its last ball: a game, hits, misses, goals or a score."""

from collections import defaultdict
from collections.abc import Iterable

from ...grammar import syntax as s
from ...grammar.edits import Edit, changed, instead
from ...grammar.edits import name as word
from ...grammar.facts import BallName, Names
from ...grammar.frozen import replace
from ...grammar.syntax import Line, sentences
from ..findings.names import Duplicate
from ..findings.scores import RecordOfNone, RecordTooFar
from ..findings.session import CountedAs, GameInstead, GameOfBalls, GameTooFar, UntilNoGoal, UntilOfPoints, UntilTooFar
from ..findings.turns import OneByMarks
from ..model.program import Goal, Hold, Play, Point, Score
from .amounts import Rejected, count, hits_among
from .goals import ends_nothing
from .ladders import whole_sets
from .members import Family
from .turns import Known


def first_to(line: Line, play: Play, of_points: bool) -> int | None:
    """The points that end a block, if a line under it says so."""
    said = [child.sentence for child in line.children if isinstance(child.sentence, s.Game)]
    if not said:
        return None
    if said[1:]:
        raise Rejected(Duplicate("first to"), said[1].span, (("first here", said[0].span),))
    number = count(said[0].number, "points to win")
    if not of_points:
        raise Rejected(GameOfBalls(), said[0].span)
    if number > (play.count or 0):
        raise Rejected(GameTooFar(number, play.count or 0), said[0].span)
    return number


def ended(line: Line, play: Play, until: s.Until | None, known: Known) -> Play:
    """A block, with what ends it early if its line or one under it says so."""
    under = [sentence for _, sentence in sentences(line.children, s.Until)]
    said = [until, *under] if until else under
    if not said:
        return play
    until = said[0]
    if said[1:]:
        raise Rejected(Duplicate("until"), said[1].span, (("first here", until.span),))
    if under:
        play = replace(play, words=f"{play.words}, {until.span.text}")
    if play.first_to:
        game = next(child.span for child in line.children if isinstance(child.sentence, s.Game))
        raise Rejected(Duplicate("what ends the block"), until.span, (("by a game", game),))
    if until.hits is None and not until.ends and any(name in known.points for _, name in play.shares):
        most_of_them = GameInstead(play.count // 2 + 1) if play.count else None
        raise Rejected(UntilOfPoints(), until.span, hint=most_of_them)
    if len(play.players) > 1 and not until.each and not together(play.shares, known):
        raise Rejected(OneByMarks(Names(play.players)), until.span, remedies=() if under else _one_by_one(play))
    if until.ends:
        return replace(play, score=Score(until=until))
    return replace(play, until=_goals(play, until, known) if until.hits is None else (_hold(play, until, known),))


def record(line: Line, play: Play, known: Known) -> Play:
    """A block with the record to beat, if a line under it says one: it ends early, in one way."""
    said = [sentence for _, sentence in sentences(line.children, s.ToBeat)]
    if not said:
        return play
    if said[1:]:
        raise Rejected(Duplicate("record"), said[1].span, (("first here", said[0].span),))
    one, points = said[0], [name for _, name in play.shares if name in known.points]
    if (one.balls.kind == "POINTS") != bool(points):
        raise Rejected(CountedAs(*((points[0], True) if points else (play.shares[0][1], False))), one.balls.span)
    number, ends = count(one.number, "balls"), play.score.ends if play.score else ()
    if play.first_to or len(ends) + len(play.until) != 1:
        raise Rejected(RecordOfNone(), one.span)
    longer = any(end < play.score.start for end in ends) if play.score else play.until[0].counts == "misses"
    if play.count and number >= play.count + (not longer):
        raise Rejected(RecordTooFar(number, play.count, bool(points), longer), one.span)
    return replace(play, record=number)


def together(shares: Iterable[tuple[int, str]], known: Known) -> bool:
    """Whether several win or lose together all that a block plays: points that say whose each ball is."""
    return all(isinstance(point := known.points.get(name), Point) and point.whose for _, name in shares)


def _one_by_one(play: Play) -> tuple[Edit, ...]:
    """The block once for each of its players."""
    said = play.sentence
    if not isinstance(said, s.Timed | s.Counted):
        return ()
    first, *others = (changed(said, whom=s.For((word(player),))) for player in play.players)
    return (instead(said, first, *others),)


def _hold(play: Play, until: s.Until, known: Known) -> Hold:
    """So many good replies, or misses, whichever balls of the block they answer."""
    assert until.hits is not None
    misses = until.misses is not None
    goal = hits_among(until.hits, until.among, misses)
    if until.every and play.count and isinstance(play.sentence, s.Counted):
        whole_sets(play.sentence, play.sentence.number, play.count, goal.among)
    if play.count and goal.hits > play.count:
        points = any(name in known.points for _, name in play.shares)
        raise Rejected(UntilTooFar(goal.hits, play.count, points, misses), until.span)
    return Hold(None, *goal, "misses" if misses else "hits", until.every is not None)


def _goals(play: Play, until: s.Until, known: Known) -> tuple[Hold, ...]:
    """The goal of each variation at which balls of the block aim and that has one."""
    goals = known.readers[play.players[0] if play.players else next(iter(known.readers))].goals
    aims, whole = defaultdict[str, float](float), sum(number for number, _ in play.shares)
    for number, name in play.shares:
        members = family.members if isinstance(family := known.feeds[name], Family) else ()
        for ball in members:
            aims[ball.variation or ""] += (play.count or 0) * number / (whole * len(members))
    aims.pop("", None)
    if wrong := ends_nothing(goals, {name: int(balls + 1e-9) for name, balls in aims.items()}, play, until):
        raise wrong
    found = {name: Hold(name, *goal) for name in aims if isinstance(goal := goals.get(name), Goal)}
    if not found and not all(name in goals for name in aims):
        return ()  # what could not be read may be the goal
    if not found:
        raise Rejected(UntilNoGoal(BallName(play.shares[0][1])), until.span)
    if (needed := sum(hold.hits for hold in found.values())) > (play.count or needed):
        raise Rejected(UntilTooFar(needed, play.count or 0), until.span)
    return tuple(found.values())
