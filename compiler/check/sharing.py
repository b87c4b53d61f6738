"""Several players: does each of them get balls in a block that is for all, and about as many of each kind?"""

from collections import Counter
from math import lcm

from ...grammar.edits import Remedy, changed, counted, instead, launches
from ...grammar.edits import name as named
from ...grammar.facts import BallName, Names, Portion
from ...grammar.finding import Finding
from ...grammar.source import Span
from ...grammar.syntax import Counted, For
from ..findings.player import NoBallFor, SharesApart
from ..model.evaluation import Evaluation
from ..model.program import Play, Program
from ..model.schedule import Schedule
from ..model.shots import Shots

APART = 0.15
"""Shares of a ball that differ by so much are told. Own choice."""


def sharing(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """One finding for each block that several play, all its rounds together."""
    every = program.rotation.every
    if schedule is None or not every:
        return []
    got: dict[Span, Counter[tuple[str, str]]] = {}
    for ball, block in zip(schedule.feed.tolist(), schedule.block.tolist(), strict=True):
        feed = program.feeds[schedule.feeds[ball]]
        got.setdefault(schedule.blocks[block].span, Counter())[feed.player, feed.family] += 1
    found = []
    for play in program.session.plays if program.session else ():
        balls = got.get(play.span)
        if balls and _in_turns(play) and not any(name in program.points for _, name in play.shares):
            finding = _left_out(play, every, balls) or _shares_apart(program, play, every, balls)
            found += [finding] if finding else []
    return found


def _in_turns(play: Play) -> bool:
    return len(play.players) > 1 and not play.whose


def _left_out(play: Play, every: int, balls: Counter[tuple[str, str]]) -> Finding | None:
    without = [player for player in play.players if not any(whose == player for whose, _ in balls)]
    if not without:
        return None
    message = NoBallFor(_words(play), Names(play.players), Names(without), every)
    return Finding(message, play.span, remedies=_for_each(play, every))


def _for_each(play: Play, every: int) -> tuple[Remedy, ...]:
    """A block for each player in place of the one for all, and one with balls enough for a turn each."""
    said, players = play.sentence, play.players
    if not isinstance(said, Counted) or play.count is None:
        return ()
    found = []
    if play.count % len(players) == 0 and not play.ends_early:
        each = counted(play.count // len(players))
        first, *more = (changed(said, number=each, whom=For((named(player),))) for player in players)
        found.append(instead(said, first, *more))
    enough = len(players) * every * max(1, round(play.count / (len(players) * every)))
    return (*found, instead(said, changed(said, number=counted(enough))))


def _shares_apart(program: Program, play: Play, every: int, balls: Counter[tuple[str, str]]) -> Finding | None:
    """The ball of a cycle of whose share in a player's balls most and least are farthest apart."""
    cycle = sum(weight for weight, _ in play.shares)
    if play.order != "cycle" or every % cycle == 0:
        return None
    total = {player: sum(n for (whose, _), n in balls.items() if whose == player) for player in play.players}
    worst = (0.0, "", "", "")
    for name in dict.fromkeys(program.called(name) for _, name in play.shares):
        share = {player: balls[player, name] / total[player] for player in play.players}
        most, least = max(play.players, key=share.__getitem__), min(play.players, key=share.__getitem__)
        worst = max(worst, (share[most] - share[least], name, most, least))
    apart, name, most, least = worst
    if apart < APART - 1e-9:
        return None
    shares = (Portion(balls[player, name] / total[player]) for player in (most, least))
    figures = most, next(shares), least, next(shares)
    message = SharesApart(_words(play), BallName(name), *figures, every, cycle)
    turns, whole = program.rotation.sentence, _whole_turns(program, every)
    said = launches(turns.balls.kind if turns and turns.balls else "BALLS", whole)
    remedy = (instead(turns, changed(turns, every=counted(whole), balls=said)),) if turns else ()
    return Finding(message, play.span, remedies=remedy)


def _words(play: Play) -> str:
    return " ".join(play.words.split())


def _whole_turns(program: Program, every: int) -> int:
    """The turn nearest to this one that ends with every cycle that several share."""
    plays = program.session.plays if program.session else ()
    together = lcm(*(
        sum(weight for weight, _ in play.shares) for play in plays if play.order == "cycle" and _in_turns(play)
    ))  # fmt: skip
    return together * max(1, round(every / together))
