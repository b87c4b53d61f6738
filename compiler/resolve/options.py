"""Lists, series and steps: what one line of a feed offers, one option for each member of the family."""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from ...grammar import syntax as s
from ...grammar.edits import amount, from_baseline
from ...grammar.messages import LikelySlip
from ...grammar.print import text
from ...grammar.syntax import Node
from ...grammar.units import from_si
from ..findings.feeds import HeightAtTop, HeightOverNet, StancePlace, StepsOfAList, StepsOfOne, TopInAList
from ..findings.head import StatureMissing
from ..findings.names import RangeNotHere
from ..model.player import BODY_SHARES, STROKES
from ..model.program import Best, FixedBy, Range
from .amounts import Rejected, count, extent, of_series, one_of, quantity
from .places import Ground
from .spins import spin_of


class Option(NamedTuple):
    """One value of a line, in the coach's words, and the node that says it. `alone` if the words are the whole
    line."""

    value: Any
    words: str
    node: Node
    alone: bool


def sides(node: s.Side, ground: Ground) -> list[Option]:
    return _zones(node, ground.side)


def depths(node: s.Depth, ground: Ground) -> list[Option]:
    return _zones(node, ground.lands)


def stances(node: s.Stance, ground: Ground) -> list[Option]:
    """Where the player meets the ball, y in m: exact places, also of the steps from one to another."""
    steps = _steps(node)
    if steps is not None:
        base = ground.court.half_length
        return [Option(y, text(from_baseline(y - base)), node, False) for y in _stepped(node, steps, ground)]
    alone = len(node.choices) == 1
    found = []
    for place in node.choices:
        if isinstance(place, s.Row):
            found += _in_a_row(place, lambda one: stance_at(one, ground))
        else:
            found.append(Option(stance_at(place, ground), place.span.text, place, alone))
    return found


def _in_a_row(row: s.Row, reader: Callable[[Any], Any]) -> list[Option]:
    return [Option(reader(place.at(row.span)), text(place), row, False) for place in row.places]


def stroke_of(node: s.Stroke) -> str:
    return one_of(node.word.text, node.word.span, STROKES, "stroke")


def stance_at(place: Node, ground: Ground) -> float:
    """One exact place, y in m."""
    if isinstance(place, s.Way):
        raise Rejected(RangeNotHere("stance"), place.span)
    if not isinstance(place, s.FromLine | s.FromNet | s.OnLine):
        raise Rejected(StancePlace(), place.span)
    at = ground.distance(place, zone=False)
    if at.low != at.high:
        raise Rejected(RangeNotHere("stance"), place.span)
    return at.aim


def _stepped(node: s.Stance, steps: int, ground: Ground) -> list[float]:
    place = node.choices[0]
    if isinstance(place, s.Name | s.Where | s.BehindBounce | s.Row):
        raise Rejected(StancePlace(), place.span)
    if isinstance(place, s.Way):
        first, last = (ground.distance(end, zone=False).aim for end in (place.first, place.last))
    else:
        zone = ground.distance(place, zone=False)
        first, last = (zone.high, zone.low) if _backwards(place, zone) else (zone.low, zone.high)
    if first == last:
        raise Rejected(StepsOfOne(), place.span)
    return [first + (last - first) * i / (steps - 1) for i in range(steps)]


def spins(node: s.Spin) -> list[Option]:
    """(topspin, sidespin) in rad/s, or `Best` in place of the topspin."""
    return _each(node, spin_of)


def paces(node: s.Pace) -> list[Option]:
    """(FixedBy, m/s or what there is to be most or least of)."""
    found = _amounts(node, node.choices, "pace")
    return _of(FixedBy.PACE, found)


def times(node: s.Time) -> list[Option]:
    """(FixedBy, s or what there is to be most or least of); a single one in the words of the whole line."""
    found = _of(FixedBy.TIME, _amounts(node, node.choices, "time to contact"))
    return [option._replace(words=node.said, node=node) if option.alone else option for option in found]


def heights(node: s.Height, ground: Ground) -> list[Option]:
    """(FixedBy, m): over the net, at the top, at the player, or the top of the bounce."""
    levels = node.choices
    if node.place:
        over = node.place.kind == "OVER_NET"
        amounts = [level for level in levels if not isinstance(level, s.Name | s.TopOfBounce)]
        for level in levels:
            if isinstance(level, s.Name | s.TopOfBounce):
                raise Rejected(HeightOverNet() if over else HeightAtTop(), level.span)
        found = _amounts(node, amounts, "height over net" if over else "height at the top")
        return _of(FixedBy.OVER_NET if over else FixedBy.AT_TOP, found)
    top = next((level for level in levels if isinstance(level, s.TopOfBounce)), None)
    if top:
        if len(levels) > 1:
            raise Rejected(TopInAList(), top.span)
        return [Option((FixedBy.TOP_OF_BOUNCE, 0.0), node.said, node, True)]
    found = []
    for level in levels:
        if isinstance(level, s.Name):
            found.append(Option(body_height(level, ground), level.word.text, level, len(levels) == 1))
        elif not isinstance(level, s.TopOfBounce):
            found += _amounts(node, [level], "height at the player", len(levels) == 1)
    return _of(FixedBy.AT_PLAYER, found)


