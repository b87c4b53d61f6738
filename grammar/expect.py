"""What may come next in a sentence that is being written."""

from collections.abc import Mapping
from functools import cache

from lark import Token
from lark.exceptions import UnexpectedInput

from .frozen import Frozen
from .parse import parser


class Expected(Frozen):
    """The words before a place, by terminal, and the terminals that may come there; "$END" if the sentence may end."""

    words: tuple[Token, ...]
    terminals: frozenset[str]

    @property
    def kinds(self) -> tuple[str, ...]:
        return tuple(word.type for word in self.words)


@cache
def openings() -> Mapping[str, frozenset[str]]:
    """The terminals with which each rule begins."""
    first: dict[str, set[str]] = {}
    rules = [(str(rule.origin.name), rule.expansion[0]) for rule in parser().rules if rule.expansion]
    before = -1
    while before != (before := sum(map(len, first.values()))):
        for name, symbol in rules:
            first.setdefault(name, set()).update(
                first.get(str(symbol.name), ()) if not symbol.is_term else {symbol.name}
            )
    return {name: frozenset(symbols) for name, symbols in first.items()}


def expected(before: str) -> Expected | None:
    """What may follow these words of a sentence; None if no sentence begins with them."""
    reader = parser().parse_interactive(before)
    words = []
    try:
        for token in reader.lexer_thread.lex(reader.parser_state):
            reader.feed_token(token)
            words.append(token)
    except UnexpectedInput:
        return None
    return Expected(tuple(words), frozenset(reader.accepts()))
