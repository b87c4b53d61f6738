"""One ball: whether it is possible, and what it does on its way."""

from ...grammar.facts import Between, Measured, Metres, Speed
from ...grammar.finding import Hint, OfBall, Severity
from ...grammar.frozen import Frozen

SPINS = ("topspin", "backspin", "sidespin")
"""Limits that are the same from every place of the feeder."""


class AskedOfFlight(Frozen):
    """What a line asks of a flight, and what is possible instead, if anything is."""

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
    some: bool
    """Whether nothing is wrong with some of its balls."""
    says = "no single line suits all {balls} balls of {family}{way}"

    @property
    def way(self) -> str:
        ways = ["give a height over the net instead, such as height 1 m over net"] * self.by_height
        ways += ["leave out the balls that have this message"] * self.some
        ways += [f"write a feed for each, like {self.family}, with the line that suits it"] * (not self.by_height)
        return f": {', or '.join(ways)}" if ways else ""


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
    otherwise = "a feeder that stands elsewhere, nearer or farther away, may give it where no line of the feed does"
    says = "{ball} needs {apart} of {what}; the feeder gives {reach}"
    title = "The feeder cannot give this ball"
    why = (
        "Such a flight exists, but it is beyond the limits in the feeder's profile. A pace or an angle may be within "
        "them from another place. A spin is not: the profile has it from nowhere, so the nearest spin that the feeder "
        "has is proposed. `feedwright list` and the profile's name tell how much of each it gives."
    )
    example = "pace 150 km/h"
    instead = "pace 100 km/h"

    @property
    def apart(self) -> str:
        """What is asked, with enough digits to differ from the limit that it is beyond."""
        ends = (self.possible.low, self.possible.high) if self.possible else ()
        edges = [end.figure() for end in ends if end is not None]
        figures = [self.asked.figure(more) for more in range(4)]
        return f"{next((figure for figure in figures if figure not in edges), figures[-1])} {self.asked.read_in}"

    @property
    def reach(self) -> str:
        return f"{self.possible}" if self.possible else "none"

    def last_resort(self) -> str:
        return "" if self.what in SPINS else self.otherwise

    def advice(self) -> list[str]:
        wanted = self.wanted
        told = [
            f"and {other.asked} of {other.what}; the feeder gives {other.possible or 'none'}" for other in self.also
        ]
        if wanted and wanted.possible:
            told.append(f"{wanted.what}: asked {wanted.asked}, possible {wanted.range}")
        if self.what == "speed" and self.possible and self.asked > self.possible.high:
            told.append("another feeder may throw it: feedwright compare --for-profile tries every profile")
        return told


class OutOfReach(OfBall):
    wanted: AskedOfFlight
    says = "{wanted.what} of {wanted.asked} is impossible for {ball}{instead_of_it}"
    title = "No flight to this place does what the line asks"
    why = (
        "Feedwright tries every launch that the feeder has for this place and spin. The message shows what they can do."
    )
    example = "height eye, falling"
    instead = "height shoulder, falling"

    @property
    def instead_of_it(self) -> str:
        return f"; possible: {self.wanted.range}" if self.wanted.possible else " with any launch that the feeder has"


class PhaseNotThere(OfBall):
    phase: str
    other: str
    says = "with this feeder, {ball} is {other} at that height, not {phase}"
    title = "Rising asked and falling found, or the reverse"
    why = "A ball can pass this height on its way up or on its way down. At this stance only one of them is possible."
    example = "height knee, rising"
    instead = "height knee, falling"


class BehindTheFeeder(OfBall):
    landing: Metres
    feeder: Metres
    says = "{ball} lands {landing:.1 m} from the net; the feeder on the player's side stands {feeder:.1 m} from the net"
    title = "A ball that lands behind its feeder"
    why = (
        "A feeder on the player's side feeds away from the net, so the ball has to land farther from the net than the "
        "feeder stands."
    )
    example = "feeder person basket, on the player's side, on baseline"
    instead = "feeder person basket, on the player's side, 3 m from net"


class NoFlight(OfBall):
    depth: Metres
    side: Metres
    full: bool
    """Whether the place is where the ball is met in the air."""
    says = "no flight takes {ball} to its place, {depth:.1 m} from the net and {side:.1 m} from the centre{met}"
    title = "The place cannot be reached"
    why = "No launch at any elevation lands there, or is met there on the full, as the other lines ask."
    otherwise = "another depth or stance, or a feeder that stands elsewhere, may give a ball like it"
    example = "depth 0.2 m from net"
    instead = "depth short"

    @property
    def met(self) -> str:
        return ", where it is met on the full" if self.full else ""


