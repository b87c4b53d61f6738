"""Whether the player is safe and can get there: time to see and to move, and the way from ball to ball."""

from math import inf

import numpy as np
from numpy.typing import NDArray

from ...grammar.edits import Remedy, amount, appended, below, changed, instead
from ...grammar.facts import BallName, Metres, Seconds, Speed
from ...grammar.finding import Finding
from ...grammar.syntax import (
    Changeover,
    Interval,
    OnCentre,
    Rotation,
    Serves,
    Starts,
    keyword,
)
from ..findings.player import (
    ChangeoverShort,
    FarToRun,
    FastForLevel,
    MetFartherOut,
    NotFromTheMiddle,
    NoTimeAfterServe,
    NoTimeToSee,
    RunRound,
)
from ..model.evaluation import Evaluation
from ..model.player import USUAL_PACES, stroke
from ..model.program import Best, Feed, FixedBy, Program
from ..model.schedule import Indices, Schedule, Times
from ..model.shots import Shots
from ..model.way import gone
from ..moves import (
    RECOGNISED_S,
    RUN_M,
    RUN_MPS,
    STEP_M,
    STROKE_S,
    as_far,
    from_start,
    mover,
    reached,
    recognised,
    surprising,
)
from ..variants import STEPS, placed, shifted
from .figures import fixing_line, place, rounded_up
from .met import sooner

SERVED_S = 0.7
"""From striking a serve until the server has landed and stands ready at the baseline. Own choice."""
CHANGE_S = 5.0  # from the last ball of one player to the first of the next, own choice
OUTWARD_M = 0.5  # so little farther out than it lands, a ball is met where its zone lets one think. Own choice
LEAST_TIME = (Best(FixedBy.PACE, 1), Best(FixedBy.TIME, -1))
"""What leaves the player as little time as can be."""
NEARER_STEPS = 6
"""By how many steps of a stance it is moved at most for who runs far: 1.5 m, since a ball met farther away is another
one. Own choice."""
BESIDE_M = 2.0
"""Two players whose balls come farther from each other than this have room to play at once. Own choice."""


def meets(program: Program) -> float:
    """The fastest ball that this player usually meets, as it leaves, m/s; infinite if nothing says so. It leaves a
    smaller player as much more time as recognising it and a run for one stroke take longer than for an adult: own
    choice."""
    player = program.player
    usual = USUAL_PACES.get(player.level or "", inf)
    if player.two_bounces:
        return usual
    adult = RECOGNISED_S + RUN_M / RUN_MPS
    return usual * adult / (recognised(program.court.name) + mover(program).time(RUN_M))


