"""What a phone may ask, and the one place where bytes from a phone become complete values.

There is no ask that arms, answers, goes on, skips or chooses a ball: what is not in `Ask` cannot be said. A phone
beside a sheet, where a person feeds, says only how replies were.
"""

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Protocol, TypeVar

from ...log.progress import Verdict

MOST_ASKS = 64
"""Most asks of one exchange; a phone that was away has that many marks to tell at most, and tells the rest next."""
MOST_NAME = 24
LARGEST = 1_000_000_000
LATEST_S = 1 << 33
"""Seconds since 1970 that a phone's clock may show; the year 2242."""


class Ask(Enum):
    """What a numbered ask wants. STOP has a way of its own, waits for no number and may be said any number of times."""

    PAUSE = "pause"
    HIT = "hit"
    MISS = "miss"
    UNDO = "undo"


MARKS = {Ask.HIT: True, Ask.MISS: False}
VERDICTS = {"hit": Verdict.HIT, "miss": Verdict.MISS, "not judged": Verdict.NOT_JUDGED}


@dataclass(frozen=True, slots=True)
class PhoneAsk:
    """`number` counts a phone's asks from 1. `ball`: for a mark, which ball is meant: the how many-th thrown since the
    start of the replay, as the phone showed it; 0 for other asks."""

    number: int
    ask: Ask
    ball: int = 0


@dataclass(frozen=True, slots=True)
class SheetMark:
    """How the reply to a ball of a sheet was. `number` counts the marks of a practice from 1; `ball`: the how many-th
    launch of the plan; `shot`: the how many-th shot of the plan it was, from 0; `at_s`: seconds since 1970."""

    number: int
    ball: int
    shot: int
    verdict: Verdict
    at_s: int


@dataclass(frozen=True, slots=True)
class SheetNews:
    """Some marks of a practice, which the phone has named itself (32 hex digits), in the order of their numbers."""

    practice: str
    marks: tuple[SheetMark, ...]


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
    return _in_order(_object(body, {"asks"}).get("asks"), _ask)


def sheet(body: bytes) -> SheetNews:
    """What a phone beside a sheet says."""
    given = _object(body, {"practice", "marks"})
    practice = given.get("practice")
    if not isinstance(practice, str) or not re.fullmatch(r"[0-9a-f]{32}", practice):
        raise BadWords("a practice is 32 hex digits")
    return SheetNews(practice, _in_order(given.get("marks"), _sheet_mark))


class Numbered(Protocol):
    @property
    def number(self) -> int: ...


N = TypeVar("N", bound=Numbered)


def _in_order(given: object, read: Callable[[object], N]) -> tuple[N, ...]:
    if not isinstance(given, list) or len(given) > MOST_ASKS:
        raise BadWords("asks are a list")
    asks = sorted((read(one) for one in given), key=lambda one: one.number)
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
    number, ball = _whole(one.get("number"), 1), _whole(one.get("ball", 0), 0)
    try:
        ask = Ask(one.get("ask"))
    except ValueError:
        raise BadWords("there is no such ask") from None
    if (ask in MARKS) != (ball > 0):
        raise BadWords("a mark names its ball, and nothing else does")
    return PhoneAsk(number, ask, ball)


def _sheet_mark(one: object) -> SheetMark:
    if not isinstance(one, dict) or one.keys() != {"number", "ball", "shot", "verdict", "at"}:
        raise BadWords("a mark has a number, a ball, a shot, a verdict and a second")
    verdict = one["verdict"]
    if not isinstance(verdict, str) or verdict not in VERDICTS:
        raise BadWords("there is no such verdict")
    at_s = _whole(one["at"], 0, LATEST_S)
    return SheetMark(_whole(one["number"], 1), _whole(one["ball"], 1), _whole(one["shot"], 0), VERDICTS[verdict], at_s)


def _whole(given: object, least: int, most: int = LARGEST) -> int:
    if type(given) is not int or not least <= given <= most:
        raise BadWords("numbers are whole numbers")
    return given


def _object(body: bytes, keys: set[str]) -> Mapping[str, object]:
    try:
        given = json.loads(body)
    except (ValueError, RecursionError):
        raise BadWords("this is no JSON") from None
    if not isinstance(given, dict) or not given.keys() <= keys:
        raise BadWords(f"an object with {', '.join(sorted(keys))}")
    return given
