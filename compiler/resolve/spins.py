"""Spin as written: flat, topspin, backspin, sidespin, in numbers or in words, joined by `and`."""

from ...grammar.syntax import Node
from ...grammar.units import RPM
from .amounts import Slip, one_of, single

# Own choice, within what feeders commonly reach (common practice, no source).
AMOUNTS = {"light": 600.0, "medium": 1200.0, "heavy": 2000.0}


def spin_of(node: Node) -> tuple[float, float]:
    """(topspin, sidespin) in rad/s; backspin is negative topspin, sidespin that curves the ball to the player's right
    (-x) is positive."""
    topspin, sidespin, seen = 0.0, 0.0, set[str]()
    for turn in node.nodes("turn"):
        kind = turn.words("FLAT", "TOPSPIN", "BACKSPIN", "SIDESPIN")[0].text
        axis = "sidespin" if kind == "sidespin" else "topspin"
        if axis in seen or (kind == "flat" and len(node.nodes("turn")) > 1):
            raise Slip("spin-twice", turn.span)
        seen.add(axis)
        if kind == "flat":
            continue
        amount = turn.nodes("amount")[0]
        value = _amount(amount, kind)
        if kind == "sidespin":
            sidespin = -value if turn.has("TO_THE_LEFT") else value
        else:
            topspin = value if kind == "topspin" else -value
    return topspin, sidespin


def _amount(node: Node, kind: str) -> float:
    word, extent = node.word("NAME"), node.node("extent")
    if word:
        return AMOUNTS[one_of(word.text, word.span, AMOUNTS, "amount of spin")] * RPM
    assert extent
    return single(extent, kind)
