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
MOST_PHONES, MOST_WATCHING = 12, 24


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone that has joined. `watches`: it only reads."""

    number: int
    name: str
    watches: bool


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
        self._joined = self._wrong = 0
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
            if sum(one.watches is watches for one in self._phones.values()) >= (
                MOST_WATCHING if watches else MOST_PHONES
            ):
                raise NoEntry("No more phones can join.")
            self._joined += 1
            phone = Phone(self._joined, visible(asked.name) or f"phone {self._joined}", watches)
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
            for token, phone in self._phones.items():
                if phone.number == number:
                    del self._phones[token]
                    return phone
        return None
