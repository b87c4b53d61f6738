"""`python -m feedwright`: the command line."""

from .compiler.cli import program

program()
