"""The practice: what the balls will really do, which replies are possible, and what is never used."""

from ...grammar.facts import Metres, Names, Portion, Seconds, Speed
from ...grammar.finding import Hint, Message, OfBall, Severity


class ToReply(OfBall):
    """A message about the reply that a variation asks for."""

    variation: str


class CeilingCounts(Hint):
    ceiling: Metres
    says = "the ceiling at {ceiling} also limits the replies"


class SeveralSteps(Hint):
    """A line that makes a feed's balls differ."""

    line: str
    says = "steps make each ball a little different, such as {line}"


class AnotherBall(Hint):
    says = "a cycle or a mix with another ball makes them differ"


class NetOften(OfBall):
    in_net: Portion
    clearance: Metres
    severity = Severity.WARNING
    says = "{in_net} of {ball} do not pass the net; the aim is {clearance:cm} over it"
    title = "Too many balls in the net"
    why = (
        "Every feeder scatters its balls, so a ball that is aimed just over the cord often strikes it. The warning "
        "comes above one in ten. A proposed change keeps the aim two standard deviations over the net, so that one "
        "ball in forty-four does not pass it, wherever the feeder has such a ball."
    )
    example = "height 0.05 m over net"
    instead = "height 0.6 m over net"


NEARER = "a feeder that stands nearer, or repeats better, may mend it where no line of the feed does"


class HeightVaries(OfBall):
    share: Portion
    asked: Metres
    reach: Metres
    high: bool = False
    """Whether a lob is asked for, or on the full a ball above the head, so that a flatter one would be another ball."""
    at_eyes: Portion | None = None
    """How many come as high as the player's eyes, of a ball that a person feeds and nobody asks above the head, if they
    are many."""
    severity = Severity.WARNING
    says = "the height asked is {asked:.2 m}; {met} of {ball} are met within {reach:cm} of it{beside}"
    otherwise = NEARER
    title = "Balls that come too high or too low too often"
    why = (
        "The feeder scatters its balls, so the player meets them at different heights. The warning comes if more than "
        "one in ten is farther from the height asked than the chest is from the hip. A person who feeds from nearer "
        "by, or a machine that repeats better, helps; a line of the feed seldom does. A lob comes down steeply, so a "
        "step forward or back changes its height more than for other balls, and no flatter ball is proposed in its "
        "place. Of a ball that a person feeds it is a note, since no person feeds more evenly; but it stays a warning "
        "if more than one in ten may come as high as the eyes, unless the ball is asked above the head. If the "
        "practice may vary so much, accept height-varies."
    )
    example = "feeder person racket, on centre, on baseline\n...\n    height shoulder, on the full"
    instead = "feeder person racket, on centre, 4 m from net\n...\n    height shoulder, on the full"

    def advice(self) -> list[str]:
        steps = ["a player steps forward or back for a high ball"] if self.high else []
        return [*steps, f"if that is meant, the line “accept height-varies” at the left margin {self.accepting}"]

    accepting = "allows it"

    @property
    def met(self) -> str:
        return f"only {self.share}"

    @property
    def beside(self) -> str:
        return "" if self.at_eyes is None else f"; {self.at_eyes} may come as high as the eyes"


class OrdinaryHeight(HeightVaries):
    """The same of a ball that a person feeds, and that seldom comes as high as the eyes or is asked above the head."""

    severity = Severity.NOTE
    otherwise = ""
    accepting = "switches this note off"

    @property
    def met(self) -> str:
        return f"{self.share}"

    @property
    def beside(self) -> str:
        return ", as a person feeds them"


BESIDE = 0.3
"""An aim this far from the middle of its zone, m, is reported. Own choice."""


MOVED, MISSED = 0.75, 0.25
"""An aim moved so far from the middle of its zone, or from a single distance, m, is reported though enough balls land
in the zone. Own choice."""