class SlowestThere(Hint):
    """The least pace with which a ball gets to its place."""

    pace: Speed
    says = "from this feeder the slowest ball that gets there leaves at {pace}, in a high arc"


class NetHit(OfBall):
    under: Metres
    cord: Metres
    says = "{ball} strikes the net {under:cm} under the cord, which is {cord:.2 m} high there"
    title = "Into the net"
    why = (
        "The net is lowest in the middle and rises to the posts. The message gives the cord where the ball crosses it."
    )
    example = "pace 110 km/h"
    instead = "pace 80 km/h"


class CeilingHit(OfBall):
    top: Metres
    ceiling: Metres
    says = "{ball} rises to {top:.2 m}; the ceiling is at {ceiling}"
    title = "A ball that strikes the ceiling"
    why = (
        "Indoors the ball has to stay below the lowest beam, lamp or net over the court, from the feeder to the "
        "player. So does a reply: one that goes higher does not count."
    )
    example = "ceiling 6 m\n...\n    height 5 m over net"
    instead = "height 3 m over net"


class AroundThePost(OfBall):
    crossing: Metres
    post: Metres
    says = "{ball} passes the net {crossing:.2 m} from the centre; the net ends at {post:.2 m}"
    title = "Outside the net posts"
    why = "The ball passes beside the net. That is legal in play, but it is not a feed."
    example = "side 1 m inside left sideline"
    instead = "side middle"


class OutOfCourt(OfBall):
    out: Metres
    line: str
    says = "{ball} lands {out:.2 m} beyond the {line}"
    title = "Outside the lines"
    why = "Where it bounces, the ball touches neither the line nor the court."
    example = "depth 0.5 m behind baseline"
    instead = "depth 0.5 m inside baseline"


class ZoneMissed(OfBall):
    off: Metres
    what: str
    says = "with the feeder's nearest settings, {ball} lands {off:.2 m} outside its {what}"
    title = "Outside its zone with the nearest settings"
    why = (
        "The feeder has its settings in steps. With the nearest steps the ball lands outside its zone. A machine whose "
        "head never turns throws straight ahead, so it stands in line with the zone."
    )
    example = "depth 1.00 to 1.05 m inside baseline"
    instead = "depth 0.5 to 2 m inside baseline"


class ComesDownElsewhere(OfBall):
    there: Metres
    low: Metres
    high: Metres
    says = "{ball} would come down {there:.1 m} from the net, not {low:.1 m} to {high:.1 m}"
    title = "A ball on the full that would come down elsewhere"
    why = (
        "A depth beside `on the full` says where the ball would come down if nobody met it. Where the stance is said, "
        "too, and a line that decides the flight, they may not go together; without a stance the player stands where "
        "the ball is at its height."
    )
    example = "depth on service line\nstance 8 m from net\nheight 2.4 m, on the full\nheight 6 m at the top"
    instead = "depth on service line\nheight 2.4 m, on the full\nheight 6 m at the top"


class NotMet(OfBall):
    bounces: int
    beyond: Metres | None = None
    """How far behind the stance it lands, where it does."""
    says = "{ball} {goes}"
    title = "The ball does not reach the stance"
    why = (
        "It bounces once too often before it gets there, or has not bounced when it passes. A ball that is met before "
        "it bounces has a height `on the full`, and no depth."
    )
    example = "stance 4 m behind baseline"
    instead = "stance 1 m behind baseline"

    @property
    def goes(self) -> str:
        if self.beyond is not None:
            return f"passes the stance before it lands, {self.beyond:.1 m} behind it"
        return f"bounces a { ({2: 'second', 3: 'third'}[self.bounces]) } time before the stance"


class BouncesNotThere(OfBall):
    asked: int
    found: int
    says = "{ball} is met there after {counted}, not after {wanted}"
    title = "Not met after as many bounces as asked"
    why = "Where the player stands, and what else the feed says, a ball has bounced once too often or not often enough."
    example = "stance 1 m behind baseline\nheight 1 m over net, after two bounces"
    instead = "stance 4 m behind baseline\nheight 1 m over net, after two bounces"

    @property
    def counted(self) -> str:
        return {1: "one bounce", 2: "two bounces"}[self.found]

    @property
    def wanted(self) -> str:
        return {1: "one", 2: "two"}[self.asked]


