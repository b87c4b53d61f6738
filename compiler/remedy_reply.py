"""The nearest possible reply: one wish or the stance moved, and tried before it is proposed."""

import math
from bisect import bisect_left
from collections.abc import Sequence

from ..grammar.edits import Remedy, amount, appended, counted, instead
from ..grammar.frozen import replace
from ..grammar.source import Span
from ..grammar.syntax import Bounds, Clearance, FromLine, Into, OneOf, PaceWithin, Spins, Topspin, Wish, Word, keyword
from ..grammar.units import KMH, RPM
from .evaluate import likely_replies
from .model.court import Court
from .model.player import Player
from .model.program import Program, Range, Reply
from .model.shots import Shots
from .solve import solve
from .variants import shifted_stances

TOPSPINS = 10
SPIN_STEP, PACE_STEP = 300.0, 5.0  # rpm, km/h
CLEARANCE_STEP = 0.25  # m
TARGET_STEP = 0.5  # m
SLOWEST = 30.0  # km/h
OFF = 0.08  # how far an estimate may be from the share: what just passes could fail when it is tried

Trial = tuple[tuple[str, str], Reply, Remedy, tuple[float, float, float]]
"""A ball and what is changed for it, the reply that is then asked, the change, and where the ball is met."""
Least = dict[tuple[Span, str], float]
"""Of each change, by its place and text, the share of good replies to the ball that has fewest."""


def reply_remedies(program: Program, shots: Shots, names: list[str], enough: float) -> dict[str, tuple[Remedy, ...]]:
    """For each ball the smallest change of one thing that makes a share of `enough` of the replies to it good."""
    asked = _asked(program, shots, names)
    return _smallest(asked, _least(program, asked, names), names, enough)


def wider_targets(program: Program, shots: Shots, names: list[str], shares: Sequence[float]) -> tuple[Remedy, ...]:
    """The smallest target farther towards the net that is enough for all of some balls of a variation, at the first of
    these shares for which there is one. A wider target is no harder, so the widest is tried first, then halves."""
    asked = _asked(program, shots, names, only_targets=True)
    widths = len(asked) // len(names)  # the balls are those of one variation, so each has the same targets
    tried: dict[int, float] = {}

    def least(width: int) -> float:
        if width not in tried:
            tried[width] = min(_least(program, asked[width::widths], names).values())
        return tried[width]

    for enough in shares if widths else ():
        if least(widths - 1) >= enough + OFF:
            smallest = bisect_left(range(widths - 1), True, key=lambda width: least(width) >= enough + OFF)
            return (asked[smallest][2],)
    return ()


def _asked(program: Program, shots: Shots, names: list[str], only_targets: bool = False) -> list[Trial]:
    asked: list[Trial] = []
    for name in names:
        reply = program.reply_to(program.feeds[name])
        assert reply
        contact = shots.shots[name].predicted.contact
        player = program.seen_by(program.feeds[name].player).player
        asked += [((name, "target"), altered, remedy, contact) for altered, remedy in _targets(program.court, reply)]
        if only_targets:
            continue
        asked += [((name, "spin"), altered, remedy, contact) for altered, remedy in _topspins(reply)]
        asked += [((name, "over_net"), altered, remedy, contact) for altered, remedy in _clearances(reply)]
        asked += [((name, "under"), altered, remedy, contact) for altered, remedy in _unders(reply)]
        asked += [((name, "pace"), altered, remedy, contact) for altered, remedy in _paces(player, reply)]
        asked += [((name, "stance"), reply, remedy, spot) for remedy, spot in _stances(program, name)]
    return asked


def _least(program: Program, asked: list[Trial], names: list[str]) -> Least:
    least: Least = {}
    for whose in dict.fromkeys(program.feeds[name].player for name in names):
        mine = [one for one in asked if program.feeds[one[0][0]].player == whose]
        shares = likely_replies(program.seen_by(whose), [(contact, reply) for _, reply, _, contact in mine])
        for (_, _, remedy, _), share in zip(mine, shares, strict=True):
            least[remedy.span, remedy.text] = min(share, least.get((remedy.span, remedy.text), share))
    return least


def _smallest(asked: list[Trial], least: Least, names: list[str], enough: float) -> dict[str, tuple[Remedy, ...]]:
    found: dict[tuple[str, str], Remedy] = {}
    for key, _, remedy, _ in asked:  # a line of a variation has to suit all its balls
        if least[remedy.span, remedy.text] >= enough + OFF:
            found.setdefault(key, remedy)
    return {name: tuple(remedy for (of, _), remedy in found.items() if of == name) for name in names}


