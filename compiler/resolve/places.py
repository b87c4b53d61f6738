"""Places on the court: named zones and distances from the lines, as the player sees them.

The player stands at +y and looks towards -y: the player's left is +x.
"""

from ...grammar.facts import Metres
from ...grammar.frozen import Frozen
from ...grammar.print import text
from ...grammar.syntax import (
    Across,
    Distance,
    FromLine,
    FromNet,
    FromSideline,
    Lateral,
    Name,
    NamedSide,
    Offset,
    OnCentre,
    OnLine,
    Place,
    Way,
    Within,
    Word,
)
from ..findings.names import BeyondTheNet, RangeNotHere
from ..model.court import SINGLES_HALF_WIDTH, Court
from ..model.player import Player
from ..model.program import Range
from .amounts import Rejected, extent, one_of, quantity

AROUND, COUNTED = 0.75, 1.5
"""A single distance stands for a zone of the first to either side. Along the court, on a full one, a ball that is fed
counts within the second, which is about what a machine needs; it is looked for within the first. Own choice."""
FULL = 11.885

# Metres on the full court, scaled with the half length on a smaller one: (from net, from net). Own choice.
DEPTHS = {"short": (3.0, 5.4), "midcourt": (5.4, 7.9), "deep": (9.385, 11.385)}
# Metres from the centre of a singles court, scaled with the half width of a narrower one. A corner is as far inside the
# sideline on the wider court for doubles. Own choice.
SIDES = {"corner": (2.315, 3.815), "wing": (0.8, 2.3)}
HANDS = ("left", "right", "forehand", "backhand")


class Ground(Frozen):
    """The court, as the reference for places."""

    court: Court
    player: Player

    def lands(self, node: Place | Way) -> Range:
        """Where a ball that is fed is meant to land: as `depth`, but a single distance is a wish and no zone."""
        if isinstance(node, Way | Name):
            return self.depth(node)
        found = self.distance(node, zone=False)
        return wished(self.court, found.aim) if found.low == found.high else found

    def depth(self, node: Place | Way) -> Range:
        """On the player's half: y in metres."""
        if isinstance(node, Way):
            ends = [self.distance(end, zone=False) for end in (node.first, node.last)]
            if any(end.low != end.high for end in ends):
                raise Rejected(RangeNotHere("each end"), node.span)
            low, high = sorted(end.aim for end in ends)
            return _widened(Range(low, high, (low + high) / 2), zone=True)
        if not isinstance(node, Name):
            return self.distance(node, zone=True)
        scale = self.court.half_length / FULL
        told = (f"{name} ({low * scale:.1f} to {high * scale:.1f} m from net)" for name, (low, high) in DEPTHS.items())
        low, high = (value * scale for value in DEPTHS[one_of(node.word.text, node.span, DEPTHS, "depth", told=told)])
        return Range(low, high, (low + high) / 2)

    @property
    def anywhere(self) -> Range:
        """The player's whole half; no ball is meant for the net's foot or the line itself."""
        length = self.court.half_length
        return Range(AROUND, length, (AROUND + length) / 2)

    def distance(self, node: Distance, zone: bool) -> Range:
        """Inside is towards the net, behind is away from it. A `zone` gives a single distance its width.
        Raises Rejected for a place at the net or beyond it."""
        found = self._along(node)
        if found.low < 0 or not round(found.aim, 4) > 0:  # a plan tells metres to 0.1 mm
            line, net = None, None
            if isinstance(node, FromLine):
                line, net = node.line.text.removeprefix("the "), Metres(self._line(node.line))
            raise Rejected(BeyondTheNet(node.span.text, line, net), node.span)
        return _widened(found, zone)

    def _along(self, node: Distance) -> Range:
        base = 0.0 if isinstance(node, FromNet) else self._line(node.line)
        if isinstance(node, OnLine):
            return Range(base, base, base)
        length = extent(node.extent, "distance")
        if isinstance(node, FromLine) and node.way.kind == "INSIDE":
            return Range(base - length.high, base - length.low, base - length.aim)
        return Range(base + length.low, base + length.high, base + length.aim)

    def _line(self, word: Word) -> float:
        return self.court.half_length if word.kind == "BASELINE" else self.court.service

    def side(self, node: Lateral) -> Range:
        """x in metres."""
        if isinstance(node, Across):
            first, last = self.end(node.first), self.end(node.last)
            return _widened(Range(min(first, last), max(first, last), (first + last) / 2), zone=True)
        if isinstance(node, Within):
            wide = quantity(node.amount, "distance")
            return _widened(Range(-wide, wide, 0.0), zone=True)
        if not isinstance(node, NamedSide):
            return self.offset(node, zone=True)
        said = text(node)
        if said == "middle":
            return Range(-AROUND, AROUND, 0.0)
        known = ["middle", *(f"{hand} {part}" for part in SIDES for hand in HANDS)]
        hand, part = one_of(said, node.span, known, "side").split()
        scale = min(self.court.half_width / SINGLES_HALF_WIDTH, 1.0)
        low, high = (value * scale for value in SIDES[part])
        if part == "corner":
            alley = max(self.court.half_width - SINGLES_HALF_WIDTH, 0.0)
            low, high = low + alley, high + alley
        return _signed(Range(low, high, (low + high) / 2), self.sign(hand))

    def end(self, node: Offset) -> float:
        """One end of a side that reaches from one place to another, x in m."""
        at = self.offset(node, zone=False)
        if at.low != at.high:
            raise Rejected(RangeNotHere("each end"), node.span)
        return at.aim

    def offset(self, node: Offset, zone: bool) -> Range:
        if isinstance(node, OnCentre):
            return _widened(Range(0.0, 0.0, 0.0), zone)
        one_of(node.hand.text, node.hand.span, HANDS, "side")
        length = extent(node.extent, "distance")
        if isinstance(node, FromSideline):
            w = self.court.half_width
            length = Range(w - length.high, w - length.low, w - length.aim)
        return _widened(_signed(length, self.sign(node.hand.text)), zone)

    def start(self, spots: tuple[Offset | Distance, ...]) -> tuple[float, float | None]:
        """Where a player starts, x and y in metres; y is None where no spot says how far back."""
        x, y = 0.0, None
        for spot in spots:
            if isinstance(spot, FromLine | FromNet | OnLine):
                at = self.distance(spot, zone=False)
                y = at.aim
            else:
                at = self.offset(spot, zone=False)
                x = at.aim
            if at.low != at.high:
                raise Rejected(RangeNotHere("starts"), spot.span)
        return x, y

    def sign(self, hand: str) -> int:
        if hand in ("left", "right"):
            return 1 if hand == "left" else -1
        return self.player.forehand_x * (1 if hand == "forehand" else -1)


def wished(court: Court, aim: float) -> Range:
    """Around one distance from the net, no farther than the net and the baseline."""
    wide = max(AROUND, COUNTED * court.half_length / FULL)
    far = max(court.half_length, aim)
    low, high, near, off = (min(max(aim + by, 0.0), far) for by in (-wide, wide, -AROUND, AROUND))
    return Range(low, high, aim, near, off, alone=True)


def _widened(found: Range, zone: bool) -> Range:
    if zone and found.low == found.high:
        return Range(found.aim - AROUND, found.aim + AROUND, found.aim)
    return found


def _signed(found: Range, sign: int) -> Range:
    return found if sign > 0 else Range(-found.high, -found.low, -found.aim)
