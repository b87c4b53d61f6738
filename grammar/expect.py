"""What may come next in a sentence that is being written."""

from collections.abc import Mapping
from functools import cache, lru_cache

from .frozen import Frozen
from .reader import Reader, Stuck, Token
from .tables import RULES


class Expected(Frozen):
    """The words before a place, by terminal, and the terminals that may come there; "$END" if the sentence may end."""

    words: tuple[Token, ...]
    terminals: frozenset[str]

    @property
    def kinds(self) -> tuple[str, ...]:
        return tuple(word.kind for word in self.words)


@cache
def openings() -> Mapping[str, frozenset[str]]:
    """The terminals with which each rule begins."""
    first: dict[str, set[str]] = {}
    before = -1
    while before != (before := sum(map(len, first.values()))):
        for name, (symbol, *_) in RULES:
            first.setdefault(name, set()).update({symbol} if symbol.isupper() else first.get(symbol, ()))
    return {name: frozenset(symbols) for name, symbols in first.items()}


@lru_cache(2000)
def expected(before: str) -> Expected | None:
    """What may follow these words of a sentence; None if no sentence begins with them."""
    reader, words = Reader(before), list[Token]()
    try:
        while (word := reader.next()) is not None:
            words.append(word)
    except Stuck:
        return None
    return Expected(tuple(words), frozenset(reader.accepts()))