def _targets(court: Court, reply: Reply) -> list[tuple[Reply, Remedy]]:
    """The far part of the court, farther and farther towards the net, as far as just over the service line."""
    old = reply.wishes.get("y")
    if reply.y is None or old is None or isinstance(old, Into | OneOf):
        return []
    base = court.half_length
    far = max(base + reply.y.low, 0.0)
    steps = range(math.floor((base + reply.y.high) / TARGET_STEP + 1e-6) + 1, 40)
    found = []
    for near in (step * TARGET_STEP for step in steps if step * TARGET_STEP <= base - court.service + TARGET_STEP):
        extent = Bounds(counted(far, 2), counted(near, 2), Word("UNIT", "m"))
        said = FromLine(extent, keyword("INSIDE"), keyword("BASELINE"))
        middle = (far + near) / 2 - base
        found.append((replace(reply, y=Range(far - base, near - base, middle)), instead(old, said)))
    return found


def _topspins(reply: Reply) -> list[tuple[Reply, Remedy]]:
    now = math.floor((reply.topspin or 0.0) / RPM / SPIN_STEP) * SPIN_STEP
    values = [now + SPIN_STEP * (i + 1) for i in range(TOPSPINS) if 0 < now + SPIN_STEP * (i + 1) <= 3000]
    return [
        (replace(reply, topspin=v * RPM, sidespin=None), _said(reply, "spin", Spins((Topspin(amount(v, 0, "rpm")),))))
        for v in values
    ]


def _clearances(reply: Reply) -> list[tuple[Reply, Remedy]]:
    """Lower over the net, down to where every reply clears it anyway."""
    now = math.ceil((reply.over_net or 0.0) / CLEARANCE_STEP) * CLEARANCE_STEP
    values = [now - CLEARANCE_STEP * (i + 1) for i in range(40) if now - CLEARANCE_STEP * (i + 1) > 0.1]
    return [(replace(reply, over_net=v), _said(reply, "over_net", _over("AT_LEAST", v))) for v in values]


def _unders(reply: Reply) -> list[tuple[Reply, Remedy]]:
    """Higher over the net, where it may be only so high."""
    if reply.under is None:
        return []
    now = math.floor(reply.under / CLEARANCE_STEP) * CLEARANCE_STEP
    values = [now + CLEARANCE_STEP * (i + 1) for i in range(12)]
    return [(replace(reply, under=v), _said(reply, "under", _over("AT_MOST", v))) for v in values]


def _over(way: str, metres: float) -> Clearance:
    return Clearance(keyword(way), amount(metres, 2, "m"), keyword("OVER_NET"))


def _paces(player: Player, reply: Reply) -> list[tuple[Reply, Remedy]]:
    least = reply.slowest if isinstance(reply.wishes.get("slowest"), PaceWithin) else None
    asked = least if reply.pace is None else reply.pace
    if asked is None:
        return []
    now = math.ceil(min(asked, player.reply_limit or math.inf) / KMH / PACE_STEP) * PACE_STEP
    found = []
    for value in (now - PACE_STEP * (i + 1) for i in range(24) if now - PACE_STEP * (i + 1) >= SLOWEST):
        said = amount(value, 0, "km/h")
        if reply.pace is None:
            wish = PaceWithin(keyword("AT_LEAST"), said)
            found.append((replace(reply, slowest=value * KMH), _said(reply, "slowest", wish)))
        else:
            found.append((replace(reply, pace=value * KMH), _said(reply, "pace", said)))
    return found


def _said(reply: Reply, what: str, wish: Wish) -> Remedy:
    """Replaces the wish, or adds it at the end of the reply's line."""
    old = reply.wishes.get(what)
    return instead(old, wish) if old else appended(reply.sentence, wish)


def _stances(program: Program, name: str) -> list[tuple[Remedy, tuple[float, float, float]]]:
    """Deeper stances, each with the place where the player then meets the ball."""
    trials = shifted_stances(program, program.feeds[name])
    shots = solve(program, {feed.name: feed for feed, _ in trials}, explain=False).shots
    return [
        (remedy, shots[feed.name].predicted.contact)
        for feed, remedy in trials
        if feed.name in shots and shots[feed.name].predicted.contact[2] >= program.ball.radius_m
    ]
