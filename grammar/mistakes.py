"""Likely slips, by example: what was written, and what to say about it. The first pattern that fits counts."""

import re

# (pattern on the line from the offending place on, what to say)
SLIPS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern, re.ASCII), hint)
    for pattern, hint in (
        (r"[,][0-9]", "a decimal is written with a point: 1.5 m"),
        (r"[:=;]", "no sign is needed here: a space is enough"),
        (r"[“”„«»‘’']", 'a title stands between straight double quotes: "like this"'),
        (r'"[^"]*$', "the closing double quote is missing"),
        (r"[-–—][0-9]", "a range is written with to: 1 to 3 m"),
        (r"\+|&", "two spins are joined by and: topspin 900 rpm and sidespin 300 rpm to the left"),
        (r"%", "the percent sign follows humidity only"),
        (r"//|--|/\*", "a comment begins with #"),
        (r"[\[\](){}]", "no brackets are needed"),
    )
)


def hint(rest: str) -> str | None:
    return next((text for pattern, text in SLIPS if pattern.match(rest)), None)
