"""Reads the words of one sentence by the tables that lark makes of feed.lark.

The tables of this grammar are in `tables.py`; where feed.lark has changed since, lark makes them anew.
The tables (`tables.py`) are those of an LALR(1) parser: A. V. Aho, M. S. Lam, R. Sethi, J. D. Ullman, Compilers, 2nd
ed. (2006), section 4.7. lark reads sentences by them as well, and a test compares; but a command that reads a script
would take a sixth of its time to load lark, its form of the tables and a regular expression for each state.
"""

import re
from functools import cache
from typing import Any, NamedTuple, Union

from . import fingerprint, tables


def _tables() -> dict[str, Any]:
    if vars(tables).get("GRAMMAR") == fingerprint():
        return vars(tables)
    from .lalr import tables as made

    return made()


_READ = _tables()
WORDS: dict[str, str] = _READ["WORDS"]
PATTERNS: dict[str, tuple[str, str]] = _READ["PATTERNS"]
RULES: tuple[tuple[str, tuple[str, ...]], ...] = _READ["RULES"]
STATES: tuple[dict[str, int], ...] = _READ["STATES"]
END: int = _READ["END"]

AFTER_COMMA = frozenset({"UNTIL", "AFTER_ONE_BOUNCE", "AFTER_TWO_BOUNCES"})
"""Words that a comma may come before, of which it says nothing."""
_BLANKS, _RUN = re.compile(r"[ \t]*"), re.compile(r"[\w-]*")


class Token(str):
    """A word of a sentence, or several that are one term, with its terminal and the place of its first character."""

    __slots__ = ("end", "kind", "start")
    kind: str
    start: int
    end: int

    @staticmethod
    def of(text: str, kind: str, start: int, end: int | None = None) -> "Token":
        """`end` where the text is not as long as what was written."""
        token = Token(text)
        token.kind, token.start, token.end = kind, start, start + len(text) if end is None else end
        return token


class Branch(NamedTuple):
    """What a rule of the grammar holds."""

    rule: str
    parts: tuple[Union["Branch", Token], ...]


class Stuck(Exception):
    """No sentence goes on like this from `place` on."""

    def __init__(self, place: int) -> None:
        super().__init__(place)
        self.place = place


class Reader:
    """A sentence that is being read, word by word."""

    def __init__(self, text: str) -> None:
        self._text, self._place = text, 0
        self._states: list[int] = [0]
        self._held: list[Branch | Token | list[Branch | Token]] = []
        """What each state after the first was entered with; a list for what a * or + in the grammar holds."""

    def next(self) -> Token | None:
        """The next word, None at the end; raises `Stuck`."""
        text, place = self._text, _BLANKS.match(self._text, self._place).end()  # type: ignore[union-attr]
        if place == len(text):
            return None
        run = _RUN.match(text, place)[0]  # type: ignore[index]
        for kind in STATES[self._states[-1]]:  # in the order in which lark tries them
            word = WORDS.get(kind)
            if word is None and kind in PATTERNS:
                letters, _ = PATTERNS[kind]
                found = (not letters or text[place] in letters) and _pattern(kind).match(text, place)
                word = found[0] if found else None
            elif word != run:
                continue
            if word is not None:
                kept = word.lstrip(", \t") if kind in AFTER_COMMA else word
                token = Token.of(kept, kind, place + len(word) - len(kept))
                self._feed(token)
                self._place = token.end
                return token
        raise Stuck(place)

    def _feed(self, token: Token) -> None:
        states, held = self._states, self._held
        while (action := STATES[states[-1]].get(token.kind)) is not None:
            if action >= 0:
                states.append(action)
                held.append(token)
                return
            self._reduce(action)
        raise Stuck(token.start)

    def _reduce(self, action: int) -> None:
        rule, expansion = RULES[~action]
        parts = list[Branch | Token]()
        for part in self._held[-len(expansion) :]:
            if isinstance(part, list):
                parts += part
            else:
                parts.append(part)
        del self._held[-len(expansion) :], self._states[-len(expansion) :]
        self._states.append(STATES[self._states[-1]][rule])
        self._held.append(parts if rule[:2] == "__" else parts[0] if rule == "start" else Branch(rule, tuple(parts)))

    def end(self) -> Branch:
        """What was read, if the sentence may end here; raises `Stuck`."""
        while self._states[-1] != END:
            action = STATES[self._states[-1]].get("$END")
            if action is None:
                raise Stuck(len(self._text))
            self._reduce(action)
        whole = self._held[-1]
        assert isinstance(whole, Branch)
        return whole

    def accepts(self) -> set[str]:
        """The terminals that may come next; "$END" if the sentence may end."""
        return {kind for kind in STATES[self._states[-1]] if kind.isupper() and self._takes(kind)}

    def _takes(self, kind: str) -> bool:
        states = list(self._states)
        while (action := STATES[states[-1]].get(kind)) is not None:
            if action >= 0:
                return True
            rule, expansion = RULES[~action]
            del states[-len(expansion) :]
            states.append(STATES[states[-1]][rule])
            if states[-1] == END:
                return True
        return False


def read(text: str) -> Branch:
    """A whole sentence; raises `Stuck`."""
    reader = Reader(text)
    while reader.next() is not None:
        pass
    return reader.end()


@cache
def _pattern(kind: str) -> re.Pattern[str]:
    """Compiled when a text first needs it: most scripts need a few."""
    return re.compile(PATTERNS[kind][1])
