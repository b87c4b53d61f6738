"""Makes the tables that `reader.py` reads by of feed.lark, as lark compiles it."""

import re
from functools import cache
from re import _parser as patterns
from typing import Any

from lark import Lark
from lark.parsers.lalr_analysis import Shift

from . import FOLDER, fingerprint, grammar_text

FILE = FOLDER / "tables.py"
FULL_WORD = r"(?![\w-])"  # how the pattern of a keyword ends


@cache
def lark() -> Lark:
    return Lark(grammar_text(), parser="lalr", maybe_placeholders=False)


def tables() -> dict[str, Any]:
    """WORDS: the text of each keyword of one plain word. PATTERNS: of other terminals the characters with which they
    may begin, none where that says little, and the regular expression. RULES: each with its symbols. STATES: in each
    what a terminal or rule leads to, a state or, as ~number, the rule that is complete; terminals first, in the order
    in which lark tries them. The first is state 0, that of a whole sentence END."""
    found = lark()
    table = found.parser.parser._parse_table
    (start,), (end,) = table.start_states.values(), table.end_states.values()
    numbers = {rule: number for number, rule in enumerate(found.rules)}
    assert all(rule.expansion for rule in found.rules), "a rule that can hold nothing has no place"
    assert set(found.ignore_tokens) == {"__IGNORE_0"}  # blanks, which the reader skips by itself
    order = sorted(found.terminals, key=lambda t: (-t.priority, -t.pattern.max_width, -len(t.pattern.value), t.name))
    words, others = dict[str, str](), dict[str, tuple[str, str]]()
    for terminal in order:
        assert not terminal.pattern.flags
        regexp = terminal.pattern.to_regexp()
        plain = regexp.removesuffix(FULL_WORD)
        if plain != regexp and re.fullmatch(r"[\w-]+", plain):
            words[terminal.name] = plain
        elif terminal.name not in found.ignore_tokens:
            begins = "".join(sorted(_begins(patterns.parse(plain))[0])) if plain != regexp else ""
            others[terminal.name] = begins, regexp
    places = {terminal.name: place for place, terminal in enumerate(order)}
    rows = {
        state: {kind: row[kind] for kind in sorted(row, key=lambda kind: (places.get(kind, len(order)), kind))}
        for state, row in table.states.items()
    }
    # lark numbers the states anew each time; here they are numbered in the order in which they are come to.
    met = {start: 0}
    for state in (queue := [start]):
        for action, to in rows[state].values():
            if action is Shift and to not in met:
                met[to] = len(met)
                queue.append(to)
    states = tuple(
        {str(kind): met[to] if action is Shift else ~numbers[to] for kind, (action, to) in rows[state].items()}
        for state in met
    )
    rules = tuple((str(rule.origin.name), tuple(str(s.name) for s in rule.expansion)) for rule in found.rules)
    return {"WORDS": words, "PATTERNS": others, "RULES": rules, "STATES": states, "END": met[end]}


def _begins(pattern: Any) -> tuple[set[str], bool]:
    """The characters with which what a keyword's pattern matches may begin, and whether it may match nothing."""
    found = set[str]()
    for kind, held in pattern:
        name = str(kind)
        if name == "LITERAL":
            return found | {chr(held)}, False
        if name == "SUBPATTERN":
            begins, empty = _begins(held[3])
        elif name == "BRANCH":
            each = [_begins(branch) for branch in held[1]]
            begins, empty = set().union(*(begins for begins, _ in each)), any(empty for _, empty in each)
        else:
            assert name == "MAX_REPEAT", f"how a keyword with {name} begins is not known"
            begins, empty = _begins(held[2])
            empty |= held[0] == 0
        found |= begins
        if not empty:
            return found, False
    return found, True


def written() -> str:
    """The text of grammar/tables.py."""
    typed = {"STATES": ": tuple[dict[str, int], ...]"}
    parts = "".join(
        f"{name}{typed.get(name, '')} = {value!r}\n" for name, value in {"GRAMMAR": fingerprint(), **tables()}.items()
    )
    return f'"""The tables of feed.lark, written by tests/test_grammar_tables.py --update."""\n\n{parts}'
