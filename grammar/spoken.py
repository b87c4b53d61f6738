"""What coaches say, and how a script writes it.

`spoken.txt` has three lines for each: a pattern of a whole line that could not be read, such a line, and its answer.
The first pattern that fits counts. In a pattern a blank is any space, and a word in angle brackets is one of PARTS. An
answer ends with the sentences to write, after its first colon, joined by semicolons; numbers and names of the line go
into them. An answer that has to be worked out is the name of a function of WORKED_OUT, after an equals sign.
"""

import re
from collections.abc import Callable
from functools import cache
from math import gcd
from typing import NamedTuple

from . import FOLDER
from .in_words import NUMBERS, read_in_digits
from .reader import Stuck

PARTS = {
    "number": r"([0-9]+(?:\.[0-9]+)?)",
    "name": r"[A-Za-z][\w-]*",
    "level": r"(beginner|improver|club|tournament)",
    "seconds": r"(?:s|secs?|seconds?)\b",
    "minutes": r"(?:mins?|minutes?)\b",
    "amount": r"([0-9]+\s+(?:min|s|balls?))\b",
    "feeder": r"(feeder\s+(?:machine|person)\s+[\w-]+)",
}


class Saying(NamedTuple):
    pattern: re.Pattern[str]
    example: str
    answer: str


@cache
def sayings() -> tuple[Saying, ...]:
    text = (FOLDER / "spoken.txt").read_text("utf-8")
    rows = [row.strip() for row in text.splitlines() if row.strip() and not row.startswith("#")]
    return tuple(Saying(_pattern(rows[at]), rows[at + 1], rows[at + 2]) for at in range(0, len(rows), 3))


def _pattern(written: str) -> re.Pattern[str]:
    whole = re.sub(r"<([a-z]+)>", lambda part: PARTS[part[1]], written.replace(" ", r"\s+"))
    return re.compile(whole, re.ASCII)


def said(line: str) -> Saying | None:
    """The first of the sayings that fits a line."""
    return next((one for one in sayings() if one.pattern.match(line)), None)


def answer(line: str, further: int = 2) -> str | None:
    """What to write in place of a line that could not be read; None if it says nothing that coaches say. Where the line
    has another slip, the answer to that one goes in, `further` times; a line that nobody could copy gives way to that
    of the example."""
    one = said(line)
    if not one:
        return None
    why, _, written = _told(one, line).partition(": ")
    sentences = [_readable(sentence, further) for sentence in written.split("; ")]
    return f"{why}: {'; '.join(sentences)}" if all(sentences) else _told(one, one.example)


def _told(one: Saying, line: str) -> str:
    found = one.pattern.match(line)
    assert found
    return WORKED_OUT[one.answer[2:]](found) if one.answer.startswith("= ") else found.expand(one.answer)


def _readable(sentence: str, further: int) -> str:
    """The sentence, or what is answered to it; empty if neither can be read."""
    try:
        read_in_digits(sentence)
        return sentence
    except Stuck:
        told = answer(sentence, further - 1) if further else None
        return told.partition(": ")[2] if told else ""


def _shares(found: re.Match[str]) -> str:
    """low 70%, high 30%: 70 % low, 30 % high; shares that are no hundred as whole numbers."""
    percent, name = r"([0-9]+)\s*(?:%|percent)", f"({PARTS['name']})"
    pairs = re.findall(rf"{percent}\s*{name}", found[0])
    pairs = pairs or [(share, ball) for ball, share in re.findall(rf"{name}\s+{percent}", found[0])]
    if len(pairs) < 2:
        return "all shares of a mix are in percent, or none is: 2 min mix 70 % low, 30 % high"
    whole = gcd(*(int(share) for share, _ in pairs)) or 1
    hundred = sum(int(share) for share, _ in pairs) == 100
    balls = ", ".join(f"{share} % {ball}" if hundred else f"{int(share) // whole} {ball}" for share, ball in pairs)
    amount = re.match(PARTS["amount"], found[0])
    return f"shares are those of a mix, and come first: {amount[1] if amount else '2 min'} mix {balls}"


