"""Bounds: what a ball may be at most and at least, for one feed or for the whole script."""

from collections.abc import Iterable, Mapping
from math import inf

from ...grammar import syntax as s
from ...grammar.facts import read_in
from ...grammar.frozen import replace
from ...grammar.print import text
from ..findings.bounds import BoundsApart
from ..findings.feeds import HeightAtTop, HeightOverNet, SpinTwice
from ..model.program import Bound, Feed, FixedBy, Program, Range
from ..model.way import Wait
from ..moves import soonest, surprising
from ..reach import UNITS_SHOWN
from .amounts import Rejected, Rejections, quantity
from .options import height_of, stance_at
from .places import Ground
from .slots import of_another_kind

AWAY = {
    "OVER_NET": (FixedBy.OVER_NET, "height over net", HeightOverNet()),
    "AT_THE_TOP": (FixedBy.AT_TOP, "height at the top", HeightAtTop()),
}
"""Heights that are not those at the player, and what is said of one that is no distance."""
LEAST_M = 0.5  # between the lowest and the highest contact on the full, where one of them is free


def read_limits(said: Iterable[s.Limit], rejections: Rejections, ground: Ground) -> tuple[Bound, ...]:
    """The bounds of the whole script."""
    found = [rejections.read(lambda: _limit(limit, ground)) for limit in said]  # noqa: B023 - read at once
    return tuple(bound for bound in found if bound)


def _limit(node: s.Limit, ground: Ground) -> Bound:
    if isinstance(node.bound, s.Bound):
        what, value, upper = *_bar(node.bound, ground), node.bound.upper
    else:
        upper = node.bound.way.kind == "ABOVE"
        what, value = FixedBy.AT_PLAYER, height_of(node.bound.bar, ground)
    return Bound(what, *((-inf, value) if upper else (value, inf)), text(node), node)


def own_bounds(slots: Mapping[str, s.Sentence], ground: Ground) -> list[Bound]:
    """The bounds of one feed. Raises Rejected where one names another kind of spin than the line of the spin."""
    spin, found = slots.get("spin"), []
    for node in slots.values():
        if spin and of_another_kind(spin, node):
            raise Rejected(SpinTwice(), node.span, (("together with this", spin.span),))
        if isinstance(node, s.Bound):
            found.append(_read(node, ground))
    return found


def met_between(bounds: Iterable[Bound], ground: Ground) -> Range:
    """Between which heights a ball on the full is met that only bounds speak of, and the middle of them. Where one side
    is free, from the knee up to the top of the head, but half a metre at least: our own choice."""
    mine = [bound for bound in bounds if bound.what is FixedBy.AT_PLAYER]
    low, high = max((bound.low for bound in mine), default=-inf), min((bound.high for bound in mine), default=inf)
    player, court = ground.player, ground.court.name
    knee = player.height_on("knee", court) or player.lowest_on(court)
    low = max(min(knee, high - LEAST_M), 0.0) if low == -inf else low
    high = max(player.head_on(court), low + LEAST_M) if high == inf else high
    return Range(low, high, (low + high) / 2)


def with_waits(program: Program) -> dict[str, Feed]:
    """The balls, with where the player waits for them; those that ask for the best bounded by the time that a player
    needs who starts where a line says."""
    unknown = surprising(program)
    return {name: _waiting(program, feed, name not in unknown) for name, feed in program.feeds.items()}


def _waiting(program: Program, feed: Feed, known: bool) -> Feed:
    seen = program.seen_by(feed.player)
    if feed.same_as:
        feed = replace(feed, same_as=_waiting(program, feed.same_as, known))
    aims = program.variations.get(feed.variation or "")
    if not feed.stroke and aims and (asked := aims.stroke):
        words = {**feed.words, "stroke": asked.said}
        feed = replace(feed, stroke=asked.word.text, words=words, said={**feed.said, "stroke": asked})
    if feed.start or feed.ways:
        x, y = feed.start or (0.0, None)
        feed = replace(feed, wait=Wait(x, y, *seen.player.reaches(feed.stroke)))
    said = feed.said.get("starts")
    if feed.best and isinstance(said, s.Starts):
        bound = Bound(FixedBy.TIME, soonest(seen, feed, known), inf, text(said), said)
        feed = replace(feed, bounds=(*feed.bounds, bound))
    return feed


def _read(node: s.Bound, ground: Ground) -> Bound:
    what, value = _bar(node, ground)
    turn = node.turn if isinstance(node, s.SpinBound) else None
    sign = 0 if turn is None else 1 if turn.kind == "TOPSPIN" else -1
    return Bound(what, *((-inf, value) if node.upper else (value, inf)), text(node), node, sign)


def _bar(node: s.Bound, ground: Ground) -> tuple[FixedBy, float]:
    if isinstance(node, s.StanceBound):
        return FixedBy.STANCE, stance_at(node.bar, ground)
    assert not isinstance(node.bar, s.FromLine | s.FromNet | s.OnLine)
    place = node.end.kind if node.end and node.end.kind in AWAY else None
    if node.kind == "height" and not (place and isinstance(node.bar, s.Quantity | s.GivenAmount)):
        if place:
            raise Rejected(AWAY[place][2], node.bar.span)
        return FixedBy.AT_PLAYER, height_of(node.bar, ground)
    assert isinstance(node.bar, s.Quantity | s.GivenAmount)
    what, sense = {
        "height": AWAY[place or "OVER_NET"][:2], "pace": (FixedBy.PACE, "pace"),
        "spin": (FixedBy.SPIN, "topspin"), "time": (FixedBy.TIME, "time to contact"),
        "way": (FixedBy.WAY, "way"),
    }[node.kind]  # fmt: skip
    return what, quantity(node.bar, sense)


def agree(bounds: Iterable[Bound]) -> None:
    """Raises Rejected where two bounds leave nothing between them."""
    lowest: dict[FixedBy, Bound] = {}
    highest: dict[FixedBy, Bound] = {}
    for bound in bounds:
        if bound.what not in lowest or bound.low > lowest[bound.what].low:
            lowest[bound.what] = bound
        if bound.what not in highest or bound.high < highest[bound.what].high:
            highest[bound.what] = bound
    for what, low in lowest.items():
        high = highest[what]
        if low.low > high.high:
            unit = UNITS_SHOWN[what]
            later, first = sorted((low, high), key=lambda bound: bound.everywhere)
            raise Rejected(
                BoundsApart(
                    read_in(low.low, unit), read_in(high.high, unit), " from the net" if what is FixedBy.STANCE else ""
                ),
                later.sentence.span,
                (("together with this", first.sentence.span),),
            )
