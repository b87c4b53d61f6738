"""Likely slips, by example: what was written, and what to say about it. The first pattern that fits counts."""

import re

NEAR_AND_OTHER = frozenset({"from", "slice", "pause"})
"""Words that look like a keyword which is not meant."""

# (pattern on the line from the offending place on, what to say)
SLIPS = (
    (r"[,][0-9]", "a decimal is written with a point: 1.5 m"),
    (r"[:=;]", "no sign is needed here: a space is enough"),
    (r"\.[0-9]", "a number begins with a digit: 0.5 m"),
    (r"\.\s*$", "a sentence ends without a full stop"),
    (r"['’][0-9]{3}", "a number has no marks between its digits: 1200 rpm"),
    (r"['’′]([0-9]|\s)", "feet and inches are written as one number: 5.75 ft"),
    (r"[“”„«»‘’']", 'a title stands between straight double quotes: "like this"'),
    (r'"[^"]*$', "the closing double quote is missing"),
    (r"[-–—][0-9]", "a range is written with to: 1 to 3 m"),
    (r"to\s+[0-9]", "a range has one unit, behind it: 1 to 3 m"),
    (r"at\s+most\s+[0-9]+\s+alike", "a comma stands before it: mix high, low, at most 2 alike"),
    (r"[0-9]+\s+alike", "it is said: at most 2 alike"),
    (r"tall(?![\w-])", "a height has its unit: 1.72 m tall"),
    (r"(left|right)\s+handed", "it is one word: left-handed"),
    (r"(heavy|medium|light)\s+(top|back|side)spin", "the amount stands behind its kind: topspin heavy"),
    (r"slice", "slice is said as backspin, such as backspin 600 rpm"),
    (r"(pause|break)(?![\w-])", "a pause is a rest: rest 30 s"),
    (
        r"from\s+(the\s+)?(baseline|service\s+line)",
        "a distance from a line is inside or behind it: 2 m inside baseline",
    ),
    (r"high(?![\w-])", "a height is a part of the body or a length: shoulder, rising"),
    (r"(rising|falling|on\s+the\s+full)\s*$", "a comma stands before it: waist, falling"),
    (
        r"(rising|falling|on\s+the\s+full)\s*,",
        "it holds for the whole list and is said once, at its end: hip, waist, falling",
    ),
    (
        r",.*,\s*(rising|falling|on\s+the\s+full)\s*$",
        "what holds for the whole list is said once, at its end: hip, waist, falling",
    ),
    (r"(m|cm|ft|in)\s+over\s+(the\s+)?net", "over net is said once, at the end of the list: 1 m, 1.5 m over net"),
    (
        r"[0-9.]+\s*(rpm|rev/s)|(light|medium|heavy)(?![\w-])",
        "each spin has its kind: topspin 600 rpm, topspin 900 rpm",
    ),
    (r"[0-9]+\s+(min|balls?)(?![\w-])", "a block says first how long or how many, then which ball: 4 min steady"),
    (r"at\s+(least|most)", "a feed asks for one value: height 1 m over net"),
    (r"[0-9]+[A-Za-z]", "a name begins with a letter"),
    (r"\+|&", "two spins are joined by and: topspin 900 rpm and sidespin 300 rpm to the left"),
    (r"%", "the percent sign follows humidity only"),
    (r"//|--|/\*", "a comment begins with #"),
    (r"[\[\](){}]", "no brackets are needed"),
    (r"[°º]", "degrees are written C, F or deg"),
    (r"[^\x00-\x7f]", "outside titles and notes a script has plain letters and digits only: a to z, 0 to 9"),
)


def hint(rest: str) -> str | None:
    return next((text for pattern, text in SLIPS if re.match(pattern, rest, re.ASCII)), None)
