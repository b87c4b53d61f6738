"""The practice log: what happened to each ball, kept on the player's own machine; see LOG.md.

Importing this package stays cheap; SQLite and the terminal's drawing are loaded by the command that needs them.
"""


class LogRefused(Exception):
    """Something the log cannot or will not do, in one sentence for people."""
