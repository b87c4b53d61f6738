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


class Until(Node):
    """What ends a block before its last ball: `hits` in a row, or among so many; the goals, if it says no number."""

    hits: Word | None = None
    among: Word | None = None


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


Distance = FromLine | FromNet | OnLine
Place = Distance | Name


class FromSideline(Node):
    extent: Extent
    hand: Word


class FromCentre(Node):
    extent: Extent
    hand: Word
    centre: Word


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


Turn = Flat | Topspin | Backspin | Sidespin | MostSpin


class Spins(Node):
    turns: tuple[Turn, ...]


# ---- a player's scatter
