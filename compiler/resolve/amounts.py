"""Numbers with units, checked for kind and for sense."""

from collections.abc import Callable, Hashable, Iterable
from typing import NamedTuple, TypeVar

from ...grammar import units
from ...grammar.edits import Edit
from ...grammar.facts import Between, Names, Numbers, read_in
from ...grammar.finding import Finding, Hint, Message
from ...grammar.frozen import Changing, own
from ...grammar.messages import LikelySlip
from ...grammar.mistakes import near_names, spoken
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import Amount, Bounds, Extent, Interval, Quantity, Series, Word
from ..findings.names import Duplicate, ImpossibleNumber, RangeBackwards, RangeNotHere, UnknownName, WrongUnit
from ..findings.session import MoreHitsThanBalls
from ..kept import Kept
from ..model.feeder import BY_HAND_M, HIGHEST_M
from ..model.program import Goal, Range

T = TypeVar("T")

MOST_LISTED = 20
"""How many names a message lists if none of them is similar."""

COACHS = ("feed", "variation", "zone", "player")
"""Kinds of names that the coach gives, and that may be anything; all others are the language's own."""


class Rejected(Exception):
    """A sentence that cannot be resolved; it carries its finding."""

    def __init__(
        self,
        message: Message,
        span: Span,
        also: tuple[tuple[str, Span], ...] = (),
        hint: Hint | None = None,
        remedies: tuple[Edit, ...] = (),
    ) -> None:
        super().__init__(message)
        self.finding = Finding(message, span, also, remedies, hint=hint)


class Rejections(Changing):
    """Collects findings while a script is resolved."""

    findings: list[Finding] = own(factory=list)
    whole: bool = True

    def read(self, reader: Callable[[], T]) -> T | None:
        """What `reader` returns; None if it raised Rejected, after noting the finding."""
        try:
            return reader()
        except Rejected as rejected:
            self.add(rejected.finding)
            return None

    def again(self, kept: Kept[tuple[object, T]], key: Hashable, inputs: object, work: Callable[[], T]) -> T:
        """What `work` gives, found again while its inputs are equal; only what rejects nothing is kept."""
        known = kept.get(key)
        if known and known[0] == inputs:
            return known[1]
        told, whole, self.whole = len(self.findings), self.whole, True
        value = work()
        if self.whole and len(self.findings) == told:
            kept.put(key, (inputs, value))
        self.whole = whole and self.whole
        return value

    def add(self, finding: Finding, breaks: bool = True) -> None:
        self.findings.append(finding)
        self.whole = self.whole and not breaks


class Sense(NamedTuple):
    """The range within which a number makes sense, in `unit`: wide, because another check asks what a feeder can do."""

    dimension: str
    low: float
    high: float
    unit: str


SENSE = {
    "stature": Sense("length", 0.8, 2.4, "m"),
    "scatter in angle": Sense("angle", 0.2, 15, "deg"),
    "scatter in direction": Sense("angle", 0.2, 15, "deg"),
    "scatter in pace": Sense("share", 0.5, 30, "%"),
    "height at which the ball leaves": Sense("length", 0.1, HIGHEST_M, "m"),
    "height at which a person lets go": Sense("length", *BY_HAND_M, "m"),
    "reach": Sense("length", 0.2, 1.5, "m"),
    "body height": Sense("length", 0.02, 2.6, "m"),
    "pace limit": Sense("speed", 10, 260, "km/h"),
    "distance": Sense("length", 0, 25, "m"),
    "distance behind the bounce": Sense("length", 0.2, 15, "m"),
    "way": Sense("length", 0, 25, "m"),
    "height over net": Sense("length", 0, 15, "m"),
    "height at the top": Sense("length", 0.1, 20, "m"),
    "height at the player": Sense("length", 0.05, 4, "m"),
    "topspin": Sense("spin", 0, 6000, "rpm"),
    "backspin": Sense("spin", 0, 6000, "rpm"),
    "sidespin": Sense("spin", 0, 6000, "rpm"),
    "pace": Sense("speed", 5, 260, "km/h"),
    "time to contact": Sense("time", 0.1, 8, "s"),
    "time after the serve": Sense("time", 0.3, 10, "s"),
    "time between serves": Sense("time", 3, 120, "s"),
    "interval": Sense("time", 0.5, 120, "s"),
    "rally": Sense("time", 0.5, 100, "s"),
    "changeover": Sense("time", 1, 300, "s"),
    "temperature": Sense("temperature", -15, 50, "C"),
    "altitude": Sense("length", -430, 5000, "m"),
    "humidity": Sense("share", 0, 100, "%"),
    "ceiling": Sense("length", 3, 30, "m"),
    "wind": Sense("speed", 0, 72, "km/h"),
    "block": Sense("time", 0.05, 240, "min"),
    "rest": Sense("time", 1, 7200, "s"),
    "rest between sets": Sense("time", 1, 120, "s"),
    "collect": Sense("time", 1, 7200, "s"),
    "session length": Sense("time", 1, 480, "min"),
}
PLAIN = {
    "friction": (0.1, 1.5),
    "restitution": (0.3, 0.98),
    "grip": (0.0, 1.0),
    "balls": (1, 20000),
    "points": (1, 20000),
    "rounds": (1, 200),
    "serves": (1, 200),
    "seed": (0, 999_999_999),
    "share": (1, 100),
    "number alike": (1, 100),
    "goal": (1, 500),
    "points to win": (1, 500),
    "score": (-10_000, 10_000),
    "what a mark adds": (-100, 100),
    "players": (2, 30),
    "ball type": (1, 3),
    "ball stage": (1, 3),
    "balls in the hopper": (1, 2000),
    "steps": (2, 20),
    "misses": (1, 100),
    "sets": (1, 100),
    "good replies": (1, 200),
}


