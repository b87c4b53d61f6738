"""The sentences of a point: several balls that are played as one."""

from __future__ import annotations

from .node import Word
from .parts import Amount
from .practice import Share
from .sentences import Sentence


class Point(Sentence):
    """Several balls that are played as one."""

    kind = "point"
    name: Word


class Serves(Sentence):
    kind = "serves"
    delay: Amount
    """From the player's serve to the launch of the first ball."""
    every: Amount | None = None
    """From one serve to the next."""


class Plays(Sentence):
    kind = "plays"
    balls: tuple[Share, ...]
    """In their order, each with who plays it where they are for different players."""


class Missed(Sentence):
    """A missed ball ends the point. Then the point begins again, or the next one comes."""

    kind = "missed"
    missed: Word
    then: Word


class Won(Sentence):
    """How many of its balls have to be hits, and how many it has."""

    kind = "won"
    hits: Word
    among: Word
