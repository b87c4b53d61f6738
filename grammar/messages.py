"""What can be wrong with a single sentence, or with the way lines stand under one another."""

import re

from .facts import Names
from .finding import Hint, Message, OfName
from .terminals import SENTENCES


def _under(kind: str) -> str:
    """Where a line stands: under a sentence of this kind, or under none."""
    return f"under {SENTENCES.get(kind, kind)}" if kind else "at the margin"


INDENT = "    "
_HEAD = re.compile(r"\d+ rounds|session .*")
_UNDER_A_BLOCK = re.compile(r"(goal|first to|interval|note) |rest .* after every ")


class LikelySlip(Hint):
    """What is most often meant by what was written."""

    words: str
    says = "{words}"

    @property
    def lines(self) -> tuple[str, tuple[str, ...]]:
        """Where it says several lines: what comes before them, and each as it can be written, under its head."""
        before, colon, lines = self.words.rpartition(": ")
        if not colon or "; " not in lines:
            return self.words, ()
        deep, told = "", list[str]()
        for line in lines.split("; "):
            under = INDENT if told and _UNDER_A_BLOCK.match(line) else ""
            told.append(f"{deep}{under}{line}")
            deep = INDENT if _HEAD.fullmatch(line) else deep
        return before, tuple(told)


class UnitMissing(Hint):
    number: str
    unit: str
    says = "a number needs a unit: {number} {unit}"


class SortMissing(Hint):
    profile: str
    says = "the profile needs the word machine or person before it, such as person {profile}"


class UnexpectedWord(OfName):
    found: str
    wanted: Names
    says = "“{found}” does not fit here; wanted: {wanted}"
    title = "A word that does not fit its place"
    why = (
        "Each line is a sentence of the language. The message marks the first word that does not fit and says what "
        "does. Feedwright leaves this line out and checks the rest of the script."
    )
    example = "height wait, falling down"
    instead = "height waist, falling"


class Unfinished(Message):
    wanted: Names
    says = "the line stops early; wanted next: {wanted}"
    title = "A sentence that stops early"
    why = "The line ends where something has to follow, most often the unit of a number."
    example = "interval 4"
    instead = "interval 4 s"


MOST_HOMES = 3
"""So many places for a line are named. Own choice."""


class Misplaced(Message):
    kind: str
    over: str
    homes: Names
    out: int = 0
    """So many levels less indented it belongs under a line that is there, `near`; 0 where it belongs under none."""
    near: str = ""
    says = "{what} does not belong {where}; it belongs {home}"
    title = "A line in the wrong place"
    why = (
        "Lines belong under a head: court and surface under program, depth and height under feed, reply and goal "
        "under variation, blocks under session. Indentation says under which line a line stands."
    )
    example = "feed steady\n    reply deep"
    instead = 'variation rally "deep"\n    reply deep'

    @property
    def what(self) -> str:
        return SENTENCES.get(self.kind, self.kind)

    @property
    def where(self) -> str:
        return _under(self.over)

    @property
    def home(self) -> str:
        if self.out:
            return f"{'one level' if self.out == 1 else f'{self.out} levels'} further out, {_under(self.near)}"
        return " or ".join(map(_under, self.homes[:MOST_HOMES]))

    def advice(self) -> list[str]:
        return ["what stands there holds for the whole script"] if tuple(self.homes) == ("program",) else []


class HeadMissing(Message):
    kinds: Names
    over: str
    homes: Names
    says = "{what} do not belong {where}; {missing}"
    title = "Lines without their head"
    why = (
        "Several lines that belong together stand under a head to which none of them belongs, most often because their "
        "own head was lost. It is told once for all of them."
    )
    example = 'variation rally "deep"\n    reply deep\n\n    side middle\n    depth deep\n    spin flat'
    instead = 'variation rally "deep"\n    reply deep\n\nfeed steady\n    side middle\n    depth deep\n    spin flat'

    @property
    def what(self) -> str:
        *kinds, last = dict.fromkeys(SENTENCES.get(kind, kind) for kind in self.kinds)
        return f"{', '.join(kinds)} and {last}" if kinds else f"these lines, {last},"

    @property
    def where(self) -> str:
        return _under(self.over)

    @property
    def missing(self) -> str:
        home = " or ".join(SENTENCES.get(kind, kind) for kind in self.homes)
        named = " and its name" if {"feed", "zone", "variation", "point"}.issuperset(self.homes) else ""
        if not self.over:
            return f"they belong under {home}: indent them under it"
        return f"above them a line is missing that begins with {home}{named}"


class MixedIndentation(Message):
    says = "this line and those above mix spaces and tabs in their indentation"
    title = "Spaces and tabs mixed at the start of lines"
    why = (
        "A tab has no fixed width, so lines that look aligned may not be. A script is indented with spaces or with "
        "tabs, not both."
    )
    example = "    depth deep   (spaces)\n\tside middle  (a tab)"
    instead = "    depth deep\n    side middle"


class LineTooLong(Message):
    limit: int
    says = "this line has more than {limit} characters"
    title = "A line that is too long"
    why = "No sentence needs so many characters. Most often a line break is missing."
    example = "(a line of more than 400 characters)"
    instead = "(two lines)"


class ScriptTooLong(Message):
    limit: int
    says = "the script has more than {limit} lines"
    title = "A script that is too long"
    why = "No practice needs so many lines. Feedwright reads none of them."
    example = "(a script of more than 2000 lines)"
    instead = "(two scripts)"


class TooDeep(Message):
    what: str
    limit: int
    says = "{what} more than {limit} deep"
    title = "Lines, or feeds that are like one another, nested too deep"
    why = "Nobody can follow rounds within rounds within rounds, or a long chain of feeds that are like one another."
    example = "(33 lines, each indented under the one before)"
    instead = "2 rounds\n    8 balls steady"
