"""The command line: picks the command, reports faults and refusals in one sentence, sets the exit code."""

import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from io import TextIOWrapper
from typing import NoReturn

from ... import __version__
from ...compiler.scripts import Refusal
from . import CLEAN, INTERRUPTED, USAGE, Parser

# The module of each command, in the order of the help; only the requested one is loaded.
COMMANDS = {
    "check": "compiling",
    "build": "compiling",
    "sheet": "drawing",
    "compare": "comparing",
    "cues": "drawing",
    "show": "drawing",
    "new": "starting",
    "format": "formatting",
    "why": "explaining",
    "list": "listing",
    "fly": "flying",
    "measure": "measuring",
    "log": "recording",
    "replay": "playing",
    "device": "playing",
    "desk": "desk",
    "language-server": "editing",
    "completion": "completing",
}


LASTING = ("measure", "replay", "device", "desk", "language-server")
"""Commands that wait for people or machines. The others end soon and make almost no garbage; to look for it costs a
tenth of their time."""


def program() -> NoReturn:
    """The whole process."""
    if sys.argv[1:2] and sys.argv[1] not in LASTING:
        gc.disable()
    # numpy's threads start with it, and wait for work in a circle: a tenth of a check. What they would share is small.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:  # closed by the parent process
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
        elif isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal may lack a character of a script
    code = main()
    gc.freeze()  # spare the last collection, a tenth of the time of a check: the system frees all
    sys.exit(code)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is 0 clean, 1 errors in the script, 2 wrong usage or files, 130 interrupted."""
    try:
        words = list(sys.argv[1:] if arguments is None else arguments)
        options = _parser(words[0] if words else "").parse_args(words)
        code: int = options.run(options)
        sys.stdout.flush()
        return code
    except Refusal as refusal:
        from ...compiler.printable import say

        say(f"feedwright: {refusal}", sys.stderr)
        return USAGE
    except KeyboardInterrupt:
        print("feedwright: interrupted, nothing more is written", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # The reader has gone; keep the interpreter from complaining when it flushes at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return CLEAN
    except Exception as fault:
        # A fault of the program itself: one sentence for the user; the full traceback for anyone who asks for it.
        if "FEEDWRIGHT_TRACE" in os.environ:
            raise
        print(f"feedwright: a fault in the program itself ({type(fault).__name__}); nothing was written. "
              "FEEDWRIGHT_TRACE=1 shows where, for a report", file=sys.stderr)  # fmt: skip
        return USAGE


def _parser(command: str = "") -> Parser:
    """The parser of one command, or of all if it is not a command."""
    parser = Parser(
        prog="feedwright",
        description="Compile a coach's feed script into checked balls, a command stream and a feed sheet.",
        examples=(
            ("feedwright new first.feed", "a first script from a few questions"),
            ("feedwright check mine.feed", "problems, balls, time, variety"),
            ("feedwright build mine.feed -o out", "plan, sheet, table and, for a machine, the command stream"),
            ("feedwright why net-hit", "what a message means and what to write instead"),
        ),
    )
    parser.add_argument(
        "--version", action="version", version=f"%(prog)s {__version__}", help="show the version and exit"
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, parser_class=Parser)
    alone = command in COMMANDS and command != "completion"  # completion covers all commands
    modules = [COMMANDS[command]] if alone else dict.fromkeys(COMMANDS.values())
    for module in modules:
        import_module(f".{module}", __package__).add(commands)
    return parser


if __name__ == "__main__":
    program()
