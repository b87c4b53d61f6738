"""Numbers, times and units that a coach writes in words, as the digits and units of the language.

A word is taken so only where the line cannot be read otherwise: a name such as `two` stays a name. The
text keeps its length and its places: what takes fewer characters is filled up with blanks.
"""

import re

from .reader import Branch, Reader, Stuck, Token, read
from .units import SPELLINGS

_NUMBERS = (
    "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen twenty"
)
NUMBERS = {word: number for number, word in enumerate(_NUMBERS.split(), start=1)} | {
    "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "ninety": 90,
}  # fmt: skip
_UNITS = [word for word, unit in SPELLINGS.items() if word.isalpha() and len(unit) <= len(word) and word != "degrees"]
_WORD = "|".join(sorted(NUMBERS, key=len, reverse=True))
_UNIT = "|".join(sorted(_UNITS, key=len, reverse=True))
_END = r"(?![\w/-])"
_SAID = re.compile(
    rf"(?<![\w-])(?:(?P<half>half\s+an?\s+(?P<of>{_UNIT}|hour|min|cm|m|s))"
    rf"|(?P<hour>(?:an|one|1)\s+hour)"
    rf"|(?P<more>{_WORD}|[0-9]+)\s+and\s+a\s+half"
    rf"|(?P<min>{_WORD}|[0-9]+)\s*(?:min|mins|minutes?)\s+(?:and\s+)?(?P<s>{_WORD}|[0-9]+)\s*(?:s|secs?|seconds?)"
    rf"|(?P<word>{_WORD})"
    rf"|(?<=[0-9a-z] )(?P<unit>{_UNIT}))"
    rf"{_END}"
)
_QUOTED = re.compile(r'("[^"]*"?)')


def in_digits(line: str) -> str:
    """The line with digits and units in place of the words at which it cannot be read, outside its texts in quotes."""
    words = [found for found in _SAID.finditer(_QUOTED.sub(lambda quoted: "~" * len(quoted[0]), line))]
    stop = _stops(line)
    while stop < len(line) or not _ends(line):
        found = next((word for word in reversed(words) if word.start() <= stop), None)
        if found is None:
            break
        words.remove(found)
        other = line[: found.start()] + _written(found) + line[found.end() :]
        further = _stops(other)
        if further > stop or further == len(line):
            line, stop = other, further
    return line


def _written(found: re.Match[str]) -> str:
    return f"{_value(found):<{len(found[0])}}"


def _value(found: re.Match[str]) -> str:
    said = found.groupdict()
    if said["half"]:
        return "30 min" if said["of"] == "hour" else f"0.5 {SPELLINGS.get(said['of'], said['of'])}"
    if said["hour"]:
        return "60 min"
    if said["more"]:
        return f"{_number(said['more'])}.5"
    if said["min"]:
        return f"{60 * _number(said['min']) + _number(said['s'])} s"
    return str(_number(said["word"])) if said["word"] else SPELLINGS[said["unit"]]


def _number(said: str) -> int:
    return NUMBERS.get(said) or int(said)


def _stops(text: str) -> int:
    """The place of the first word with which no sentence goes on, or the end."""
    reader = Reader(text)
    try:
        while reader.next() is not None:
            pass
        return len(text)
    except Stuck as stuck:
        return stuck.place


def _ends(text: str) -> bool:
    try:
        read(text)
        return True
    except Stuck:
        return False


def read_in_digits(line: str) -> Branch:
    """The words of a sentence with numbers in words, each with the place of its word; raises `Stuck`."""
    return _spread(read(in_digits(line)), line)


def _spread(branch: Branch, line: str) -> Branch:
    return Branch(
        branch.rule,
        tuple(_spread(part, line) if isinstance(part, Branch) else _in_place(part, line) for part in branch.parts),
    )


def _in_place(token: Token, line: str) -> Token:
    """The token with the length of the word that it stands for, so that a message marks the whole word."""
    if token == line[token.start : token.end]:
        return token
    word = re.compile(r"[\w-]+").match(line, token.start)
    return Token.of(token, token.kind, token.start, word.end() if word else None)