def quantity(node: Amount, what: str) -> float:
    """The SI value of a number with its unit, if its dimension fits and the value makes sense."""
    assert isinstance(node, Quantity)  # named amounts were replaced before
    return _sensible(node.number, node.unit, what, node.span)


def extent(node: Extent, what: str) -> Range:
    """A range low to high, or a single value, for which low = high = aim."""
    if not isinstance(node, Bounds):
        value = quantity(node, what)
        return Range(value, value, value)
    low, high = (_sensible(edge, node.unit, what, node.span) for edge in (node.low, node.high))
    if not low < high:
        unit = node.unit.text
        raise Rejected(RangeBackwards(read_in(low, unit), read_in(high, unit)), node.span)
    return Range(low, high, (low + high) / 2)


def of_series(node: Series, what: str) -> list[tuple[float, str]]:
    """The SI values of numbers that share a unit, each with its words."""
    return [(_sensible(n, node.unit, what, n.span), text(Quantity(n, node.unit))) for n in node.numbers]


def single(node: Extent, what: str) -> float:
    """An extent that has to be one value."""
    found = extent(node, what)
    if found.low != found.high:
        raise Rejected(RangeNotHere(what), node.span)
    return found.aim


def one_of(
    said: str, span: Span, known: Iterable[str], kind: str, nearby: Iterable[str] = (), told: Iterable[str] = ()
) -> str:
    """The name itself if it is known; `nearby` are other words of the sentence that may have been meant, `told` what a
    message lists in place of the names."""
    names = list(known)
    if said not in names:
        every = [*names, *nearby]
        near = near_names(said, every)
        row = span.source.line_of(span.start)[2].strip()
        if not (near and kind in COACHS) and (meant := spoken(row, every, said)):
            raise Rejected(UnknownName(near=Names(), kind=kind, name=said, known=Names()), span, hint=LikelySlip(meant))
        listed = Names((list(told) or every) if len(names) <= MOST_LISTED else ())
        raise Rejected(UnknownName(near=Names(near), kind=kind, name=said, known=listed), span)
    return said


def plain(word: Word, what: str, whole: bool = True) -> float:
    low, high = PLAIN[what]
    value = float(word.text)
    if not low <= value <= high or (whole and value != int(value)):
        raise Rejected(ImpossibleNumber(what, word.text, Numbers(low, high, whole)), word.span)
    return value


def launch_to_launch(said: Interval) -> float:
    """The seconds of an interval, with those of the rally after which it begins."""
    seconds = quantity(said.amount, "interval")
    if said.rally is None:
        return seconds
    whole, most = seconds + quantity(said.rally, "rally"), SENSE["interval"].high
    if whole > most:
        possible = Between(*(read_in(edge, "s") for edge in (1.0, most)))
        raise Rejected(ImpossibleNumber("interval with its rally", f"{whole:g} s", possible), said.span)
    return whole


def within(word: Word, what: str, low: float, high: float) -> None:
    """Raises Rejected for a whole number that is none of these."""
    if not low <= float(word.text) <= high:
        raise Rejected(ImpossibleNumber(what, word.text, Numbers(low, high, True)), word.span)


def count(word: Word, what: str) -> int:
    return int(plain(word, what))


def hits_among(hits: Word, among: Word | None, misses: bool = False) -> Goal:
    """So many hits in a row, or among so many balls; or misses."""
    if among is None:
        return Goal(count(hits, "goal"), count(hits, "goal"))
    goal = Goal(count(hits, "good replies"), count(among, "good replies"))
    if goal.hits > goal.among:
        span = Span(hits.span.source, hits.span.start, among.span.end)
        raise Rejected(MoreHitsThanBalls(goal.hits, goal.among, misses), span)
    return goal


def once(spans: dict[str, Span], what: str, span: Span) -> None:
    """Notes where something is said; raises Rejected if it was said before."""
    if what in spans:
        raise Rejected(Duplicate(what), span, (("first here", spans[what]),))
    spans[what] = span


def _sensible(number: Word, unit: Word, what: str, span: Span) -> float:
    sense = SENSE[what]
    if units.UNITS[unit.text].dimension != sense.dimension:
        wanted = Names(units.units_of(sense.dimension))
        near = Names(("min",) if unit.text == "m" and sense.dimension == "time" else ())
        raise Rejected(WrongUnit(near=near, what=what, found=unit.text, wanted=wanted), unit.span)
    value = units.to_si(float(number.text), unit.text)
    # Compared in the unit of the table, because its round numbers are exact there.
    if not sense.low - 1e-9 <= units.from_si(value, sense.unit) <= sense.high + 1e-9:
        possible = Between(*(read_in(units.to_si(edge, sense.unit), sense.unit) for edge in (sense.low, sense.high)))
        raise Rejected(ImpossibleNumber(what, span.text, possible), span)
    # What a unit's factor rounds past an edge is the edge: a plan's bounds give no room.
    return min(max(value, units.to_si(sense.low, sense.unit)), units.to_si(sense.high, sense.unit))
