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


MOVED, MISSED = 0.75, 0.25
"""An aim moved so far from the middle of its zone, or from a single distance, m, is reported though enough balls land
in the zone. Own choice."""


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
    says = "replies to {ball} are aimed {distance:.1 m} from the feeder; without a screen the least is {needed}"
    title = "Replies are aimed at the feeder"
    why = (
        "A struck ball hurts, and a feeder who looks at the basket does not see it. Stand aside, behind a screen, "
        "or choose another target. A reply that only has to land somewhere in the court is aimed at nobody: the note "
        "`no-screen` tells of a person in its way."
    )
    example = "feeder person racket, on centre\nreply within 1 m of centre"
    instead = "feeder person racket, on centre, behind a screen\nreply within 1 m of centre"

    def advice(self) -> list[str]:
        return ["where the feeder watches each ball and steps aside, “accept feeder-in-the-way” leaves a note"]


class NoScreen(Message):
    where: str
    severity = Severity.NOTE
    says = "the feeder stands {where}, without a screen, where replies may fly"
    title = "A person who feeds without a screen"
    why = (
        "A struck ball hurts, and a feeder who looks at the basket does not see it. This note comes once whenever a "
        "person feeds in front of a player and the script has no screen, wherever the replies are meant to go, unless "
        "`feeder-in-the-way` warns already. Local rules and a qualified coach decide whether that is safe."
    )
    example = "feeder person racket, 3 m right of centre"
    instead = "feeder person racket, 3 m right of centre, behind a screen"

    def advice(self) -> list[str]:
        return ["whoever feeds watches each ball until it has passed, and steps aside"]


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
