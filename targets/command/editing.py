"""`language-server`: problems, names and offers for an editor."""

import argparse
import sys

from ...compiler.scripts import Refusal
from . import CLEAN, Commands, command


def add(commands: Commands) -> None:
    parser = command(
        commands,
        "language-server",
        "answer an editor over the Language Server Protocol, on standard input and output",
        (("feedwright language-server", "an editor starts it; EDITORS.md has the settings for three of them"),),
    )
    parser.set_defaults(run=_serve)


def _serve(options: argparse.Namespace) -> int:
    from ... import __version__

    try:
        from ..editor.answers import editor
    except ImportError as error:
        raise Refusal(f"language-server needs a package more: pip install 'feedwright[editor]' ({error})") from error
    with open(sys.stdout.fileno(), "wb", closefd=False) as out:  # it is closed at the end
        editor(__version__).start_io(stdout=out)
    return CLEAN