def _share(found: re.Match[str]) -> str:
    """goal 80 percent of 20: goal 16 of 20."""
    word, percent = found[0].split()[0], min(int(found[1]), 100)
    balls = int(found[2] or (10 if percent % 10 == 0 else 20))
    hits = max(-(-percent * balls // 100), 1)
    return f"a share is so many hits among so many balls: {word} {hits} of {balls}"


def _fewer(found: re.Match[str]) -> str:
    """down under 3 of 8: down 6 misses in every 8."""
    hits, among = int(found[2]), int(found[4])
    misses, every = max(among - hits + 1, 1), "every " if found[3] else ""
    return f"too few hits are so many misses: {found[1]} {misses} misses in {every}{among}"


def _one_word(found: re.Match[str]) -> str:
    """The groups are what stands before a name, the name in several words, and what stands after it."""
    return f"a name is one word, with hyphens for blanks: {found[1]} {'-'.join(found[2].split())}{found[3] or ''}"


def _per_minute(found: re.Match[str]) -> str:
    each = 60 / max(float(found[1]), 0.1)
    return f"how often a ball comes is the time from one to the next: interval {each:.3g} s"


def _feet(found: re.Match[str]) -> str:
    return f"feet and inches are one number: player right-handed, {int(found[1]) + float(found[2]) / 12:.2f} ft tall"


def _order(found: re.Match[str]) -> str:
    balls = ", ".join(part for part in re.split(r"\s*(?:,|\band\b|\bor\b|\bthen\b)\s*", found[2]) if part)
    return f"several balls need an order, cycle or mix: {found[1]} cycle {balls}"


def _each_in_order(found: re.Match[str]) -> str:
    balls = ", ".join(f"{name} {found[3]}" for name in re.split(r",\s*", found[4]))
    return f"the words come after each family: {found[1]} {found[2]} {balls}"


def _in_a_row(found: re.Match[str]) -> str:
    """never two lobs in a row: at most 1 lob in a row; of the balls of the mix, the one that is meant."""
    amount, mix, number, ball = found.groups()
    more = "more" in found[0] or " over " in found[0]
    many = {"two": 2, "2": 2, "three": 3, "3": 3}.get(number or "", 1 if more else 2) - (not more)
    names = re.findall(PARTS["name"], mix)[1:]
    if ball in ("ball", "balls", "kind", "same", "alike"):
        return f"how many alike may come in a row is: {amount} {mix}, at most {max(many, 1)} alike"
    meant = next((name for name in names if ball in (name, f"{name}s", f"{name}es")), ball)
    meant = "to one side" if meant == ball and ball.rstrip("s") in ("forehand", "backhand", "left", "right") else meant
    return f"how many of one may come in a row is: {amount} {mix}, at most {max(many, 1)} {meant} in a row"


def _side_in_a_row(found: re.Match[str]) -> str:
    amount, mix, more, most, number = found.groups()
    many = NUMBERS.get(number) or int(number)
    limit = max(many if more or most else many - 1, 1)
    return f"how many may come to one side in a row is: {amount} {mix}, at most {limit} to one side in a row"


def _bar(found: re.Match[str]) -> str:
    way = "below" if found[2] in ("below", "under") or "lower" in found[0] else "above"
    return f"the limit of a height is: limit nothing {way} {found[3]}"


def _lasts(found: re.Match[str]) -> str:
    title = found[1].rstrip(",")
    return f"how long it takes is one number: {title}, lasts {60 * int(found[2]) + int(found[3])} s"


def _alike(found: re.Match[str]) -> str:
    many = (NUMBERS.get(found[3]) or int(found[3])) - 1
    return f"how many alike may come in a row is: {found[1]} {found[2]}, at most {many} alike"


def _rounds(found: re.Match[str]) -> str:
    many, *block, one, unit, other, other_unit = found.groups()
    rest = f"{one or other} {unit or other_unit}"
    block = block or ["8 balls steady"]
    return f"rounds repeat the lines under them: {many} rounds; {block[0]}; rest {rest} between rounds"


def _rest_every(found: re.Match[str]) -> str:
    amount, order, *rest, each = found.groups()
    time, what = " ".join(part for part in rest if part), "points" if "point" in amount else "balls"
    return f"a rest inside a block stands under it: {amount} {order}; rest {time} after every {each} {what}"


def _in_turn(found: re.Match[str]) -> str:
    balls = ", ".join(re.findall(rf"{PARTS['name']} for {PARTS['name']}", found[2]))
    return f"a cycle keeps the order and says whose each ball is: {found[1]} cycle {balls}"


def _changing(found: re.Match[str]) -> str:
    often = f"{found[1]} {found[2]}s" if found[1] else "ball"
    return f"how players with names take turns is: rotation changing every {often}"


def _pause(found: re.Match[str]) -> str:
    return f"a time is one number: {found[1]} {60 * int(found[2]) + int(found[3])} s"


WORKED_OUT: dict[str, Callable[[re.Match[str]], str]] = {
    "shares": _shares,
    "share": _share,
    "fewer": _fewer,
    "one-word": _one_word,
    "per-minute": _per_minute,
    "feet": _feet,
    "order": _order,
    "each-in-order": _each_in_order,
    "side-in-a-row": _side_in_a_row,
    "bar": _bar,
    "lasts": _lasts,
    "in-a-row": _in_a_row,
    "alike": _alike,
    "rounds": _rounds,
    "rest-every": _rest_every,
    "in-turn": _in_turn,
    "changing": _changing,
    "pause": _pause,
}
