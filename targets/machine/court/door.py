"""Who may come in: one-time words for phones, one word for those who only watch, and the phones that have joined.

The server's thread lets phones in and the replay's own thread sends them away, so each call holds a lock for a moment.
"""

import secrets
from dataclasses import dataclass
from hmac import compare_digest
from threading import Lock

from ....compiler.printable import visible
from ..wire.rules import CODE_ALPHABET
from .asks import Joining

WORD_LENGTH = 12
"""22 characters to the power of 12 are 53 bits, and no more than WRONG_TRIES words can be tried."""
WRONG_TRIES = 20
MOST_PHONES, MOST_WATCHING = 10, 24
"""Phones have the numbers 1 to 10, so that one key names each; who only watches has a higher one."""


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone that has joined. `watches`: it only reads. `entry` counts all that came in, because a number is given
    again once its phone was sent away."""

    number: int
    name: str
    watches: bool
    entry: int = 0


class NoEntry(Exception):
    """Why a phone may not come in, in one sentence."""


def drawn_word() -> str:
    return "".join(secrets.choice(CODE_ALPHABET) for _ in range(WORD_LENGTH))


class Door:
    def __init__(self, watching: bool = False) -> None:
        """`watching`: whether there is a word for those who only watch."""
        self._lock = Lock()
        self._phones: dict[str, Phone] = {}
        self._by_word: dict[str, str] = {}
        """A used word to the token that used it."""
        self._wrong = self._entries = 0
        self.word, self.watch_word = drawn_word(), drawn_word() if watching else ""

    def renew(self) -> str:
        """A new word for the next phone; the one before, if nobody used it, is void."""
        with self._lock:
            self.word, self._wrong = drawn_word(), 0
            return self.word

    def join(self, asked: Joining) -> tuple[Phone, bool]:
        """The phone, and whether it is new. The same phone may ask again with the same word."""
        with self._lock:
            known = self._phones.get(asked.token)
            if known is not None and self._by_word.get(asked.word) == asked.token:
                return known, False
            if self._wrong >= WRONG_TRIES:
                raise NoEntry("Too many wrong words. Press j at the keyboard for a new one.")
            watches = bool(self.watch_word) and compare_digest(asked.word, self.watch_word)
            if known is not None or not (watches or (self.word and compare_digest(asked.word, self.word))):
                self._wrong += 1
                raise NoEntry("This word is used up or wrong. Press j at the keyboard for a new one.")
            first, most = (MOST_PHONES + 1, MOST_WATCHING) if watches else (1, MOST_PHONES)
            taken = {one.number for one in self._phones.values()}
            number = next((n for n in range(first, first + most) if n not in taken), None)
            if number is None:
                raise NoEntry("No more phones can join.")
            self._entries += 1
            phone = Phone(number, visible(asked.name) or f"phone {number}", watches, self._entries)
            self._phones[asked.token] = phone
            if not watches:
                self._by_word[asked.word], self.word = asked.token, ""
            return phone, True

    def who(self, token: str) -> Phone | None:
        with self._lock:
            return self._phones.get(token)

    def phones(self) -> tuple[Phone, ...]:
        with self._lock:
            return tuple(self._phones.values())

    def send_away(self, number: int) -> Phone | None:
        """From now on this phone is a stranger."""
        with self._lock:
            found = next((token for token, phone in self._phones.items() if phone.number == number), None)
            return self._phones.pop(found) if found else None

    def send_watchers_away(self) -> tuple[Phone, ...]:
        """All who only watch, and their word with them."""
        with self._lock:
            gone = {token: phone for token, phone in self._phones.items() if phone.watches}
            for token in gone:
                del self._phones[token]
            self.watch_word = drawn_word() if self.watch_word else ""
            return tuple(gone.values())
