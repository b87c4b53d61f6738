"""Every message about a script, in the order of the stages; those about single sentences are the grammar's."""

from ...grammar import messages as sentence
from ...grammar.finding import MESSAGES

from . import names, head, feeds, bounds, ladders, session, points, turns  # isort: skip
from . import flight, feeder, player, scatter, practice, goals, nearest  # isort: skip

__all__ = [
    "MESSAGES", "bounds", "feeder", "feeds", "flight", "goals", "head", "ladders", "names", "nearest", "player",
    "points", "practice", "scatter", "sentence", "session", "turns",
]  # fmt: skip
