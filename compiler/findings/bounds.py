"""Bounds, and the most or the least there is."""

from ...grammar.facts import BallName, Measured, Metres, Names, Portion
from ...grammar.finding import Hint, Message, OfBall, Severity
from ...grammar.frozen import Frozen


class BoundsApart(Message):
    low: Measured
    high: Measured
    origin: str
    says = "at least {low} and at most {high}{origin}: no ball is both"
    title = "Bounds that leave nothing between them"
    why = "A bound of the feed holds beside the bounds of the whole script, so every ball has to keep both."
    example = "pace at least 80 km/h\npace at most 70 km/h"
    instead = "pace at most 70 km/h"


class MostOfAReply(Message):
    says = "a reply says how much spin: topspin heavy, topspin 1500 rpm"
    title = "Most spin in a reply"
    why = "How much spin a player can give is not known, so a reply cannot ask for the most of it."
    example = "reply deep, most topspin"
    instead = "reply deep, topspin heavy"


class MostTwice(OfBall):
    says = "only one thing can be the most or the least of a ball"
    title = "Two things asked to be most or least"
    why = "The fastest ball is seldom the one with the most spin. Bounds say how far the other may go."
    example = "pace fastest\nspin most topspin"
    instead = "pace fastest\nspin at least 1000 rpm"


class MostOnTheFull(Message):
    says = "on the full, the height is where the player meets the ball: a part of the body or a length"
    title = "The lowest or highest ball on the full"
    why = "On the full, the height is part of the place, as the depth is of a ball that bounces."
    example = "height lowest, on the full"
    instead = "height knee, on the full"


class StanceFound(Message):
    says = "a ball on the full is met where it is: it needs a stance that is a line"
    title = "A stance where the ball is at a height, on the full"
    why = "On the full, the stance and the height are the place to which the ball goes."
    example = "stance where it is waist high\nheight shoulder, on the full"
    instead = "stance 3 m from net\nheight shoulder, on the full"


class LadderOfOpen(Message):
    feed: str
    open: Names
    level: bool = False
    """Whether its rungs are heights at the player, which an open stance goes by."""
    says = "{feed} leaves its {open} open; {needs}"
    title = "A ladder of a feed that leaves something open"
    why = (
        "From rung to rung one thing changes. What a feed leaves open would change with it. Only its stance may be "
        "where the ball is at a height: the player then goes to each rung's. On the full its height may be between "
        "bounds."
    )
    example = "height 1 m over net\nheight waist, falling\n...\nladder steady, up to 20 balls, pace 70, 80 km/h"
    instead = "depth 7 m from net"
    otherwise = "the note ball-found says the value to write"

    @property
    def needs(self) -> str:
        if self.level and list(self.open) == ["stance"]:
            return "a ladder in the height at the player needs a feed that says where the player stands"
        return "a ladder needs a feed that says it"


class BoundBroken(OfBall):
    what: str
    given: Measured
    bar: Measured
    bound: str
    upper: bool
    says = "{what} of {ball} is {apart}; `{bound}` does not allow that"
    title = "A bound that cannot be kept"
    why = (
        "The line that decides the flight gives a ball beyond a bound of the feed or of the whole script. With the "
        "most or the least of something, no setting of the feeder keeps all bounds."
    )
    example = "pace 80 km/h\npace at most 70 km/h"
    instead = "pace 70 km/h"

    @property
    def apart(self) -> str:
        told = self.given.beside(self.bar)
        return f"{told} from the net" if self.what == "stance" else told


class NearerPart(Hint):
    """Another part of the body at which a ball keeps its bounds more often, but not often enough, and which is nearer
    to the one asked than that of a remedy."""

    ball: BallName
    words: str
    share: Portion
    says = "nearer to what is asked, and tried for {ball}: {share} keep it with `{words}`"


class BoundOften(OfBall):
    share: Portion
    most: Portion
    bound: str
    opposite: str = ""
    """What bounds the same thing from the other side, if balls break that too."""
    beyond: Portion | None = None
    severity = Severity.WARNING
    says = "{counted} of {ball} {verb} `{bound}`{others}{besides}"
    otherwise = "a feeder that stands nearer, or repeats better, may mend it where no line of the feed does"
    title = "A bound that too many balls break"
    why = (
        "Every feeder scatters its balls, so a ball that is aimed just inside a bound often breaks it. The warning "
        "comes if more than one in ten does, or more than half with the least or the most drag that balls may have. A "
        "proposed change keeps two standard deviations inside the bound wherever the feeder has such a ball, and so "
        "does a feed that asks for the best there is or leaves something open. A bound from below and one from above "
        "count together, and each has its own share. A player who stands where the ball is at a height steps up to "
        "half a metre along the court to keep a ball between its bounds; one whose place a line says does not. The "
        "most or the least of something goes as near to a bound as the script's own balls allow: where nine in ten of "
        "these keep it, a note says how many do with balls of another make. Where a bound only says what is meant, "
        "and no body depends on it, accept bound-often."
    )
    example = "limit pace at most 70 km/h\n...\n    pace 70 km/h"
    instead = "limit pace at most 70 km/h\n...\n    pace 66 km/h"

    accepting = "allows it"

    def advice(self) -> list[str]:
        only = "where the bound only says what is meant, and no body depends on it"
        return [f"{only}, the line “accept bound-often” at the left margin {self.accepting}"]

    @property
    def counted(self) -> Portion:
        return self.share

    @property
    def verb(self) -> str:
        return "break"

    @property
    def others(self) -> str:
        return "" if f"{self.share}" == f"{self.most}" else f"; with balls of another make up to {self.most}"

    @property
    def besides(self) -> str:
        return f"; {self.beyond} break `{self.opposite}`" if self.opposite else ""


