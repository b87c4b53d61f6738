"""Findings: what was found, where, and what would mend it.

A message is a class: its facts are its fields, its code is its name. Whoever finds something makes one, with numbers in
SI; whoever shows it asks for its words.
"""

import re
from collections.abc import Callable, Iterable, Mapping
from enum import Enum
from typing import TYPE_CHECKING, ClassVar

from .facts import BallName, Names, data
from .frozen import Frozen, replace
from .source import Span

if TYPE_CHECKING:
    from .edits import Edit

MESSAGES: "dict[str, type[Message]]" = {}
"""Every message by its code. Those of the compiler are there once `compiler.findings` is imported."""


class Severity(Enum):
    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


class Worded(Frozen):
    """Facts, and a sentence with a place for each of them or for what a property makes of them."""

    says: ClassVar[str]

    def text(self, labels: Mapping[str, str] | None = None) -> str:
        """The sentence; text from a script is only ever put in as text. `labels` has what balls are called where their
        name alone would not tell them apart."""
        return self.says.format_map(_Places(self, labels or {}))


class Message(Worded):
    """One kind of finding. `says` is a fact, asked against possible, with units; nobody is addressed."""

    code: ClassVar[str]
    """The name of the class in lower case, its words joined by hyphens."""
    severity: ClassVar[Severity] = Severity.ERROR
    title: ClassVar[str]
    otherwise: ClassVar[str] = ""
    """What may help where no remedy is found, if there is something."""
    why: ClassVar[str]
    """Why it matters, in sentences."""
    example: ClassVar[str]
    """A line that gives it."""
    instead: ClassVar[str]
    """What to write in its place."""

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        if "says" in vars(cls):
            cls.code = re.sub(r"(?<!^)(?=[A-Z])", "-", cls.__name__).lower()
            assert cls.code not in MESSAGES, cls
            MESSAGES[cls.code] = cls

    def advice(self) -> list[str]:
        """What might help, in sentences."""
        return []

    def last_resort(self) -> str:
        """`otherwise`, or nothing where that would not be true."""
        return self.otherwise

    def data(self) -> dict[str, object]:
        """The facts by name, for JSON."""
        return {name: data(getattr(self, name)) for name in self._fields}


class OfBall(Message):
    """A message about one ball."""

    ball: BallName


class OfName(Message):
    """A message about a name or word; `near` are those that look like it."""

    near: Names

    def advice(self) -> list[str]:
        return [f"did the line mean {self.near}?"] if self.near else []


class Hint(Worded):
    """What might help with one finding in particular."""


class Finding(Frozen):
    """A message at a place."""

    message: Message
    span: Span
    also: tuple[tuple[str, Span], ...] = ()
    """Other places that matter, each with a word on why."""
    remedies: "tuple[Edit, ...]" = ()
    """Changes of a source, each of which would mend it, or where none does comes nearest."""
    hint: Hint | None = None
    resort: Hint | None = None
    """What is told where no change mends it, in place of the message's own last resort."""
    more: int = 0
    """How many more balls of a family it holds for."""
    balls: tuple[str, ...] = ()
    """The names of these."""
    labels: Mapping[str, str] = {}
    """What its balls are called."""

    @property
    def code(self) -> str:
        return self.message.code

    @property
    def about(self) -> tuple[str, ...]:
        """The balls that it is about."""
        return (self.message.ball, *self.balls) if isinstance(self.message, OfBall) else ()

    @property
    def severity(self) -> Severity:
        return self.message.severity

    @property
    def headline(self) -> str:
        return self.message.text(self.labels)

    @property
    def advice(self) -> list[str]:
        """What might help, in sentences."""
        hints = [self.hint.text()] if self.hint else []
        more = []
        if self.more:
            balls = "1 other ball" if self.more == 1 else f"{self.more} other balls"
            names = [self.labels.get(ball, ball) for ball in self.balls[:MOST_NAMED]]
            told = f", {', '.join(names)}" if self.more <= MOST_NAMED and len(names) == self.more else ""
            more = [f"the same holds for {balls}{told}"]
        resort = self.resort.text() if self.resort else self.message.last_resort()
        otherwise = [resort] * bool(resort and (self.resort or not self.remedies) and not hints)
        return [*hints, *more, *self.message.advice(), *otherwise]


def placed(findings: Iterable[Finding], place: Callable[[Span], Span]) -> list[Finding]:
    """The findings with other places."""
    from .edits import at

    return [
        replace(
            finding,
            span=place(finding.span),
            also=tuple([(why, place(span)) for why, span in finding.also]),
            remedies=tuple([at(edit, place) for edit in finding.remedies]),
        )
        for finding in findings
    ]


MOST_NAMED = 3
"""Other balls are named if they are no more than this."""


class _Places:
    """Facts by name for a template."""

    def __init__(self, said: Worded, labels: Mapping[str, str]) -> None:
        self._said, self._labels = said, labels

    def __getitem__(self, name: str) -> object:
        fact = getattr(self._said, name)
        return self._labels.get(fact, fact) if isinstance(fact, BallName) else fact
