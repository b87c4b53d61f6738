"""What can be said of the player."""

from __future__ import annotations

from .node import Node, Word
from .parts import Amount


class Called(Node):
    """The player's name."""

    name: Word


class Hand(Node):
    word: Word
    """RIGHT_HANDED or LEFT_HANDED."""


class Tall(Node):
    stature: Amount


class Reach(Node):
    amount: Amount


class ReplyUpTo(Node):
    pace: Amount


class TwoBounces(Node):
    pass


class TwoHandedBackhand(Node):
    pass


class TakingTurns(Node):
    players: Word


class ChangingEvery(Node):
    number: Word | None
    """None in `changing every ball`."""
    balls: Word


class Changeover(Node):
    """From the last ball of one player to the first of the next."""

    time: Amount


class ScatterLevel(Node):
    """A player's scatter by the name of a level."""

    level: Word


class Deviation(Node):
    amount: Amount
    of: Word
    """ANGLE, DIRECTION or PACE."""


class ScatterStated(Node):
    parts: tuple[Deviation, ...]


Trait = (
    Called | Hand | Tall | Reach | ReplyUpTo | TwoBounces | TwoHandedBackhand | TakingTurns | ChangingEvery | Changeover
    | ScatterLevel | ScatterStated
)  # fmt: skip