class KeptAtItsBest(BoundOften):
    """The same of a bound that is in the way of a ball that is the most or the least, and that the script's own balls
    keep: such a ball is always as near to the bound as they allow."""

    severity = Severity.NOTE
    otherwise = ""
    accepting = "switches this note off"

    @property
    def counted(self) -> Portion:
        return Portion(1 - self.share)

    @property
    def verb(self) -> str:
        return "keep"

    @property
    def others(self) -> str:
        return f"; with balls of another make as few as {Portion(1 - self.most)}"

    @property
    def besides(self) -> str:
        return f"; {Portion(1 - self.beyond)} keep `{self.opposite}`" if self.beyond is not None else ""


class ComesUp(Frozen):
    """How high a ball comes at most, and how high the player stands for it."""

    top: Metres
    asked: Metres
    part: str
    """Of the body; "" where a length is asked."""

    @property
    def told(self) -> str:
        wish = f"the {self.part} is at {self.asked:.2 m}" if self.part else f"{self.asked:.2 m} is asked"
        return f"comes up to {self.top:.2 m} only, and {wish}"


class NeverSoHigh(OfBall):
    comes: ComesUp
    severity = Severity.WARNING
    says = "{ball} {comes.told}; it is met at the top of its bounce"
    title = "A ball that never comes as high as the player stands for"
    why = (
        "The other lines decide how high the ball comes after its bounce, and what they state comes first: pace, "
        "height over the net, distance, time. Where it never comes as high as the player stands for, and rises above "
        "the knee, it is met at the top of its bounce. Less than 10 cm below what is asked that is a note, our own "
        "choice. A lower part of the body keeps the flight as it is; a higher arc brings the ball up."
    )
    example = "height 1 m over net\nstance where it is waist high, falling"
    instead = "height 1 m over net\nstance where it is hip high, falling"


class NearlySoHigh(NeverSoHigh):
    """The same of a ball that comes so nearly as high that nobody notices it."""

    severity = Severity.NOTE


class WithoutIt(Hint):
    """The lines that are in the way of a ball."""

    ball: BallName
    lines: tuple[str, ...]
    says = "in the way: {each}; without {one} there is such a ball"

    @property
    def each(self) -> str:
        return " and ".join(f"`{line}`" for line in self.lines)

    @property
    def one(self) -> str:
        return {1: "it", 2: "either"}.get(len(self.lines), "any of them")


class NotTogether(OfBall):
    what: str
    asked: Measured
    given: Measured
    comes: ComesUp | None = None
    """How high the ball comes that has all the rest, where that is the reason."""
    says = "no ball does all that the lines of {ball} fix: {reason}"
    title = "Lines that no ball keeps together"
    why = (
        "Where depth or stance is left open, two lines decide the flight. No place of the ball and the player lets "
        "these two go together. On the full the height stays as it is asked, too, where the pace is the most there is."
    )
    example = "pace 110 km/h\nheight 3 m over net"
    instead = "pace 70 km/h\nheight 3 m over net"

    @property
    def reason(self) -> str:
        if self.comes:
            return f"with the rest it {self.comes.told}"
        return f"{self.what} is asked {self.asked}, the nearest has {self.given}"


class BallFound(OfBall):
    line: str
    most: str
    value: Measured | None
    left_open: Names
    binds: Names
    bare: Measured | None
    severity = Severity.NOTE
    others: "tuple[BallFound, ...]" = ()
    """The other balls of its family: what came of each."""
    says = "{ball}: {came}{held}"
    title = "The best ball there is, or what a feed leaves open"
    why = (
        "A feed can ask for the fastest, slowest, lowest, highest, shortest or longest ball, or for the most spin, and "
        "leave its depth or stance open. The note says what came of it, and what is in the way of more. Such a ball "
        "keeps two standard deviations of the feeder's scatter inside each bound, where there is such a ball."
    )
    example = "pace fastest"
    instead = "pace 80 km/h"

    @property
    def came(self) -> str:
        best = [f"{self.line} {self.value} ({self.most})"] if self.value is not None else []
        return ", ".join([*best, *self.left_open])

    @property
    def held(self) -> str:
        ways = f"{' and '.join(self.binds)} {'are' if len(self.binds) > 1 else 'is'} in the way of more"
        told = f"; {ways}" if self.binds else ""
        if self.bare is not None and self.bare.figure() != (self.value.figure() if self.value else ""):
            told += f"; {self.bare} without two standard deviations to spare"
        return told

    def advice(self) -> list[str]:
        found: dict[str, list[str]] = {}
        for one in self.others:
            found.setdefault(f"{one.came}{one.held}", []).append(one.ball)
        return [f"and {', '.join(balls)}: {came}" for came, balls in found.items()]