class ZoneSmall(OfBall):
    share: Portion
    least: Portion
    wide: Metres
    narrow: Metres
    over_net: Portion
    off: Metres
    where: str
    """Of the middle of the zone, the aim: "beyond", "short of", "to the left of" or "to the right of"."""
    step: bool = False
    """Whether the ball is one step of a range, with a part of the zone to itself."""
    around: Metres | None = None
    """How far to either side of a single distance, which is no zone, balls count."""
    as_high: Portion | None = None
    """Of a ball on the full, how many of these are met as high as asked, too."""
    severity = Severity.WARNING
    says = "{shares}; the feeder scatters them {wide} by {narrow} around the aim{beside}"
    otherwise = NEARER
    title = "A zone too small for this feeder, or for balls of another make"
    why = (
        "Every feeder scatters its balls, and the drag of a ball is not known exactly. The first share is from the "
        "profile's repeatability. The two lengths are one standard deviation, in the direction of the widest "
        "scatter and across it. The warning comes if more than one in ten of the balls that pass the net land outside. "
        "The second share is the lowest that the least and the most drag give: it has to be half or more. PHYSICS.md "
        "says how large that doubt is. A single distance is no zone: there the balls count that land within 1.5 m of "
        "it, less on a smaller court; of a person's balls it is a note if three in four come to the side asked, our "
        "own choice, since no person feeds more evenly. On the full the balls count that come to the side asked, "
        "whatever their height. Where nothing mends it, the message says the best that was tried. If your own balls "
        "land where the plan says, accept zone-small."
    )
    example = "depth 0.1 to 0.6 m inside baseline"
    instead = "depth 0.5 to 3 m inside baseline"

    @property
    def beside(self) -> str:
        if self.off < BESIDE:
            return ""
        middle = "the middle of the zone" if self.around is None else "the place asked"
        off = f"{self.off:.1 m} {self.where} {middle}"
        return f"; this step of the range aims {off}" if self.step else f", which is {off}"

    @property
    def shares(self) -> str:
        if self.as_high is not None:
            return f"only {self.share} of {self.ball} come to the side asked, and {self.as_high} also as high as asked"
        where = "in the zone" if self.around is None else f"within {self.around} of the depth asked"
        if f"{self.least}" == f"{self.share}":
            return f"only {self.share} of {self.ball} land {where}"
        but = "but only" if self.share >= 0.5 else "and"
        only = "" if self.share >= 0.5 else "only "
        return f"{only}{self.share} of {self.ball} land {where}, {but} {self.least} with balls of another make"


class OrdinaryDepth(ZoneSmall):
    """The same of a single distance at which a person aims, of balls that come to the side asked."""

    severity = Severity.NOTE
    otherwise = ""

    def advice(self) -> list[str]:
        return ["if that is meant, the line “accept zone-small” at the left margin switches this note off"]

    @property
    def shares(self) -> str:
        return f"{self.share} of {self.ball} land within {self.around} of the depth asked, as a person feeds them"


class AimMoved(OfBall):
    off: Metres
    where: str
    """As of `ZoneSmall`."""
    because: str
    alone: bool = False
    """Whether a single distance is asked, and no zone."""
    severity = Severity.NOTE
    says = "{ball} is aimed {off:.1 m} {where} {aim}, {because}"
    title = "An aim beside the middle of its zone"
    why = (
        "A zone is asked for, not a point. Where no ball to its middle is what the other lines ask, Feedwright looks "
        "for one all over the zone, and takes the nearest. The fastest ball, the lowest over the net and the shortest "
        "are looked for all over the zone, too. The note comes from 0.75 m on, of a single distance from 0.25 m on, "
        "our own choice, if enough balls still land in the zone."
    )
    example = "depth 0.5 to 3.5 m inside baseline\nstance 2 m behind baseline\nheight waist, falling"
    instead = "depth 1.5 to 3.5 m inside baseline\nstance 2 m behind baseline\nheight waist, falling"

    @property
    def aim(self) -> str:
        return "the distance asked" if self.alone else "the middle of its zone"


class ReplyNone(ToReply):
    severity = Severity.WARNING
    says = "no reply to {ball} does what {variation} asks"
    title = "An impossible reply"
    why = (
        "From the contact with this ball, no stroke with that spin and pace clears the net by the height asked and "
        "lands in the target."
    )
    example = "reply deep, at least 3 m over net, flat, 45 km/h"
    instead = "reply deep, at least 1 m over net, topspin 1500 rpm"


class ReplyUnlikely(ToReply):
    share: Portion
    severity = Severity.WARNING
    says = "in ten tries the reply to {ball} is good {share:of ten}, as {variation} asks for it"
    title = "A reply that almost never succeeds"
    why = (
        "Every player's strokes scatter in angle, direction and pace; `scatter` in the player's line says how much. "
        "Even at the best aim, few of the replies pass the net as asked and land in the target. More topspin, less "
        "pace, less height over the net or a larger target makes more of them good."
    )
    example = "reply deep, flat, 130 km/h"
    instead = "reply deep, topspin 1500 rpm, 90 km/h"


class ReplyTooFast(ToReply):
    asked: Speed
    possible: Speed
    severity = Severity.WARNING
    says = "{variation} asks for a reply of {asked}; the player's fastest is {possible}"
    title = "A reply faster than the player"
    why = "The player line gives the player's fastest reply."
    example = "reply deep, 140 km/h"
    instead = "reply deep, 90 km/h"