class OneBounceOnly(OfBall):
    says = "{ball} is asked for after two bounces, and this player takes a ball after one"
    title = "Two bounces for a player who has one"
    why = "A ball may bounce twice only for a player in a chair, whose line says two bounces."
    example = "player right-handed\nheight 1 m over net, after two bounces"
    instead = "player right-handed, two bounces\nheight 1 m over net, after two bounces"
    otherwise = "if the player is in a chair, the player's line says so: right-handed, two bounces"


class NoStature(Hint):
    stature: Metres
    says = "no stature is written: {stature:.2 m} is taken, which players on this court have at least about"


class OverTheHead(OfBall):
    height: Metres
    head: Metres
    severity = Severity.WARNING
    says = "{ball} reaches the player at {height:.2 m}; the top of the player's head is at {head:.2 m}"
    title = "Over the player's head"
    why = (
        "Only an overhead reaches so high a ball. A stance farther back or less topspin makes it lower. Where a line "
        "asks for a height at the player above the head, nothing is said. A practice of overheads can allow it: accept "
        "over-the-head."
    )
    example = "stance 1 m behind baseline"
    instead = "stance 3 m behind baseline"

    def advice(self) -> list[str]:
        return ["if an overhead is meant, the line “accept over-the-head” at the left margin allows it"]


class MetLow(OfBall):
    height: Metres
    least: Metres
    severity = Severity.WARNING
    says = "{ball} is met {height:cm} over the ground; below {least:cm} a player can only dig it out"
    title = "A ball that can only be dug out"
    why = (
        "Less than half way up to the knee a stroke has no room left: the ball is about to bounce again, or has just "
        "bounced. The height is our own choice, also for a player in a chair. A stance nearer to the bounce, or "
        "farther behind it for a ball that rises, gives a ball to play. To practise half volleys, accept met-low."
    )
    example = "stance 4 m behind baseline"
    instead = "stance 1 m behind baseline"


class HighArc(OfBall):
    peak: Metres
    asked: Metres
    most: str
    """What is to be most or least of it, such as "lowest"; "" where a height is asked."""
    length: bool = False
    """Whether the line says a length, not a part of the body."""
    over_net: Metres | None = None
    """How high it passes, where a line says its pace."""
    of_several: bool = False
    """Whether its pace is one of several, so that a bound would hold for the others, too."""
    severity = Severity.NOTE
    says = "{lob}"
    title = "A lob where perhaps none is meant"
    why = (
        "A height at the player can be had by a flat ball or by a high one. Feedwright takes the flattest that does "
        "all that is asked, and here that is a lob: it rises above 4 m, our own choice. Another stance or depth, more "
        "backspin, or the other phase gives a flatter one. Where a lob is meant, `arc looped` says so, and the note "
        "does not come. The lowest contact there is may be a lob too: one that comes down beside the player. A bound "
        "over the net keeps it flat. A slow pace to a far place, or the slowest, is high as well, also on the full up "
        "to the head: the note comes where such a ball passes more than 2 m over the net, our own choice, and no line "
        "asks for its height. A faster ball, or one that lands shorter, is flatter."
    )
    example = "height knee, falling"
    instead = "height knee, falling\n    arc looped"

    @property
    def lob(self) -> str:
        rises = f"rises to {self.peak:.1 m}"
        if self.over_net is not None:
            return f"{self.ball} passes {self.over_net:.2 m} over the net, though no line asks for a high ball"
        if self.most:
            return f"{self.ball} {rises}: its {self.most} contact, {self.asked:.2 m}, comes at the end of a lob"
        return f"the flattest {self.ball} that is met {self.asked:.2 m} over the ground {rises}"

    def advice(self) -> list[str]:
        if self.most:
            return ["`height at most 0.6 m over net` beside it keeps the ball flat"]
        if self.of_several:
            return ["if that is meant, nothing has to change; with more pace this one flies flatter"]
        if self.over_net is not None:
            return ["if that is meant, `height at least 1.5 m over net` beside the pace says so"]
        return [f"a height over the net is another line: height {self.asked} over net"] if self.length else []
