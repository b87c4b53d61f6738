"""What sentences are made of: amounts, places, spin, scatter."""

from __future__ import annotations

from .node import Node, Word

# ---- amounts


class Quantity(Node):
    number: Word
    unit: Word


class GivenAmount(Node):
    """An amount by the name that the head gives it."""

    name: Word


Amount = Quantity | GivenAmount


class Bounds(Node):
    """A range: 1 to 4 m."""

    low: Word
    high: Word
    unit: Word


Extent = Quantity | GivenAmount | Bounds


class Series(Node):
    """Numbers that share a unit."""

    numbers: tuple[Word, ...]
    unit: Word


class Steps(Node):
    number: Word


class Name(Node):
    """A name of the language where something else could stand: a depth, a part of the body, an amount of spin."""

    word: Word


class Utmost(Node):
    """The most or the least there is, in place of an amount."""

    word: Word
    """FASTEST, SLOWEST, LOWEST, HIGHEST, SHORTEST or LONGEST."""


# ---- places


class FromLine(Node):
    extent: Extent
    way: Word
    """INSIDE or BEHIND."""
    line: Word
    """BASELINE or SERVICE_LINE."""


class FromNet(Node):
    extent: Extent
    net: Word


class OnLine(Node):
    line: Word


class Row(Node):
    """Several distances that share a line."""

    distances: Series | tuple[Amount, ...]
    way: Word | None
    """INSIDE or BEHIND; None from the net."""
    line: Word
    """BASELINE, SERVICE_LINE or FROM_NET."""

    @property
    def places(self) -> tuple[Distance, ...]:
        """Each of them in words of its own."""
        each = self.distances
        amounts = tuple(Quantity(n, each.unit).at(n.span) for n in each.numbers) if isinstance(each, Series) else each
        way = self.way
        return tuple(FromLine(one, way, self.line) if way else FromNet(one, self.line) for one in amounts)


Distance = FromLine | FromNet | OnLine
Place = Distance | Name


class FromSideline(Node):
    extent: Extent
    hand: Word


class FromCentre(Node):
    """1 m left of centre, or 2.5 m to backhand side, which each player has on the side of the own hand."""

    extent: Extent
    named: Word | None
    centre: Word

    @property
    def hand(self) -> Word:
        return self.named or Word("NAME", self.centre.text.split()[-2]).at(self.centre.span)


class OnCentre(Node):
    centre: Word


Offset = FromSideline | FromCentre | OnCentre


class Across(Node):
    """From one place across the court to another."""

    first: Offset
    last: Offset


class Within(Node):
    """To both sides of the centre."""

    amount: Amount
    centre: Word


class NamedSide(Node):
    """backhand wing, or middle alone."""

    words: tuple[Word, ...]


Lateral = Offset | Across | Within | NamedSide


# ---- spin


class Flat(Node):
    pass


class Topspin(Node):
    amount: Extent | Name


class Backspin(Node):
    amount: Extent | Name


class Sidespin(Node):
    amount: Extent | Name
    way: Word
    """TO_THE_LEFT or TO_THE_RIGHT."""


class MostSpin(Node):
    """As much topspin or backspin as there is."""

    way: Word | None = None
    """TOPSPIN or BACKSPIN; None for whichever there is more of."""


class SomeSpin(Node):
    """Topspin or backspin, however much."""

    way: Word
    """TOPSPIN or BACKSPIN."""


Turn = Flat | Topspin | Backspin | Sidespin | MostSpin | SomeSpin


class Spins(Node):
    turns: tuple[Turn, ...]


# ---- a player's scatter


class Landing(Node):
    """Where a reply lands, in words: anywhere in the far half, past its service line, or in one half of its width."""

    where: Word

    @property
    def across(self) -> bool:
        """Whether it is said from the half in which the ball is met."""
        return self.where.kind in ("CROSSCOURT", "DOWN_THE_LINE")