def body_height(node: s.Name, ground: Ground) -> float:
    name = one_of(node.word.text, node.span, BODY_SHARES, "body height", ("rising", "falling"))
    height = ground.player.height_on(name, ground.court.name)
    if height is None:
        raise Rejected(StatureMissing(name), node.span)
    return height


def height_of(node: s.Name | s.Amount, ground: Ground) -> float:
    """A part of the player's body, or a length."""
    return body_height(node, ground) if isinstance(node, s.Name) else quantity(node, "height at the player")


def _of(what: FixedBy, found: list[Option]) -> list[Option]:
    return [option._replace(value=fixing(what, option.value)) for option in found]


def fixing(what: FixedBy, value: float | int) -> tuple[FixedBy, float] | Best:
    """What a line fixes: a value, or that it is to be most or least, for which a whole number stands."""
    return Best(what, value) if isinstance(value, int) else (what, value)


def utmost(node: s.Utmost) -> int:
    """1 for the most, -1 for the least."""
    return 1 if node.word.kind in ("FASTEST", "HIGHEST", "LONGEST") else -1


def _zones(node: s.Side | s.Depth, reader: Callable[[Any], Range]) -> list[Option]:
    """Each place, or one place with several aims: the zone stays whole, and each
    step is looked for in its part of it."""
    steps = _steps(node)
    if steps is None:
        return _each(node, reader)
    place = node.choices[0]
    zone = reader(place)
    if isinstance(place, s.FromLine | s.FromNet | s.FromSideline | s.FromCentre) and not isinstance(
        place.extent, s.Bounds
    ):
        raise Rejected(StepsOfOne(), place.span)
    # The middles of so many equal parts: an aim at the zone's very edge would miss it every other time.
    width = (zone.high - zone.low) / steps
    edges = [(zone.low + width * i, zone.low + width * (i + 1)) for i in range(steps)]
    backwards = reader(place.first).aim == zone.high if isinstance(place, s.Across | s.Way) else _backwards(place, zone)
    if backwards:
        edges.reverse()
    parts = [Range(zone.low, zone.high, (low + high) / 2, low, high) for low, high in edges]
    return [Option(part, place.span.text, node, False) for part in parts]


def _backwards(place: s.Place | s.Row | s.Way | s.Lateral, zone: Range) -> bool:
    """Whether the first number of a range is its higher coordinate: steps follow the order written."""
    left = zone.low + zone.high > 0
    match place:
        case s.FromSideline():
            return left
        case s.FromCentre() | s.OnCentre():
            return not left
        case s.Within():
            return True
        case s.FromLine(_, way):
            return way.kind == "INSIDE"
    return False


def _each(node: s.Side | s.Depth | s.Spin, reader: Callable[[Any], Any]) -> list[Option]:
    found = []
    for part in node.choices:
        if isinstance(part, s.Row):
            found += _in_a_row(part, reader)
        else:
            found.append(Option(reader(part), part.span.text, part, len(node.choices) == 1))
    return found


def _amounts(
    node: s.Height | s.Pace | s.Time, parts: Sequence[s.Extent | s.Series | s.Utmost], what: str, alone: bool = True
) -> list[Option]:
    """SI values of extents and series: one each, or the steps through a single range."""
    steps = _steps(node)
    found = []
    for part in parts:
        if isinstance(part, s.Utmost):
            if steps is not None:
                raise Rejected(StepsOfOne(), part.span)
            found.append(Option(utmost(part), part.span.text, part, alone and len(parts) == 1))
            continue
        if isinstance(part, s.Series):
            found += [Option(value, words, part, False) for value, words in of_series(part, what)]
            continue
        range_ = extent(part, what)
        if steps is not None:
            if not isinstance(part, s.Bounds):
                raise Rejected(StepsOfOne(), part.span)
            unit = part.unit.text
            found += [
                Option(value, text(amount(from_si(value, unit), 2, unit)), node, False)
                for value in (range_.low + (range_.high - range_.low) * i / (steps - 1) for i in range(steps))
            ]
        elif range_.low != range_.high:
            raise Rejected(RangeNotHere(what), part.span, hint=_two_bounds(node, part))
        else:
            found.append(Option(range_.aim, part.span.text, part, alone and len(parts) == 1))
    return found


def _two_bounds(node: s.Height | s.Pace | s.Time, part: s.Extent | s.Series | s.Utmost) -> LikelySlip | None:
    """What to write where a ball on the full may be met anywhere between two heights."""
    if not (isinstance(part, s.Bounds) and isinstance(node, s.Height) and node.phase and node.phase.on_the_full):
        return None
    low, high = (s.Quantity(number, part.unit) for number in (part.low, part.high))
    least = s.HeightBound(s.keyword("AT_LEAST"), low, s.keyword("ON_THE_FULL"))
    most = s.HeightBound(s.keyword("AT_MOST"), high)
    return LikelySlip(f"between two heights are two bounds: {text(least)}; {text(most)}")


def _steps(node: s.Side | s.Depth | s.Stance | s.Height | s.Pace | s.Time) -> int | None:
    if node.steps is None:
        return None
    if len(node.choices) != 1 or isinstance(node.choices[0], s.Series | s.Row):
        raise Rejected(StepsOfAList(), node.steps.span)
    return count(node.steps.number, "steps")
