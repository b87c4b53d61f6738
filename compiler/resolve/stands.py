"""Where the feeder stands: as the head says, or for some balls as a line under them says."""

from collections.abc import Sequence

from ...grammar import syntax as s
from ...grammar.edits import amount, changed, instead, left_out
from ...grammar.facts import Metres
from ...grammar.frozen import Frozen, replace
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import sentences
from ..findings.feeder import HopperHolds, NotRaised
from ..findings.names import Duplicate, RangeNotHere
from ..model.feeder import Feeder
from ..model.program import FeederPlace, Range
from .amounts import Rejected, count, once, quantity
from .places import Ground

AT_NET_M = 3.0
"""Where a feeder on the player's side stands if the script does not say: between net and landing, common practice."""
ALONG, ACROSS = (s.FromLine, s.FromNet, s.OnLine), (s.FromSideline, s.FromCentre, s.OnCentre)


class HeadFeeder(Frozen):
    """The feeder of the head, as which it stands wherever a line does not say otherwise."""

    ground: Ground
    profile: Feeder
    place: FeederPlace


def feeder_of(node: s.Feeder, profile: Feeder) -> Feeder:
    """The feeder of a profile as this line has it."""
    feeder, spans = profile, dict[str, Span]()
    for spot in node.spots:
        match spot:
            case s.Hopper(number):
                once(spans, "the hopper", spot.span)
                held, balls = profile.hopper, count(number, "balls in the hopper")
                if held is not None and balls > held:
                    raise Rejected(HopperHolds(profile.name, held, balls), spot.span)
                feeder = replace(feeder, hopper=balls)
    return replace(feeder, release_height_m=_height(node, node.spots, profile))


def head_place(node: s.Feeder, ground: Ground, height: float) -> FeederPlace:
    return _place(node, node.spots, ground, height)


def stands_at(node: s.Stands, head: HeadFeeder) -> FeederPlace:
    """What the line does not say is as in the head, but for a screen, which protects where it stands."""
    said = {_what(spot) for spot in node.spots}
    kept = (one for one in head.place.sentence.spots if _what(one) not in {*said, s.Screen, s.Hopper})
    spots = sorted((*node.spots, *kept), key=lambda one: isinstance(one, s.Screen))
    return _place(node, spots, head.ground, _height(node, spots, head.profile))


def own_place(lines: tuple[s.Line, ...], head: HeadFeeder | None) -> tuple[s.Stands, FeederPlace] | None:
    """What the one such line of these says, and where that is."""
    said = [sentence for _, sentence in sentences(lines, s.Stands)]
    if said[1:]:
        raise Rejected(Duplicate("feeder"), said[1].span, (("first here", said[0].span),))
    return (said[0], stands_at(said[0], head)) if said and head else None


def _what(spot: s.Spot) -> object:
    """What a part of the line is about."""
    return next((kinds for kinds in (ALONG, ACROSS) if isinstance(spot, kinds)), type(spot))


def _height(node: s.Feeder | s.Stands, spots: Sequence[s.Spot], profile: Feeder) -> float:
    """How high above the ground, m, balls leave."""
    height, spans, person = profile.release_height_m, dict[str, Span](), profile.kind == "person"
    for spot in spots:
        if isinstance(spot, s.Raised):
            once(spans, "the height at which the ball leaves", spot.span)
            what = "height at which a person lets go" if person else "height at which the ball leaves"
            height = quantity(spot.height, what)
            low = not person and height < profile.release_height_m
            if spot.by_hand != person or low:
                rest = tuple(other for other in node.spots if other is not spot)
                alone = isinstance(node, s.Stands) and not rest
                plain = left_out(node) if alone else instead(node, changed(node, spots=rest))
                other = changed(spot, way=s.keyword("LETS_GO_AT" if person else "RAISED_TO"))
                message = NotRaised(profile.name, Metres(profile.release_height_m), person, low)
                raise Rejected(message, spot.span, remedies=(plain if low else instead(spot, other),))
    return height


def _place(node: s.Feeder | s.Stands, spots: Sequence[s.Spot], ground: Ground, height: float) -> FeederPlace:
    players_side = any(isinstance(spot, s.PlayersSide) for spot in spots)
    screen = any(isinstance(spot, s.Screen) for spot in spots)
    along = AT_NET_M if players_side else ground.court.half_length
    x, y = Range(0.0, 0.0, 0.0), Range(along, along, along)
    spans: dict[str, Span] = {}
    for spot in spots:
        match spot:
            case s.FromLine() | s.FromNet() | s.OnLine():
                y = ground.distance(spot, zone=False)
                once(spans, "the feeder's place along the court", spot.span)
            case s.FromSideline() | s.FromCentre() | s.OnCentre():
                x = ground.offset(spot, zone=False)
                once(spans, "the feeder's place across the court", spot.span)
        if x.low != x.high or y.low != y.high:
            raise Rejected(RangeNotHere("the feeder's place"), spot.span)
    words = ", ".join(spot.span.text for spot in spots if not isinstance(spot, s.Hopper))
    words = words or "on centre, on baseline"
    if players_side and not any(isinstance(spot, ALONG) for spot in spots):
        words += f", {text(s.FromNet(amount(AT_NET_M, 2, 'm'), s.keyword('FROM_NET')))}"
    place = y.aim if players_side else -y.aim
    return FeederPlace(x.aim, place, players_side, screen, words, height, node)
