"""The practice as a whole: its length, its variety, and what the script never uses."""

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable
from math import ceil

import numpy as np

from ...grammar.edits import Remedy, amount, at_most, changed, counted, instead, launches, left_out
from ...grammar.edits import name as named
from ...grammar.facts import BallName, Names, Portion, Seconds
from ...grammar.finding import Finding, Hint, Severity
from ...grammar.frozen import replace
from ...grammar.messages import LikelySlip
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import (
    Across,
    Bounds,
    Counted,
    Cycle,
    Depth,
    For,
    FromCentre,
    FromLine,
    FromNet,
    FromSideline,
    Interval,
    Lateral,
    Place,
    Quantity,
    Row,
    Share,
    Side,
    Steps,
    Way,
    Within,
    keyword,
)
from ..early import fed, likely
from ..findings.goals import AllItsBalls, EasierReply, GoalFar, GoalLongerThanBlock, MoreBalls, OneBlock, ShorterStreak
from ..findings.names import AcceptUnused
from ..findings.practice import (
    AnotherBall,
    FeederInTheWay,
    FeedUnused,
    ManyAlike,
    MixUneven,
    NoScreen,
    SessionLength,
    SeveralSteps,
    VariationUnused,
)
from ..findings.session import PointUnused
from ..model.chance import chance_of_hits
from ..model.enough import SELDOM
from ..model.evaluation import Evaluation
from ..model.program import Feed, Hold, Play, Program, Range, Rounds, Variation
from ..model.schedule import Schedule
from ..model.shots import Shots
from ..remedy_reply import wider_targets
from ..solve import solve
from .ball import check_ball

LENGTH_TOLERANCE = 0.05
"""A session may be longer or shorter than it says by this share. Own choice."""
CLOCK_S = 0.5
"""Half of the smallest step of a clock that people read: a session that is told to last 30:00 lasts no longer."""

STEPS, MUCH_ALIKE_M = 5, 0.3  # steps to propose, if their contact heights differ by no more than this. Own choice
FAR, IN_REACH = 0.1, 0.5
"""A streak with less chance than the first in each block is reported; one with the second is proposed. Own choice."""
SHORTEST_STREAK = 2
MOST_BALLS = 200  # of a block that is proposed for a goal
MOST_REPLIES = 12  # balls to which the replies to a wider target are tried
MOST_ALIKE = 30
"""More equal balls in a row train that one ball, and leave the player nothing to choose. Own choice."""


