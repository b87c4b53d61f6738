"""The commands beside check and build, a module each: `add` says what a command takes, its function runs it.

Heavy modules are imported when a command runs, not before.
"""

import argparse
import os
import re
from collections.abc import Iterable, Sequence
from typing import IO, Any, NoReturn

from ...compiler.scripts import Refusal

CLEAN, ERRORS, USAGE, INTERRUPTED = 0, 1, 2, 130
Commands = Any
"""argparse's object for the commands of a parser; its class has no public name."""
_PLAIN = (
    (r"the following arguments are required: (.*)", r"\1 is missing"),
    (r"one of the arguments (.*) is required", r"one of \1 is needed"),
    (r"argument (\S+): expected .*argument.*", r"\1 needs a value"),
    (r"argument (\S+): ignored explicit argument '(.*)'", r"\1 takes no value, so not \2"),
    (r"argument (\S+): not allowed with argument (\S+)", r"\1 and \2 exclude each other"),
    (r"argument (\S+): invalid int value: '(.*)'", r"\1 takes a whole number, not \2"),
    (r"argument (\S+): invalid float value: '(.*)'", r"\1 takes a number, not \2"),
)
"""Messages of argparse, each with a plainer one."""


class _Formatter(argparse.RawDescriptionHelpFormatter):
    def __init__(self, prog: str, width: int | None = 80) -> None:
        super().__init__(prog, max_help_position=30, width=width)


class _AsWideAsTheScreen(_Formatter):
    """To find out how wide that is loads much, and only help needs it: argparse makes a formatter for each option."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=None)


class Parser(argparse.ArgumentParser):
    """A parser whose help begins with examples, and which suggests the word that was probably meant."""

    def __init__(self, examples: Sequence[tuple[str, str]] = (), **settings: Any) -> None:
        super().__init__(**{"formatter_class": _Formatter, "allow_abbrev": False, **settings})
        self.examples = tuple(examples)

    def format_help(self) -> str:
        self.formatter_class = _AsWideAsTheScreen
        if not self.examples:
            return super().format_help()
        width = max(len(command) for command, _ in self.examples)
        lines = (f"  {command:<{width}}   {words}".rstrip() for command, words in self.examples)
        return "examples:\n" + "\n".join(lines) + "\n\n" + super().format_help()

    def error(self, message: str) -> NoReturn:
        plain = next((found.expand(words) for said, words in _PLAIN if (found := re.fullmatch(said, message))), message)
        raise Refusal(f"{plain}; see {self.prog} --help")

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        found, rest = super().parse_known_args(args, namespace)
        if rest:
            word = str(rest[0]).partition("=")[0]
            if word.startswith("-") and word != "-":
                options = [name for action in self._actions for name in action.option_strings]
                self.error(f"there is no option {word}{meant(word, options)}")
            self.error(f"{word} is one word too many")
        return found, rest

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is not None and value not in action.choices:
            option = "/".join(action.option_strings) or str(action.metavar or "").lower()
            what = "command" if isinstance(action.choices, dict) else f"choice for {option}:"
            known = [str(choice) for choice in action.choices]
            self.error(f"there is no {what} {value}{meant(str(value), known) or '; possible: ' + ', '.join(known)}")


def meant(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """`; did you mean ...?` with at most three known words that resemble or contain this one, or nothing."""
    from difflib import get_close_matches

    names = list(dict.fromkeys(known))
    near = get_close_matches(word, names, 3, cutoff) or [name for name in names if len(word) > 2 and word in name][:3]
    return f"; did you mean {', '.join(near[:-1])}{' or ' * (len(near) > 1)}{near[-1]}?" if near else ""


def command(commands: Commands, name: str, words: str, examples: Sequence[tuple[str, str]]) -> Parser:
    """A command with one line on what it does, and the examples for its help."""
    parser: Parser = commands.add_parser(
        name, help=words, description=f"{words[0].upper()}{words[1:]}.", examples=examples
    )
    return parser


def takes_color(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--color", choices=("always", "never", "auto"), default="auto",
        help="colours: auto means only on a terminal and not if NO_COLOR is set",
    )  # fmt: skip


def colored(options: argparse.Namespace, stream: IO[str]) -> bool:
    choice: str = getattr(options, "color", "auto")
    if choice == "auto":
        return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return choice == "always"
