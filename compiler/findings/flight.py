"""One ball: whether it can be had, and what it does on its way."""

from ...grammar.facts import Between, Measured, Metres
from ...grammar.finding import Hint, OfBall, Severity
from ...grammar.frozen import Frozen


class AskedOfFlight(Frozen):
    """What a line asks of a flight, and what can be had where something else can."""

    what: str
    asked: Measured
    possible: Between | None = None

    @property
    def range(self) -> str:
        return f"about {self.possible.low} to {self.possible.high}" if self.possible else ""


class NoOneLine(Hint):
    """No change of one line suits the whole family."""

    balls: int
    family: str
    by_height: bool
    says = "no one line suits all {balls} balls of {family}: {way}ask for fewer steps"

    @property
    def way(self) -> str:
        return "let a height over the net fix the flight, or " if self.by_height else ""


class AlsoLimited(Frozen):
    """Another limit that stands in the way of the same launch."""

    what: str
    asked: Measured
    possible: Between | None


class FeederLimit(OfBall):
    what: str
    asked: Measured
    possible: Between | None
    wanted: AskedOfFlight | None = None
    also: tuple[AlsoLimited, ...] = ()
    says = "{ball} needs {what} of {apart}; the feeder has {reach}"
    title = "The feeder cannot give this ball"
    why = "A flight exists that does what is asked, and the feeder's profile does not reach so far."
    example = "pace 150 km/h"
    instead = "pace 100 km/h"

    @property
    def apart(self) -> str:
        """What is asked, so exact that it does not look like the edge that it lies beyond."""
        ends = (self.possible.low, self.possible.high) if self.possible else ()
        edges = [end.figure() for end in ends if end is not None]
        figures = [self.asked.figure(more) for more in range(4)]
        return f"{next((figure for figure in figures if figure not in edges), figures[-1])} {self.asked.read_in}"

    @property
    def reach(self) -> str:
        return f"{self.possible}" if self.possible else "none"

    def advice(self) -> list[str]:
        wanted = self.wanted
        told = [
            f"and {other.what} of {other.asked}; the feeder has {other.possible if other.possible else 'none'}"
            for other in self.also
        ]
        if wanted and wanted.possible:
            told.append(f"{wanted.what}: asked {wanted.asked}, possible {wanted.range}")
        return told


class OutOfReach(OfBall):
    wanted: AskedOfFlight
    says = "{wanted.what} of {wanted.asked} cannot be had for {ball}{instead_of_it}"
    title = "No flight to this place gives what is asked"
    why = "With place and spin as they are, all launches the feeder has were flown; the range they give is shown."
    example = "height eye, falling"
    instead = "height shoulder, falling"

    @property
    def instead_of_it(self) -> str:
        return f"; possible: {self.wanted.range}" if self.wanted.possible else " with any launch that the feeder has"


class PhaseNotThere(OfBall):
    phase: str
    other: str
    says = "as the feeder can throw it, {ball} meets the stance {other} at that height, not {phase}"
    title = "Rising asked, falling found, or the other way round"
    why = "The same height at the stance is met on the way up or on the way down; this ball has only one of them."
    example = "height knee, rising"
    instead = "height knee, falling"


class BehindTheFeeder(OfBall):
    landing: Metres
    feeder: Metres
    says = "{ball} lands {landing:.1 m} from the net; the feeder on the player's side stands {feeder:.1 m} from it"
    title = "A ball that lands behind its feeder"
    why = (
        "On the player's side the feeder stands between the net and where the ball lands, and feeds away from the net."
    )
    example = "feeder person basket, on the player's side, on baseline"
    instead = "feeder person basket, on the player's side, 3 m from net"


class NoFlight(OfBall):
    says = "no flight of {ball} reaches its place"
    title = "The place cannot be reached"
    why = "No launch at any elevation lands there."
    example = "depth 0.2 m from net"
    instead = "depth short"


class NetHit(OfBall):
    under: Metres
    cord: Metres
    says = "{ball} strikes the net {under:cm} under the cord, which is {cord:.2 m} high there"
    title = "Into the net"
    why = "Measured where the ball crosses: the cord is lowest in the middle and rises to the posts."
    example = "pace 110 km/h"
    instead = "pace 80 km/h"


class CeilingHit(OfBall):
    top: Metres
    ceiling: Metres
    says = "{ball} rises to {top:.2 m}; the ceiling is at {ceiling}"
    title = "A ball that strikes the ceiling"
    why = (
        "Under a roof the ball has to stay below the lowest beam, lamp or net over the court, from the feeder to "
        "the player. Replies are held to it too: what goes higher does not count as a reply."
    )
    example = "ceiling 6 m\n...\n    height 5 m over net"
    instead = "height 3 m over net"


class AroundThePost(OfBall):
    crossing: Metres
    post: Metres
    says = "{ball} crosses the net's plane {crossing:.2 m} from the centre; the net ends at {post:.2 m}"
    title = "Outside the net posts"
    why = "The ball passes beside the net; that is a legal shot in play and no feed."
    example = "side 1 m inside left sideline"
    instead = "side middle"


class OutOfCourt(OfBall):
    out: Metres
    line: str
    says = "{ball} lands {out:.2 m} beyond the {line}"
    title = "Outside the lines"
    why = "The ball's footprint touches neither line nor court."
    example = "depth 0.5 m behind baseline"
    instead = "depth 0.5 m inside baseline"


class ZoneMissed(OfBall):
    off: Metres
    what: str
    says = "as the feeder can be set, {ball} lands {off:.2 m} outside its {what}"
    title = "Outside its zone once settings are rounded"
    why = "The device takes settings in steps. The nearest steps were flown, and this is where the ball then lands."
    example = "depth 1.00 to 1.05 m inside baseline"
    instead = "depth 0.5 to 2 m inside baseline"


class NotMet(OfBall):
    bounces: int
    says = "{ball} bounces a {often} time before the stance"
    title = "The ball does not come to the stance"
    why = "It bounces again before it gets there."
    example = "stance 4 m behind baseline"
    instead = "stance 1 m behind baseline"

    @property
    def often(self) -> str:
        return {2: "second", 3: "third"}[self.bounces]


class StatureTaken(Hint):
    stature: Metres
    says = "no stature is written: {stature:.2 m} is taken, which players on this court have at least about"


class OverTheHead(OfBall):
    height: Metres
    head: Metres
    severity = Severity.WARNING
    says = "{ball} is met {height:.2 m} up; the top of the player's head is at {head:.2 m}"
    title = "Met over the player's head"
    why = (
        "So high only an overhead reaches it. Met later, or with less topspin, the ball is lower. A practice of "
        "overheads allows it: accept over-the-head."
    )
    example = "stance 1 m behind baseline"
    instead = "stance 3 m behind baseline"


class CoarseSettings(OfBall):
    what: str
    asked: Measured
    given: Measured
    feeder: str
    severity = Severity.WARNING
    says = "{what} of {ball}: asked {asked}, the nearest settings of the {feeder} give {given}"
    title = "The settings are too coarse for what is asked"
    why = "The ball is in its zone, and differs from what was asked by more than a player would overlook."
    example = "height 1.05 m, falling"
    instead = "height waist, falling"