def length(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is the session as long as it says?"""
    session = program.session
    if schedule is None or session is None or session.lasts is None:
        return []
    found = schedule.total
    if session.at_most:
        if found <= session.lasts + CLOCK_S:
            return []
        told = amount(ceil(found / 30) / 2, 1, "min")
    elif abs(found - session.lasts) <= LENGTH_TOLERANCE * session.lasts:
        return []
    else:
        told = _about(found)
    longer = (instead(session.sentence, changed(session.sentence, lasts=told)),) if session.sentence else ()
    refill = session.refill and session.refill.span
    collects = [block.end - block.start for block in schedule.blocks if block.added or block.span is refill]
    collecting = Seconds(sum(collects))
    message = SessionLength(Seconds(session.lasts), Seconds(found), len(collects), collecting, session.at_most)
    return [Finding(message, session.span, remedies=(*_with_the_serve(program), *longer))]


def _with_the_serve(program: Program) -> tuple[Remedy, ...]:
    """Intervals that run from serve to serve, in place of those from the ball to the serve of the next point."""
    found = dict[Interval, Remedy]()
    for point in program.points.values():
        feed = next((feed for feed in program.feeds.values() if feed.family == point.feeds[0]), None)
        said, left = feed and feed.said.get("interval"), feed.interval - (point.serve or 0.0) if feed else 0.0
        if point.serve and isinstance(said, Interval) and said.between is None and left > 0:
            found.setdefault(said, instead(said, changed(said, amount=amount(left, 2, "s"))))
    return tuple(found.values())


def _about(seconds: float) -> Quantity:
    """In half minutes, if that comes near enough."""
    halves = round(seconds / 30)
    near = abs(halves * 30 - seconds) <= LENGTH_TOLERANCE * halves * 30
    return amount(halves / 2, 1, "min") if near else amount(round(seconds), 0, "s")


def goals(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Has each goal, of a variation, a ladder or a block, some chance for each player in the block that gives it the
    most?"""
    found: dict[tuple[Span, str], GoalFar] = {}
    played: dict[GoalFar, Span] = {}
    longest: dict[str, int] = {}
    every: dict[str, int] = {}
    for block, feeds in zip(schedule.blocks, fed(program, schedule), strict=True) if schedule else ():
        if block.ladder and block.climb:
            most = (
                (block.ladder.most_sets or block.balls) * block.ladder.up.among
                if not block.ladder.down
                else block.balls
            )
            begin = block.ladder.start
            feeds = [program.feeds[balls[begin]] for balls in block.climb.order[: min(block.balls, most)]]
            goals = [(block.span, Hold(None, *block.ladder.up, in_sets=block.ladder.in_sets))]
        else:
            counts = Counter([feed.variation or "" for feed in feeds])
            aims = [variation for name in counts if (variation := program.variations.get(name))]
            goals = [(aim.span, Hold(aim.name, *aim.goal)) for aim in aims if aim.goal]
            for aim in aims:
                longest[aim.name] = max(longest.get(aim.name, 0), counts[aim.name])
                every[aim.name] = every.get(aim.name, 0) + counts[aim.name]
            own = [hold for hold in block.until if not (hold.variation or block.points or hold.counts == "misses")]
            goals += [(block.span, hold) for hold in own]
        players = dict.fromkeys([feed.player for feed in feeds])  # who take turns share a goal
        for span, goal in goals:
            if (one := likely(goal, feeds, evaluation)) is None:
                continue
            for player in players:
                before = found.get((span, player))
                if before is None or one.chance > before.chance:
                    figures = Portion(one.share), one.balls, Portion(one.chance)
                    message = GoalFar(BallName(one.first.name), goal.hits, goal.among, *figures, in_sets=goal.in_sets)
                    found[span, player], played[message] = message, block.span
    far = {m: span for (span, _), m in found.items() if m.chance < FAR and m.share >= SELDOM}
    beyond = [
        Finding(
            GoalLongerThanBlock(*aim.goal, balls),
            aim.span,
            hint=_all_its(aim, every[name]),
            remedies=_in_all(aim, every[name]),
        )
        for name, balls in longest.items()
        if (aim := program.variations[name]).goal and aim.goal.hits < aim.goal.among and balls < aim.goal.among
    ]
    return beyond + [Finding(m, span, hint=_as_one(program, m, played[m]) or nearer(m)) for m, span in far.items()]


def _all_its(aim: Variation, balls: int) -> Hint | None:
    """Where its goal counts among fewer balls than there are, but more than in any block."""
    return AllItsBalls(aim.goal.hits, balls) if aim.goal and aim.goal.among < balls else None


def _in_all(aim: Variation, balls: int) -> tuple[Remedy, ...]:
    """Its goal over all its balls, where it counts among as many."""
    said = aim.asked
    if said is None or aim.goal is None or aim.goal.among != balls:
        return ()
    return (instead(said, changed(said, in_all=keyword("IN_ALL"))),)


def _as_one(program: Program, message: GoalFar, block: Span) -> Hint | None:
    """One block for a line that rounds repeat, where the line has too few balls for the streak and all rounds together
    have enough."""
    items = program.session.items if program.session else ()
    for rounds in (item for item in items if isinstance(item, Rounds)):
        plays = [play for play in rounds.items if isinstance(play, Play)]
        if not any(play.span == block for play in plays):
            continue
        players = list(dict.fromkeys(who for play in plays for who in play.players))
        each = [
            _joined(rounds.count, plays, who if len(players) > 1 else "", program.called) for who in players or [""]
        ]
        if message.balls < message.streak <= min(balls for balls, _ in each):
            return OneBlock(Names(words for _, words in each))
    return None


def _joined(count: int, plays: list[Play], player: str, called: Callable[[str], str]) -> tuple[int, str]:
    """The blocks of all rounds as one, how many balls and its words; for one player where several play."""
    mine = [play for play in plays if not player or player in play.players]
    each = [Share(None, named(of)) for of in dict.fromkeys(called(name) for play in mine for _, name in play.shares)]
    balls = sum(count * (play.count or 0) // (len(play.players) if player else 1) for play in mine)
    order = Cycle(tuple(each)) if each[1:] else each[0]
    others = dict.fromkeys(who for play in mine for who in play.players)
    whom = For((named(player),)) if player else For(tuple(map(named, others))) if others else None
    return balls, f"`{text(Counted(counted(balls), launches('BALLS', balls), order, whom))}`"


def nearer(message: GoalFar) -> Hint:
    """The most hits that come in at least every other block."""
    streak = message.streak == message.among and not message.in_sets

    def goal(hits: int) -> tuple[int, int]:
        return hits, hits if streak else message.among

    def far(hits: int) -> bool:
        chance = chance_of_hits(*goal(hits), message.balls, message.share, message.in_sets)
        return chance**message.players < IN_REACH

    near = bisect_left(range(SHORTEST_STREAK, message.streak + 1), True, key=far)
    if near:
        return ShorterStreak(*goal(SHORTEST_STREAK + near - 1), message.over, message.in_sets, message.players > 1)
    if message.balls < message.streak:
        asked = range(message.among, MOST_BALLS)
        needed = bisect_left(
            asked, IN_REACH, key=lambda n: chance_of_hits(message.streak, message.among, n, message.share)
        )
        if needed < len(asked):
            return MoreBalls(asked[needed])
    return EasierReply()


def reachable(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with wider targets at which the streak comes in at least every other block, or if none is so wide,
    in every fourth, or often enough not to be reported."""

    def remedies(message: GoalFar) -> tuple[Remedy, ...]:
        variation = program.feeds[message.ball].variation
        balls = [name for name in shots.shots if program.feeds[name].variation == variation][:MOST_REPLIES]
        goal = message.streak, message.among, message.balls
        sets, players = message.in_sets, message.players
        shares = [
            bisect_left(range(100), chance, key=lambda one: chance_of_hits(*goal, one / 100, sets) ** players) / 100
            for chance in (IN_REACH, IN_REACH / 2, FAR)
        ]
        return wider_targets(program, shots, balls, shares)

    return [replace(f, remedies=remedies(f.message)) if isinstance(f.message, GoalFar) else f for f in found]


def unused(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is every feed of this script played, and does a feed aim at every variation? What comes from other scripts need
    not be used."""
    found = []
    aimed = {feed.variation for feed in program.feeds.values()}
    for variation in program.variations.values():
        if variation.name not in aimed and variation.span.source.name == program.source.name:
            found.append(Finding(VariationUnused(variation.name), variation.span))
    if schedule is not None:
        balls = [program.feeds[name] for block in schedule.blocks for name in block.feeds]
        played = {one.family for feed in balls for one in (feed, feed.same_as) if one}
        found += unplayed(program, [name for name in program.families if program.called(name) not in played])
        shares = {name for play in (program.session.plays if program.session else ()) for _, name in play.shares}
        for point in program.points.values():
            if point.name not in shares and point.span.source.name == program.source.name:
                found.append(Finding(PointUnused(point.name), point.span))
    return found


SAME = {FeederInTheWay.code: NoScreen.code, NoScreen.code: FeederInTheWay.code}
"""Cautions for one thing, of which a script may give either or both."""


def unplayed(program: Program, names: Iterable[str]) -> list[Finding]:
    """Of feeds that no block plays those of this script."""
    places = ((name, program.feeds[program.families[name][0]].span) for name in names)
    return [Finding(FeedUnused(name), span) for name, span in places if span.source.name == program.source.name]


def needless(program: Program, findings: Iterable[Finding]) -> list[Finding]:
    """Does each `accept` of this script switch something off? Asked of all findings, also those that are accepted, if
    none is an error: a ball that fails is asked no further questions."""
    codes = {finding.code for finding in findings}
    if not program.whole or any(finding.severity is Severity.ERROR for finding in findings):
        return []
    unused = {code: said for code, said in program.accepts.items() if code not in {*codes, AcceptUnused.code}}
    told = {code: LikelySlip(f"here it is told as {SAME[code]}") for code in unused if SAME.get(code) in codes}
    return [
        Finding(AcceptUnused(code), said.span, remedies=(left_out(said),), hint=told.get(code))
        for code, said in unused.items()
    ]


def shares(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Can the shares of a mix keep the limits on balls in a row?"""
    found = []
    for play in program.session.plays if program.session else ():
        for run in play.runs:
            weight = sum(play.shares[i][0] for i in run.shares)
            rest = sum(other for other, _ in play.shares) - weight
            most, limit = run.most * rest, run.limit
            if weight <= most:
                continue
            names = Names(program.called(play.shares[i][1]) for i in sorted(run.shares))
            message = MixUneven(names, weight, weight + rest, text(limit), most, most + rest)
            # One more than just enough, so that the order is not fixed.
            remedy = instead(limit, at_most(-(-weight // rest) + 1, limit.of))
            found.append(Finding(message, remedy.span, remedies=(remedy,)))
    return found


def alike(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Does the ball change now and then? One finding, at the first line that plays so many equal balls."""
    if schedule is None or not schedule.balls:
        return []
    blocks = schedule.blocks
    pauses = np.cumsum([block.kind in ("rest", "collect") for block in blocks])[schedule.block]
    climbing = np.array([block.ladder is not None for block in blocks])[schedule.block]
    new = np.r_[True, (np.diff(schedule.feed) != 0) | (np.diff(pauses) != 0) | climbing[1:] | climbing[:-1]]
    starts = np.flatnonzero(new)
    lengths = np.diff(np.r_[starts, schedule.balls])
    for start, balls in zip(starts[lengths > MOST_ALIKE], lengths[lengths > MOST_ALIKE], strict=True):
        first, last = (blocks[schedule.block[i]].span for i in (start, start + balls - 1))
        feed = program.feeds[schedule.feeds[schedule.feed[start]]]
        also = (("to here", last),) if last != first else ()
        return [Finding(ManyAlike(int(balls), feed.family), first, also)]
    return []


def varied(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with what would make the equal balls differ."""

    def hint(message: ManyAlike) -> Hint:
        return _variety(program, program.feeds[program.families[message.name][0]])

    return [replace(f, hint=hint(f.message)) if isinstance(f.message, ManyAlike) else f for f in found]


def _variety(program: Program, feed: Feed) -> Hint:
    """What would make its balls differ: a depth or side in several steps, if each step is possible, or another ball."""
    for line, zone in ((feed.said.get("depth"), feed.depth), (feed.said.get("side"), feed.side)):
        if zone and isinstance(line, Depth | Side) and _is_range(line.choices[0]) and line.kind not in feed.elements:
            varied = {}
            for i in range(STEPS):
                aimed = Range(zone.low, zone.high, zone.low + (zone.high - zone.low) * (i + 0.5) / STEPS)
                other = replace(feed, depth=aimed) if isinstance(line, Depth) else replace(feed, side=aimed)
                varied[f"{i}"] = replace(other, name=f"{i}")
            shots = solve(program, varied, explain=False).shots
            met = [shot.predicted.contact[2] for shot in shots.values()]
            if (
                len(shots) == STEPS
                and max(met) - min(met) <= MUCH_ALIKE_M
                and not any(
                    finding.severity is Severity.ERROR
                    for name, shot in shots.items()
                    for finding in check_ball(program, varied[name], shot)
                )
            ):
                several = changed(line, steps=Steps(counted(STEPS)))
                return SeveralSteps(text(several))
    return AnotherBall()


def _is_range(place: Place | Row | Way | Lateral) -> bool:
    match place:
        case FromLine(extent) | FromNet(extent) | FromSideline(extent) | FromCentre(extent):
            return isinstance(extent, Bounds)
    return isinstance(place, Across | Way | Within)
