"""Every message about a script, in the order of the stages; those about single sentences are the grammar's."""

from ...grammar import messages as sentence
from ...grammar.finding import MESSAGES

from . import names, head, feeds, same_ball, bounds, ladders, session, points, scores, stands, turns  # isort: skip
from . import flight, figures, bounce, feeder, player, scatter, practice, goals, nearest  # isort: skip

__all__ = [
    "MESSAGES", "bounce", "bounds", "feeder", "feeds", "figures", "flight", "goals", "head", "ladders", "names",
    "nearest", "player", "points", "practice", "same_ball", "scatter", "scores", "sentence", "session", "stands",
    "turns",
]  # fmt: skip
