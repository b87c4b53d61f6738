"""Likely mistakes: a pattern of what was written, and the hint for it. The first pattern that fits counts."""

import re
from collections.abc import Iterable

MOST_NAMES, LONGEST_NAME = 200, 40
ALL_BUT = 0.86
"""How alike (as difflib counts it) a word and a name are if the one is the other with a slip of the pen."""

NEAR_AND_OTHER = frozenset({"from", "slice", "pause"})
"""Words that look like a keyword but mean something else."""

COMMA = "a comma comes"
# (pattern on the line from the offending place, the hint)
SLIPS = (
    (r"[,][0-9]", "a decimal is written with a point: 1.5 m"),
    (r"[:=;]", "no sign is needed here: a space is enough"),
    (r"\.[0-9]", "a number begins with a digit: 0.5 m"),
    (r"\.\s*$", "a sentence ends without a full stop"),
    (r"['’][0-9]{3}", "a number has no marks between its digits: 1200 rpm"),
    (r"['’′]([0-9]|\s)", "feet and inches are written as one number: 5.75 ft"),
    (r"[“”„«»‘’']", 'a title is in straight double quotes: "like this"'),
    (r'"[^"]*$', "the closing double quote is missing"),
    (r"[-–—][0-9]", "a range is written with to: 1 to 3 m"),
    (r"to\s+[0-9]", "a range has one unit, at its end: 1 to 3 m"),
    (r"at\s+most\s+[0-9]+\s+alike", "a comma comes before it: mix high, low, at most 2 alike"),
    (r"[0-9]+\s+alike", "the limit is written: at most 2 alike"),
    (r"tall(?![\w-])", "a height needs a unit: 1.72 m tall"),
    (r"(heavy|medium|light)\s+(top|back|side)spin", "the amount comes after the kind: topspin heavy"),
    (r"slice", "slice is written as backspin, such as backspin 600 rpm"),
    (r"high(?![\w-])", "a height is a part of the body or a length: shoulder, rising"),
    (r"(rising|falling|on\s+the\s+full)\s*$", "a comma comes before it: waist, falling"),
    (
        r"(rising|falling|on\s+the\s+full)\s*,",
        "it holds for the whole list and comes once, at the end: hip, waist, falling",
    ),
    (
        r",.*,\s*(rising|falling|on\s+the\s+full)\s*$",
        "what holds for the whole list comes once, at the end: hip, waist, falling",
    ),
    (r"(m|cm|ft|in)\s+over\s+(the\s+)?net", "over net comes once, at the end of the list: 1 m, 1.5 m over net"),
    (
        r"[0-9.]+\s*(rpm|rev/s)|(light|medium|heavy)(?![\w-])",
        "each spin needs its kind: topspin 600 rpm, topspin 900 rpm",
    ),
    (r"[0-9]+\s+(min|balls?)(?![\w-])", "a block starts with how long or how many, then comes the ball: 4 min steady"),
    (
        r"at\s+(least|most)",
        "at least and at most go with height, pace, spin and time: pace at most 80 km/h, spin at least 1200 rpm",
    ),
    (r"[0-9]+[A-Za-z]", "a name begins with a letter"),
    (r"\+|&", "two spins are joined by and: topspin 900 rpm and sidespin 300 rpm to the left"),
    (r"%", "the percent sign follows humidity, scatter in pace and the shares of a mix"),
    (r"//|--|/\*", "a comment begins with #"),
    (r"[\[\](){}]", "no brackets are needed"),
    (r"[°º]", "degrees are written C, F or deg"),
    (r"[^\x00-\x7f]", "outside titles and notes a script has plain letters and digits only: a to z, 0 to 9"),
)


UNITS = {"interval": "s", "time": "s", "rest": "s", "collect": "s", "pace": "km/h", "spin": "rpm"}
"""The usual unit of a number, by the word that opens its line; elsewhere metres."""

# (pattern on the whole line, the hint); these come before the hints for the offending place
TURNS = (
    (r"[^\"]*\b((no|not)\s+more\s+than|max(imum)?)\b", "the limit is written: at most 2 alike"),
    (
        r"[^\"]*\b(cycle|mix)\b([^\"]*,)?\s*([0-9]+\s+)?[A-Za-z][\w-]*\s+(?!at\s+most\b)([0-9]+\s+)?[A-Za-z]",
        "commas separate balls, and a name is one word: cycle low, high-ball",
    ),
    (
        r"[0-9]+\s+(?!(balls?|rounds?|min|s|secs?|seconds?)\b)[A-Za-z]",
        "a block of balls has the word balls: 8 balls fast",
    ),
    (r"height\s+(rising|falling)", "the height comes first: height waist, falling"),
    (r"height\s+.*volley", "a volley is met on the full: height shoulder, on the full"),
    (r"spin\s+kick", "a kick is written as its spin: topspin heavy"),
    (r"(interval|pace|rest|collect)\s+every", "the amount alone is enough: interval 6 s"),
    (r"interval\s+[A-Za-z]", "an interval is an amount, or a name for one: interval 6 s, interval given rhythm"),
    (
        r"ladder\s.*\bat\s+most",
        "the number of balls comes before the rungs: ladder climb, up to 30 balls, height 1, 2 m over net",
    ),
    (r"player\s.*handed\s+[0-9]", "a comma comes between: right-handed, 1.72 m tall"),
)


def hint(line: str, place: int) -> str | None:
    """The hint for a mistake at a place of a line."""
    rest = line[max(place - 1, 0) :] if line[place - 1 : place] == "," else line[place:]
    whole = (text for pattern, text in TURNS if re.match(pattern, line, re.ASCII))
    there = line[:place].rstrip().endswith(",")  # then it is no comma that is missing
    slips = (text for pattern, text in SLIPS if re.match(pattern, rest, re.ASCII))
    return next(whole, None) or next((text for text in slips if not (there and text.startswith(COMMA))), None)


def turned(line: str) -> bool:
    """Whether the whole line has to change, so that names like the offending word would mislead."""
    return any(re.match(pattern, line, re.ASCII) for pattern, _ in TURNS)


def spoken(line: str, near: Iterable[str] = (), found: str = "") -> str | None:
    """How a script writes what this line says as coaches do; None if it does not, or if the offending word is all but
    one of the words `near` it."""
    if near_names(found, near, ALL_BUT):
        return None
    from .spoken import answer  # slow to load, and only mistakes need it

    return answer(line)


_OPENING = re.compile(r"(\w+)\s+([A-Za-z][\w-]*)(?![^\s,])", re.ASCII)


def opening(line: str) -> tuple[str, str]:
    """The first word of a line that could not be read, and the name after it; empty if the line starts otherwise."""
    found = _OPENING.match(line)
    return (found[1], found[2]) if found else ("", "")


def near_names(name: str, known: Iterable[str], cutoff: float = 0.6) -> list[str]:
    """At most three known names that look like `name`; none for very many or very long names, which take too long."""
    names = [n for n in known if len(n) <= LONGEST_NAME]
    from difflib import get_close_matches  # slow to load, and only mistakes need it

    return get_close_matches(name[: LONGEST_NAME + 1], names, 3, cutoff) if len(names) <= MOST_NAMES else []
