"""How many balls of a mix may come in a row: alike, of one feed or point, or to one side."""

from collections.abc import Iterator

from ...grammar import syntax as s
from ..findings.names import Duplicate
from ..findings.session import AtMostHere, BothSides, MixOfOne, OneSide
from ..model.program import InARow
from .amounts import Rejected, count, one_of
from .members import Family
from .turns import Known


def runs_of(order: s.Order, names: list[str], players: tuple[tuple[str, ...], ...], known: Known) -> tuple[InARow, ...]:
    """What the limits of an order say of its shares, by their names and by who plays each."""
    limits = () if isinstance(order, s.Share) else order.limits
    if not limits:
        return ()
    if not isinstance(order, s.Mix):
        raise Rejected(AtMostHere(), limits[0].words.span)
    if len(names) == 1:
        raise Rejected(MixOfOne(names[0]), limits[0].words.span)
    found: dict[str, s.AtMost] = {}
    for limit in limits:
        of = limit.of.text if limit.of else ""
        if limit.of and limit.of.kind == "NAME":
            one_of(of, limit.of.span, names, "feed")
        if of in found:
            raise Rejected(Duplicate("at most"), limit.span, (("first here", found[of].span),))
        found[of] = limit
    each = (_least([limit for of, limit in found.items() if of in ("", name)]) for name in names)
    runs = [InARow(many, frozenset((i,)), limit) for i, (many, limit) in enumerate(each) if limit]
    sided = next((limit for limit in found.values() if limit.of and limit.of.kind == "ONE_SIDE"), None)
    return (*runs, *(_to_one_side(sided, names, players, known) if sided else ()))


def _least(limits: list[s.AtMost]) -> tuple[int, s.AtMost | None]:
    many = [(count(limit.number, "number alike"), limit) for limit in limits]
    return min(many, key=lambda each: each[0], default=(0, None))


def _to_one_side(
    limit: s.AtMost, names: list[str], players: tuple[tuple[str, ...], ...], known: Known
) -> Iterator[InARow]:
    """A run for each side, of the court or else of whoever plays: to the backhand of a right-hander and of a
    left-hander is one side for both. A ball to the middle is of none."""
    many = count(limit.number, "number alike")
    sides = [side for name, whose in zip(names, players, strict=True) if (side := _sides(name, whose, known))]
    if len(sides) < len(names):
        return  # what could not be read may be the side
    of = next((n for n in (0, 1) if all(len(side[n]) == 1 for side in sides)), None)
    if of is None:
        odd = next(name for name, side in zip(names, sides, strict=True) if len(side[0]) > 1)
        raise Rejected(BothSides(odd, odd in known.points), limit.span)
    each = [next(iter(side[of])) for side in sides]
    if set(each) in ({-1}, {1}):
        raise Rejected(OneSide(), limit.span)
    for way in (-1, 1):
        if shares := frozenset(i for i, one in enumerate(each) if one == way):
            yield InARow(many, shares, limit)


def _sides(name: str, players: tuple[str, ...], known: Known) -> tuple[set[int], set[int]] | None:
    """To which sides of the court, and of those who play it, the balls of a share come; None if that is not known. The
    balls of a point are several in a row."""
    if name in known.points:
        return {-1, 1}, {-1, 1}
    court, own = set[int](), set[int]()
    for player in players or ("",):
        reader = known.readers[player]
        family = reader.read.get(name)
        if not isinstance(family, Family):
            return None
        for ball in family.members:
            side = (ball.side.aim > 0) - (ball.side.aim < 0)
            court.add(side)
            own.add(side * reader.ground.player.forehand_x)
    return court, own