class FeederInTheWay(OfBall):
    distance: Metres
    needed: Metres
    severity = Severity.WARNING
    says = "replies to {ball} pass {distance:.1 m} from the feeder; without a screen the least is {needed}"
    title = "The feeder stands where replies fly"
    why = (
        "A struck ball hurts, and a feeder who looks at the basket does not see it. Stand aside, behind a screen, "
        "or choose another target."
    )
    example = "feeder person racket, on centre"
    instead = "feeder person racket, on centre, behind a screen"

    def advice(self) -> list[str]:
        both = "the lines “accept feeder-in-the-way” and “accept no-screen” at the left margin"
        return [f"where the feeder watches each ball and steps aside, {both} allow it"]


class NoScreen(Message):
    where: str
    severity = Severity.NOTE
    says = "the feeder stands {where} without a screen"
    title = "A person who feeds without a screen"
    why = (
        "A struck ball hurts, and a feeder who looks at the basket does not see it. This note comes whenever a person "
        "feeds in front of a player and the script has no screen, wherever the replies are meant to go. Local rules "
        "and a qualified coach decide whether that is safe."
    )
    example = "feeder person racket, 3 m right of centre"
    instead = "feeder person racket, 3 m right of centre, behind a screen"


class MachineInTheWay(OfBall):
    distance: Metres
    needed: Metres
    severity = Severity.NOTE
    says = "without a screen, replies to {ball} pass {distance:.1 m} from the machine and whoever stands at it"
    title = "The machine stands where replies fly"
    why = "Whoever stays at its switch needs a screen or has to stand aside. Balls that roll under a machine jam it."
    example = "feeder machine club, on centre"
    instead = "feeder machine club, on centre, behind a screen"


class SessionLength(Message):
    asked: Seconds
    found: Seconds
    severity = Severity.WARNING
    collects: int = 0
    collecting: Seconds = Seconds(0.0)
    """How many collects come because the hopper is empty, and how long they take together."""
    most: bool = False
    """Whether it may be shorter."""
    says = "the session says {at_most}{asked:clock} and takes {found:clock}"
    title = "A session that is not as long as it says"
    why = (
        "Blocks, rests and collects add up to a different total. A difference of up to a twentieth passes, which is a "
        "minute and a half of half an hour. A session that lasts at most half an hour may be shorter, and no longer. "
        "The interval of a point that the player serves runs until the serve; the ball comes later."
    )
    example = 'session "Half an hour", lasts 30 min\n    4 min steady'
    instead = 'session "Warm-up", lasts 4 min\n    4 min steady'

    @property
    def at_most(self) -> str:
        return "at most " if self.most else ""

    def advice(self) -> list[str]:
        if not self.collects:
            return []
        told = "a collect" if self.collects == 1 else f"{self.collects} collects"
        takes = "takes" if self.collects == 1 else "take"
        return [f"{told} where the hopper is empty {takes} {self.collecting:clock} of that"]


class MixUneven(Message):
    names: Names
    weight: int
    total: int
    limit: str
    most: int
    most_total: int
    severity = Severity.WARNING
    says = "the mix asks for {names: and } {weight} times in {total}; {limit} allows {most} in {most_total}"
    title = "A mix whose shares cannot be kept"
    why = (
        "If one ball has most of a mix, the others are too few to break up its runs. The mix then keeps the limit "
        "and not the shares, and its order is nearly fixed."
    )
    example = "mix 3 steady, kicker, at most 2 alike"
    instead = "mix 3 steady, kicker, at most 4 alike"


class ManyAlike(Message):
    found: int
    name: str
    severity = Severity.NOTE
    says = "{found} balls of {name} in a row are all alike"
    title = "Many balls that are all alike"
    why = (
        "The note comes once, at the first line with more than 30 equal balls in a row. A few minutes of one ball are "
        "ordinary coaching. But the player knows each ball before it comes and has nothing to choose: a family, a "
        "cycle or a mix brings a change. For a machine that is set by hand, shorter blocks do."
    )
    example = "4 min steady"
    instead = "4 min mix steady, kicker, at most 2 alike"

    def advice(self) -> list[str]:
        return ["if that is meant, the line “accept many-alike” at the left margin switches this note off"]


class VariationUnused(Message):
    name: str
    severity = Severity.WARNING
    says = "no feed aims at {name}"
    title = "A variation that no feed aims at"
    why = "No ball of the script asks the player for this variation."
    example = 'variation climb "high and deep"'
    instead = "feed kicker aims climb, like steady"


class FeedUnused(Message):
    name: str
    severity = Severity.WARNING
    says = "feed {name} is never played"
    title = "A feed that is never played"
    why = (
        "No block plays the feed, so only what makes its balls impossible is reported, and of a feed that others are "
        "like not even that: those are judged."
    )
    example = "feed kicker aims climb, like steady"
    instead = "4 min cycle steady, kicker"
