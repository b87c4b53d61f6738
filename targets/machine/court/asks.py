"""What a phone may ask, and the one place where bytes from a phone become complete values.

There is no ask that arms, answers, goes on, skips or chooses a ball: what is not in `Ask` cannot be said.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

MOST_ASKS = 64
"""Most asks of one exchange; a phone that was away has that many marks to tell at most, and tells the rest next."""
MOST_NAME = 24
LARGEST = 1_000_000_000


class Ask(Enum):
    """What a numbered ask wants. STOP has a way of its own, waits for no number and may be said any number of times."""

    PAUSE = "pause"
    HIT = "hit"
    MISS = "miss"
    UNDO = "undo"


MARKS = {Ask.HIT: True, Ask.MISS: False}


@dataclass(frozen=True, slots=True)
class PhoneAsk:
    """`number` counts a phone's asks from 1. `ball`: for a mark, which ball is meant: the how many-th thrown since the
    start of the replay, as the phone showed it; 0 for other asks."""

    number: int
    ask: Ask
    ball: int = 0


@dataclass(frozen=True, slots=True)
class Joining:
    """A phone asks to join. It draws the token, so that it can ask again if the answer was lost."""

    word: str
    token: str
    name: str


class BadWords(ValueError):
    """What came is no message of the page."""


def exchange(body: bytes) -> tuple[PhoneAsk, ...]:
    """The asks of an exchange, in the order of their numbers."""
    given = _object(body, {"asks"}).get("asks")
    if not isinstance(given, list) or len(given) > MOST_ASKS:
        raise BadWords("asks is a list")
    asks = sorted((_ask(one) for one in given), key=lambda one: one.number)
    if len({one.number for one in asks}) < len(asks):
        raise BadWords("two asks have one number")
    return tuple(asks)


def joining(body: bytes) -> Joining:
    given = _object(body, {"word", "token", "name"})
    word, token, name = (given.get(key) for key in ("word", "token", "name"))
    if not (isinstance(word, str) and isinstance(token, str) and isinstance(name, str)):
        raise BadWords("word, token and name are text")
    if not re.fullmatch(r"[a-z0-9]{1,32}", word) or not re.fullmatch(r"[0-9a-f]{32}", token):
        raise BadWords("the word or the token is ill-formed")
    return Joining(word, token, " ".join(name.split())[:MOST_NAME])


def _ask(one: object) -> PhoneAsk:
    if not isinstance(one, dict) or not one.keys() <= {"number", "ask", "ball"}:
        raise BadWords("an ask has a number, an ask and a ball")
    number, ball = one.get("number"), one.get("ball", 0)
    if type(number) is not int or type(ball) is not int or not (1 <= number <= LARGEST and 0 <= ball <= LARGEST):
        raise BadWords("numbers are whole numbers")
    try:
        ask = Ask(one.get("ask"))
    except ValueError:
        raise BadWords("there is no such ask") from None
    if (ask in MARKS) != (ball > 0):
        raise BadWords("a mark names its ball, and nothing else does")
    return PhoneAsk(number, ask, ball)


def _object(body: bytes, keys: set[str]) -> Mapping[str, object]:
    try:
        given = json.loads(body)
    except (ValueError, RecursionError):
        raise BadWords("this is no JSON") from None
    if not isinstance(given, dict) or not given.keys() <= keys:
        raise BadWords(f"an object with {', '.join(sorted(keys))}")
    return given
