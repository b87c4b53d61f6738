"""The practice log: what happened to each ball, kept on the player's own machine; see LOG.md.

Importing this package is cheap; a command loads SQLite and the drawing for the terminal only if it needs them.
"""


class LogRefused(Exception):
    """Something the log cannot or will not do, in one sentence for people."""


PLANNED = "plan block"
"""The column of a CSV with the number of a block in the plan, where each round, rest and collect is one."""
