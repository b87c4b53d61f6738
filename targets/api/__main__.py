"""`python -m feedwright`: the command line."""

from .targets.command.cli import program

program()
