"""Spin as written: flat, topspin, backspin, sidespin, in numbers or in words, joined by `and`."""

from math import inf

from ...grammar.print import text
from ...grammar.syntax import Backspin, Extent, Flat, MostSpin, Name, Sidespin, SomeSpin, Spins, Topspin, Word
from ...grammar.units import RPM
from ..findings.feeds import SpinTwice
from ..model.program import Best, Bound, FixedBy
from ..model.program import SomeSpin as Some
from .amounts import Rejected, one_of, single

# Own choice, within what feeders commonly reach (common practice, no source).
AMOUNTS = {"light": 600.0, "medium": 1200.0, "heavy": 1800.0}
CLEARLY = 300.0
"""rpm, from which on a ball has a spin of which a line says the kind alone. It is light where nothing asks for more or
less. Own choice."""


def spin_of(node: Spins) -> tuple[float | Best | Some, float]:
    """(topspin, sidespin) in rad/s, or as much topspin as there is, or however much; backspin is negative topspin,
    sidespin is positive if it curves the ball to the player's right (-x)."""
    if isinstance(some := node.turns[0], SomeSpin):
        return Some(_sign(some.way)), 0.0
    most = next((turn for turn in node.turns if isinstance(turn, MostSpin)), None)
    topspin, sidespin = plain_spin(node)
    if most is None:
        return topspin, sidespin
    return Best(FixedBy.SPIN, _sign(most.way) if most.way else 0), sidespin


def some_spin(some: Some, said: Spins) -> tuple[float, Bound]:
    """Of a spin of which a line says the kind alone: what it mostly is, rad/s, and how much it is at least."""
    bound = Bound(FixedBy.SPIN, CLEARLY * RPM, inf, f"spin {text(said)}", said, some.sign)
    return some.sign * AMOUNTS["light"] * RPM, bound


def _sign(way: Word) -> int:
    return 1 if way.kind == "TOPSPIN" else -1


def plain_spin(node: Spins) -> tuple[float, float]:
    """The same, as much topspin as there is counted as none."""
    found: dict[str, float] = {}
    for turn in node.turns:
        axis = "sidespin" if isinstance(turn, Sidespin) else "topspin"
        if axis in found or (isinstance(turn, Flat) and len(node.turns) > 1):
            raise Rejected(SpinTwice(), turn.span)
        match turn:
            case Flat() | MostSpin() | SomeSpin():
                found[axis] = 0.0
            case Topspin(amount):
                found[axis] = _amount(amount, "topspin")
            case Backspin(amount):
                found[axis] = -_amount(amount, "backspin")
            case Sidespin(amount, way):
                found[axis] = _amount(amount, "sidespin") * (-1 if way.kind == "TO_THE_LEFT" else 1)
    return found.get("topspin", 0.0), found.get("sidespin", 0.0)


def _amount(node: Extent | Name, kind: str) -> float:
    if isinstance(node, Name):
        return AMOUNTS[one_of(node.word.text, node.span, AMOUNTS, "amount of spin")] * RPM
    return single(node, kind)
