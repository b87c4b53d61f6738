"""A TextMate grammar for editors that colour words without a server, made from the grammar of the language."""

import json
import re

from ...grammar import FOLDER
from ...grammar.terminals import KEYWORDS

_TERMINAL = re.compile(r"^([A-Z_]+)(?:\.\d+)?\s*: /(.*)/$", re.M)
MADE = ("zone", "variation", "feed", "point", "given")
"""The words after which a name is made."""


def text_mate() -> str:
    """The grammar as JSON. Words stand in the scopes that colour schemes know: keyword, string, constant.numeric,
    comment, entity.name, variable."""
    terminals = {
        name: pattern.replace("\\/", "/")
        for name, pattern in _TERMINAL.findall((FOLDER / "feed.lark").read_text("utf-8"))
    }
    # Those of several words first, the longest first: `from net` before `from`, `in a row` before inches.
    words = sorted(set(KEYWORDS) - {"PERCENT"}, key=lambda name: (-KEYWORDS[name].count(" "), name))
    several, single = ("|".join(terminals[name] for name in words if (" " in KEYWORDS[name]) == more)
                       for more in (True, False))  # fmt: skip
    name = terminals["NAME"]
    patterns = [
        {"name": "comment.line.number-sign.feed", "match": "#.*$"},
        {"name": "string.quoted.double.feed", "match": terminals["TITLE"].replace("\\n", "")},
        {
            "match": rf"^\s*({'|'.join(MADE)})\s+({name})",
            "captures": {"1": {"name": "keyword.other.feed"}, "2": {"name": "entity.name.feed"}},
        },
        {
            "match": r"^\s*(when)\s+([^#]*)",
            "captures": {"1": {"name": "keyword.other.feed"}, "2": {"name": "string.unquoted.feed"}},
        },
        {"name": "keyword.other.feed", "match": rf"(?<![\w-])(?:{several})"},
        {"name": "constant.numeric.feed", "match": rf"(?<![\w-]){terminals['NUMBER']}(?![\w-])"},
        {
            "name": "keyword.other.unit.feed",
            "match": rf"(?:(?<=\d)|(?<=\d ))(?:{terminals['UNIT']}|{terminals['PERCENT']})",
        },
        {"name": "keyword.other.feed", "match": rf"(?<![\w-])(?:{single})"},
        {"name": "variable.other.feed", "match": rf"(?<![\w-]){name}"},
    ]
    grammar = {"name": "Feed script", "scopeName": "source.feed", "fileTypes": ["feed"], "patterns": patterns}
    return json.dumps(grammar, indent=1) + "\n"