def reaction(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is there time to see what comes, to get there and to strike? The player waits in the middle of all that may come
    in the same block, and takes the ball with the stroke of the side on which it passes. Which ball comes is to be
    recognised only where the player does not know it. A line may say where the player starts; without one, is the ball
    that is to be as fast as can be out of reach from the middle of the court?"""
    # Two who are on the court together have half of it each; who feeds from the player's side says where the player is.
    apart = len(program.players) < 2 or program.rotation.sentence is not None
    found, waits, unknown = [], _waits(program, shots, schedule), surprising(program)
    for name, shot in shots.shots.items():
        feed = program.feeds[name]
        alone = apart and not program.place_of(feed).players_side
        seen, (x, y, _), known = program.seen_by(feed.player), shot.predicted.contact, name not in unknown
        waiting = [reached(seen, x - wait, asked=feed.stroke) for wait in waits.get(name, ())]
        move = from_start(seen, feed, x, y) if feed.start else max(waiting, default=STROKE_S)
        see, time = recognised(program.court.name, known), shot.predicted.contact_time
        hurried = alone and feed.best in LEAST_TIME and not feed.start
        # The fastest ball is then the fastest that leaves the time for that way.
        centre = (below(feed.line, Starts((OnCentre(keyword("CENTRE")),))),) if hurried else ()
        if time < see + move:
            message = NoTimeToSee(BallName(name), Seconds(time), Seconds(see), Seconds(move), known)
            found.append(Finding(message, place(feed, "starts", "stance"), remedies=centre))
        elif hurried and waiting and time < see + (middle := reached(seen, x, asked=feed.stroke)):
            late = NotFromTheMiddle(BallName(name), Seconds(time), Seconds(see), Seconds(middle), known)
            found.append(Finding(late, place(feed, "pace", "time"), remedies=centre))
    return found


def outward(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is a ball whose way matters met much farther out than it lands?"""
    found = []
    for name in evaluation.scatterings:  # a ball that fails goes elsewhere
        feed, flown = program.feeds[name], shots.shots[name].predicted
        way = gone(feed.wait, flown.contact)
        if way is None or flown.landing is None:
            continue
        lands, met = abs(flown.landing[0]), abs(flown.contact[0])
        if met - lands > OUTWARD_M:
            message = MetFartherOut(BallName(name), Metres(lands), Metres(met), Metres(way))
            found.append(Finding(message, place(feed, "side", "into")))
    return found


def round_it(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Does a ball come to the other side than that of the stroke that is asked, of where a line says that the player
    waits, or of the centre?"""
    found = []
    for name in evaluation.scatterings:
        feed, met = program.feeds[name], shots.shots[name].predicted.contact
        player = program.seen_by(feed.player).player
        waits = feed.wait.x if feed.wait else 0.0
        aside = met[0] - waits
        other = stroke(player.hand, player.stature, waits, met)
        if feed.stroke and other and other != feed.stroke:
            way = Metres(player.beside(aside, feed.stroke))
            message = RunRound(BallName(name), feed.stroke, other, feed.wait is not None, way)
            found.append(Finding(message, place(feed, "stroke")))
    return found


def pace(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is a ball whose pace no line says faster than a player of this level and stature usually meets?"""
    found = []
    for name, shot in shots.shots.items():
        feed = program.feeds[name]
        seen = program.seen_by(feed.player)
        level, usual, stature = seen.player.level, meets(seen), seen.player.stature_on(seen.court.name)
        if level and shot.speed > usual and "pace" not in feed.said:
            small = Metres(stature) if usual < USUAL_PACES[level] else None
            message = FastForLevel(BallName(name), Speed(shot.speed), level, Speed(usual), small)
            found.append(Finding(message, fixing_line(feed)))
    return found


def after_serve(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Has the player recovered from the serve when the first ball comes, and got there from the middle of the
    baseline?"""
    found = []
    versions = {(ball, version) for (ball, _), version in program.versions.items()}
    for point in program.points.values():
        if point.serve is None or point.serves is None:
            continue
        members = program.members(point.feeds[0])
        for name in dict.fromkeys(version for ball, version in versions if ball in members):
            player = program.feeds[name].player
            if name not in shots.shots or (point.whose and point.whose[0] != player):
                continue
            seen = program.seen_by(player)
            moves = mover(seen, dash=True)
            flown = shots.shots[name].predicted
            aside = seen.player.beside(flown.contact[0], program.feeds[name].stroke)
            along = flown.contact[1] - program.court.half_length
            needed = SERVED_S + moves.time(as_far(seen, aside, along) - STEP_M) + STROKE_S
            time = point.serve + flown.contact_time
            if time < needed:
                message = NoTimeAfterServe(BallName(name), Seconds(time), Seconds(needed))
                longer = dict.fromkeys(rounded_up(point.serve + (needed - time) * more) for more in (1.0, 1.5))
                remedies = tuple(instead(point.serves, Serves(amount(delay, 1, "s"))) for delay in longer)
                found.append(Finding(message, point.serves.span, remedies=remedies))
    return found


def _waits(program: Program, shots: Shots, schedule: Schedule | None) -> dict[str, set[float]]:
    """Where the player waits for each ball, x in m: in the middle of what this player gets, once for each block that
    has it."""
    found: dict[str, set[float]] = {}
    for feeds in {block.feeds: None for block in schedule.blocks} if schedule else ():
        fed = [name for name in feeds if name in shots.shots]
        for player in dict.fromkeys(program.feeds[name].player for name in fed):
            met = {name: shots.shots[name].predicted.contact[0] for name in fed if program.feeds[name].player == player}
            middle = (min(met.values()) + max(met.values())) / 2
            for name in met:
                found.setdefault(name, set()).add(middle)
    return found


def running(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Can a player get from each ball to the next, by way of the middle, in the time between the contacts? Where a line
    says from where the player starts for the next, by its launch to that place: the rest of the way `reaction` asks.
    Where the next ball is another player's, nobody runs."""
    in_line, every = program.player.in_line > 1, program.player.rotate_every
    if schedule is None or shots.misses or schedule.balls < 2 or (in_line and not every):
        return []
    flown = [shots.shots[name].predicted for name in schedule.feeds]
    contact = np.array([p.contact_time for p in flown])
    seen = [program.seen_by(program.feeds[name].player) for name in schedule.feeds]
    fed = [program.feeds[name] for name in schedule.feeds]
    x = [_body(one, p.contact[0], feed.stroke) for one, p, feed in zip(seen, flown, fed, strict=True)]
    first, then, gaps, blocks = _pairs(schedule)
    time = gaps + contact[then] - contact[first]
    placed_ = np.array([feed.start is not None and feed.start[1] is not None for feed in fed])
    time -= np.where(placed_[then], contact[then], 0.0)
    pairs = list(zip(first.tolist(), then.tolist(), strict=True))
    y = [p.contact[1] for p in flown]
    ways = {
        (i, j): tuple(map(sum, zip(*_legs(seen[j], fed[j], (x[i], y[i]), (x[j], y[j])), strict=True)))
        for i, j in set(pairs)
    }
    way, needed = np.array([ways[pair] for pair in pairs]).T
    whose = np.array([schedule.players.index(player) for player in schedule.players])
    same = whose[first] == whose[then]
    if in_line and every:
        same[: schedule.balls - 1] &= ~_steps_up(schedule, every)
    late = np.flatnonzero((way > RUN_M) & (needed > time) & (first != then) & same)
    found, told = [], set()
    for i in late:
        pair = (int(first[i]), int(then[i]))
        if pair not in told:
            told.add(pair)
            before, after = (schedule.feeds[k] for k in pair)
            start = bool(placed_[then[i]])
            straight = _follows_in(program.feeds[after], *((x[k], y[k]) for k in pair))
            run = Metres(way[i]), Seconds(max(time[i], 0.0))
            message = FarToRun(BallName(before), BallName(after), *run, start, straight)
            block = schedule.blocks[blocks[i]].span
            feed = program.feeds[after]
            later = rounded_up(feed.interval + float(needed[i] - time[i]))
            to = float(time[i]), seen[pair[1]], (x[pair[0]], y[pair[0]]), (x[pair[1]], y[pair[1]])
            free = sooner(program.feeds[before])
            remedies = (*free, *(() if start else _on_the_way(program, feed, *to)), *_later(feed, later))
            found.append(Finding(message, place(feed, "interval"), (("in this block", block),), remedies))
    return found


def _pairs(schedule: Schedule) -> tuple[Indices, Indices, Times, Indices]:
    """Each ball and the next with the seconds between and the block, as they come, and then the others that may follow
    each other on a ladder whose rungs are feeds."""
    index = {name: i for i, name in enumerate(schedule.feeds)}
    more = [
        (index[a], index[b], room, i)
        for i, block in enumerate(schedule.blocks)
        if block.climb and block.ladder and not block.ladder.quantity
        for (a, b), room in block.climb.steps().items()
    ]
    first, then, room, blocks = zip(*more, strict=True) if more else ((), (), (), ())
    return (
        np.array([*schedule.feed[:-1], *first], np.intp), np.array([*schedule.feed[1:], *then], np.intp),
        np.array([*np.diff(schedule.at), *room]), np.array([*schedule.block[1:], *blocks], np.intp),
    )  # fmt: skip


def _legs(
    program: Program, feed: Feed, last: tuple[float, float], next_: tuple[float, float]
) -> tuple[tuple[float, float], ...]:
    """Each run from one contact towards the next, m, and how long it takes, s. The ready position is on the centre, or
    as far aside as a line says, and as deep as the ball before was met; a start with a depth of its own is the end."""
    moves, (x, y) = mover(program), last
    ready, deep = feed.start or (0.0, None)
    legs: tuple[tuple[float, float], ...]
    if _follows_in(feed, last, next_):
        legs = ((next_[0] - x, next_[1] - y),)
    else:
        legs = ((x - ready, 0.0), (next_[0] - ready, next_[1] - y)) if deep is None else ((x - ready, deep - y),)
    return tuple((float(np.hypot(*leg)), moves.time(as_far(program, *leg))) for leg in legs)


def _follows_in(feed: Feed, last: tuple[float, float], next_: tuple[float, float]) -> bool:
    """Whether the player comes straight to the net behind a ball, for one on the full. No source, common practice."""
    return feed.depth is None and feed.start is None and last[1] - next_[1] > RUN_M


def _steps_up(schedule: Schedule, every: int) -> NDArray[np.bool_]:
    """Before which launches, from the second on, the next of players in a line steps up: each block counts its balls,
    or points, anew."""
    fed = np.bincount(schedule.block, minlength=len(schedule.blocks)).tolist()
    steps = [
        i % every == 0 and not ball
        for block, balls in zip(schedule.blocks, fed, strict=True)
        for i, size in enumerate([len(point.feeds) for point in block.points] or [1] * balls)
        for ball in range(size)
    ]
    return np.array(steps[1:], bool)


def _later(feed: Feed, interval: float) -> tuple[Remedy, ...]:
    said = feed.said.get("interval")
    return (instead(said, changed(said, amount=amount(interval, 1, "s"))),) if isinstance(said, Interval) else ()


def _on_the_way(
    program: Program, feed: Feed, time: float, seen: Program, last: tuple[float, float], here: tuple[float, float]
) -> tuple[Remedy, ...]:
    """The stance nearest to the one asked to which the player gets in time, on the way from where the ball before is
    met, and those a step and two steps on."""
    way, (x, y) = last[1] - here[1], here
    if "stance" in feed.free:
        return ()
    nearer = [n for n in range(1, NEARER_STEPS + 1) if n * STEPS["stance"] <= abs(way)]
    by = {n: n if way > 0 else -n for n in nearer}
    legs = {n: _legs(seen, feed, last, (x, y + by[n] * STEPS["stance"])) for n in nearer}
    soon = [n for n in nearer if sum(takes for _, takes in legs[n]) <= time]
    moved = (shifted(program, feed, "stance", by[n]) for n in soon[:3])
    lines = (placed(feed, "stance", one.sentence) for one in moved if one)
    return tuple(line for line in lines if line)


def turns(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Have players who take turns the time to change over? One finding for all balls. Without names the turns are
    counted in each block anew. A changeover that is written is meant. Where no line says that they take turns, two who
    play in different places are on court together."""
    every, written = program.player.rotate_every, program.rotation.changeover or program.player.changeover
    if schedule is None or written or (len(program.players) < 2 and (program.player.in_line < 2 or not every)):
        return []
    gaps = np.diff(schedule.at)
    if every and not program.players:
        change = _steps_up(schedule, every) & (np.diff(schedule.block) == 0)
    else:
        whose = np.array([schedule.players.index(player) for player in schedule.players])[schedule.feed]
        change = whose[1:] != whose[:-1]
        if program.rotation.sentence is None:
            home = _homes(program, shots, schedule, whose)
            change &= np.hypot(*np.diff(home, axis=0).T) < BESIDE_M
    change &= gaps < CHANGE_S - 1e-6
    least: dict[str, float] = {}
    for i in np.flatnonzero(change):
        name = schedule.feeds[schedule.feed[i + 1]]
        least[name] = min(least.get(name, CHANGE_S), float(gaps[i]))
    said = program.rotation.sentence or program.player.sentence
    where, own = said.span if said else program.span, bool(program.players) and not program.rotation.sentence
    return [
        Finding(
            ChangeoverShort(BallName(name), Seconds(gap), Seconds(CHANGE_S), own), where, remedies=_changeover(program)
        )
        for name, gap in sorted(least.items(), key=lambda each: each[1])
    ]


def _homes(program: Program, shots: Shots, schedule: Schedule, whose: NDArray[np.intp]) -> NDArray[np.float64]:
    """For each launch the middle of where its player meets all the balls of the block, (n, 2) in m: partners may change
    places in the next one."""
    spots = np.array([_spot(program, shots, name) for name in schedule.feeds])[schedule.feed]
    _, stretch = np.unique(np.stack([whose, schedule.block]), axis=1, return_inverse=True)
    stretch = stretch.reshape(-1)
    balls = np.bincount(stretch)
    return np.stack([np.bincount(stretch, weights=along) / balls for along in spots.T], axis=1)[stretch]


def _spot(program: Program, shots: Shots, name: str) -> tuple[float, float]:
    """Where a ball is met, x and y in m; one without a launch, where the feed says."""
    feed, shot = program.feeds[name], shots.shots.get(name)
    return shot.predicted.contact[:2] if shot else (feed.side.aim, feed.stance)


def _changeover(program: Program) -> tuple[Remedy, ...]:
    """The line that says it with time enough."""
    turns, said, time = program.rotation.sentence, program.player.sentence, amount(CHANGE_S, 0, "s")
    if turns:
        return (instead(turns, changed(turns, changeover=time)),)
    if program.players:
        said = list(program.players.values())[-1].sentence
    if said is None:
        return ()
    return (instead(said, said, Rotation(changeover=time)) if program.players else appended(said, Changeover(time)),)


def _body(program: Program, x: float, asked: str) -> float:
    """Where the body stands beside the ball: a right-hander's forehand has the body on the ball's left, which is +x.
    Where none is asked, the stroke is the one on whose side of the middle the ball is met."""
    player = program.player
    forehand = asked == "forehand" if asked else x * player.forehand_x > 0
    side = player.forehand_x if forehand else -player.forehand_x
    return x - player.reach_at(side) * side
