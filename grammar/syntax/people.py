"""Who plays: players, their bodies, and how they take turns."""

from __future__ import annotations

from .node import Node, Word
from .parts import Amount
from .sentences import Sentence
from .traits import Trait


class Player(Sentence):
    kind = "player"
    traits: tuple[Trait, ...]


class BodyPart(Node):
    name: Word
    height: Amount


class Body(Sentence):
    kind = "body"
    parts: tuple[BodyPart, ...]
    of: Word | None = None
    """The player's name."""


class Rotation(Sentence):
    """How players with names take turns."""

    kind = "rotation"
    every: Word | None = None
    """None in `changing every ball`, and without a turn."""
    balls: Word | None = None
    changeover: Amount | None = None
