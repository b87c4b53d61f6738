"""Places on the court: named zones and distances from the lines, seen by the player.

The player stands at +y and looks towards -y: the player's left is +x.
"""

from dataclasses import dataclass

from ...grammar.syntax import Node
from ..model.court import Court
from ..model.player import Player
from ..model.program import Range
from .amounts import extent, one_of

AROUND = 0.75
"""A single distance stands for this much on both sides when balls are counted as in the zone."""

# Metres on the full court, scaled with the half length on a smaller one: (from net, from net). Own choice.
DEPTHS = {"short": (3.0, 5.4), "midcourt": (5.4, 7.9), "deep": (9.385, 11.385)}
# Metres from the centre on the singles court, scaled with the half width. Own choice.
SIDES = {"corner": (2.315, 3.815), "wing": (0.8, 2.3)}
HANDS = ("left", "right", "forehand", "backhand")


@dataclass(frozen=True, slots=True)
class Ground:
    """What places are measured on."""

    court: Court
    player: Player

    def depth(self, node: Node) -> Range:
        """A `place` on the player's half: y in metres."""
        distance = node.node("distance")
        if distance:
            return self.distance(distance, zone=True)
        name = node.word("NAME")
        assert name
        scale = self.court.half_length / 11.885
        low, high = (value * scale for value in DEPTHS[one_of(name.text, name.span, DEPTHS, "depth")])
        return Range(low, high, (low + high) / 2)

    def distance(self, node: Node, zone: bool) -> Range:
        """Inside is towards the net, behind is away from it. A `zone` gives a single distance its width."""
        lines = {"BASELINE": self.court.half_length, "SERVICE_LINE": self.court.service}
        base = next((y for name, y in lines.items() if node.has(name)), 0.0)
        found = node.node("extent")
        if not found:
            return _widened(Range(base, base, base), zone)
        length = extent(found, "distance")
        if node.has("INSIDE"):
            length = Range(base - length.high, base - length.low, base - length.aim)
        else:
            length = Range(base + length.low, base + length.high, base + length.aim)
        return _widened(length, zone)

    def side(self, node: Node) -> Range:
        """A `lateral`: x in metres."""
        offset = node.node("offset")
        if offset:
            return self.offset(offset, zone=True)
        words = node.words("NAME")
        text = " ".join(w.text for w in words)
        if text == "middle":
            return Range(-AROUND, AROUND, 0.0)
        known = ["middle", *(f"{hand} {part}" for part in SIDES for hand in HANDS)]
        hand, part = one_of(text, words[0].span.to(words[-1].span), known, "side").split()
        scale = self.court.half_width / 4.115
        low, high = (value * scale for value in SIDES[part])
        return _signed(Range(low, high, (low + high) / 2), self.sign(hand))

    def offset(self, node: Node, zone: bool) -> Range:
        found, hand = node.node("extent"), node.word("NAME")
        if not found or not hand:
            return _widened(Range(0.0, 0.0, 0.0), zone)
        one_of(hand.text, hand.span, HANDS, "side")
        length = extent(found, "distance")
        if node.has("SIDELINE"):
            w = self.court.half_width
            length = Range(w - length.high, w - length.low, w - length.aim)
        return _widened(_signed(length, self.sign(hand.text)), zone)

    def sign(self, hand: str) -> int:
        if hand in ("left", "right"):
            return 1 if hand == "left" else -1
        return self.player.forehand_x * (1 if hand == "forehand" else -1)


def _widened(found: Range, zone: bool) -> Range:
    if zone and found.low == found.high:
        return Range(found.aim - AROUND, found.aim + AROUND, found.aim)
    return found


def _signed(found: Range, sign: int) -> Range:
    return found if sign > 0 else Range(-found.high, -found.low, -found.aim)
