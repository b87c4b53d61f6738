"""The practice: what balls will really do, what replies to them can be, and what nobody uses."""

from ...grammar.facts import BallName, Metres, Portion, Seconds, Speed
from ...grammar.finding import Hint, Message, OfBall, Severity


class ToReply(OfBall):
    """A message about the reply that a variation asks for."""

    variation: str


class CeilingCounts(Hint):
    ceiling: Metres
    says = "the ceiling at {ceiling} counts for replies too"


class SeveralSteps(Hint):
    """A line that makes a feed's balls differ."""

    line: str
    says = "so many steps make each ball a little different, such as {line}"


class AnotherBall(Hint):
    says = "a cycle or a mix with another ball makes them differ"


class ZoneSmall(OfBall):
    share: Portion
    wide: Metres
    narrow: Metres
    over_net: Portion
    severity = Severity.WARNING
    says = "of {ball} only {share} land in the zone; the feeder scatters them {wide} by {narrow} around the aim"
    title = "A zone too small for the feeder"
    why = (
        "Every feeder scatters its balls. The share is computed from the profile's repeatability; the two lengths "
        "are one standard deviation along and across the longer way."
    )
    example = "depth 0.1 to 0.6 m inside baseline"
    instead = "depth 0.5 to 3 m inside baseline"


class ReplyNone(ToReply):
    severity = Severity.WARNING
    says = "no reply to {ball} does what {variation} asks"
    title = "A reply that cannot be"
    why = (
        "From where this ball is met, no stroke of that spin and pace clears the net by what is asked and lands "
        "in the target."
    )
    example = "reply deep, at least 3 m over net, flat, 45 km/h"
    instead = "reply deep, at least 1 m over net, topspin 1500 rpm"


class ReplyUnlikely(ToReply):
    share: Portion
    severity = Severity.WARNING
    says = "in ten tries the reply to {ball} is good {share:of ten}, as {variation} asks for it"
    title = "A reply that almost never succeeds"
    why = (
        "Every player's strokes scatter in angle, direction and pace; `scatter` in the player's line says how much. At "
        "the best aim so few of the replies pass the net as asked and land in the target. More topspin, less pace, "
        "less height over the net or a larger target makes it more."
    )
    example = "reply deep, flat, 130 km/h"
    instead = "reply deep, topspin 1500 rpm, 90 km/h"


class ReplyTooFast(ToReply):
    asked: Speed
    possible: Speed
    severity = Severity.WARNING
    says = "{variation} asks for a reply of {asked}; the player has {possible}"
    title = "A reply faster than the player"
    why = "The player's line says the fastest reply."
    example = "reply deep, 140 km/h"
    instead = "reply deep, 90 km/h"


class NoTimeToSee(OfBall):
    time: Seconds
    needed: Seconds
    severity = Severity.WARNING
    says = "{ball} is met {time:.2 s} after its launch; to recognise a ball takes about {needed}"
    title = "No time to see what comes"
    why = "A player who does not know which ball comes needs about 0.38 s to recognise it (Laming 1968)."
    example = "stance 1 m from net"
    instead = "stance 4 m from net"


class FarToRun(Message):
    before: BallName
    after: BallName
    way: Metres
    time: Seconds
    severity = Severity.WARNING
    says = "from {before} to {after} the player runs {way:.1 m} by way of the middle, in {time:.1 s}"
    title = "Far to run"
    why = (
        "In play about 3 m are run for a stroke, and four strokes in five are within 2.5 m of the ready position "
        "(Fernandez and others, 2006). A longer interval gives the player time."
    )
    example = "interval 2.5 s"
    instead = "interval 5 s"


class FeederInTheWay(OfBall):
    distance: Metres
    needed: Metres
    severity = Severity.WARNING
    says = "replies to {ball} pass the feeder at {distance:.1 m}; without a screen it takes {needed}"
    title = "The feeder stands where replies fly"
    why = (
        "A struck ball hurts, and a feeder who looks at the basket does not see it. Stand aside, behind a screen, "
        "or choose another target."
    )
    example = "feeder person racket, on centre"
    instead = "feeder person racket, on centre, behind a screen"


class MachineInTheWay(OfBall):
    distance: Metres
    needed: Metres
    severity = Severity.NOTE
    says = "replies to {ball} pass the machine, and who stands at it, at {distance:.1 m} without a screen"
    title = "The machine stands where replies fly"
    why = "Whoever stays at its switch needs a screen or has to stand aside; balls under a machine jam it."
    example = "feeder machine club, on centre"
    instead = "feeder machine club, on centre, behind a screen"


class SessionLength(Message):
    asked: Seconds
    found: Seconds
    severity = Severity.WARNING
    says = "the session says {asked:clock} and takes {found:clock}"
    title = "A session that is not as long as it says"
    why = "Blocks, rests and collects add up to another total."
    example = 'session "Half an hour", lasts 30 min\n    4 min steady'
    instead = 'session "Warm-up", lasts 4 min\n    4 min steady'


class MixUneven(Message):
    name: str
    weight: int
    total: int
    alike: int
    most: int
    most_total: int
    severity = Severity.WARNING
    says = (
        "{name} is to be {weight} in {total}; with at most {alike} alike no more than {most} in {most_total} can be had"
    )
    title = "A mix whose shares cannot be kept"
    why = (
        "Where one ball has most of a mix, the others are too few to part it into so short runs. The limit is "
        "kept and the shares are not, and the order is then nearly fixed."
    )
    example = "mix 3 steady, kicker, at most 2 alike"
    instead = "mix 3 steady, kicker, at most 4 alike"


class ManyAlike(Message):
    found: int
    name: str
    severity = Severity.WARNING
    says = "{found} balls of {name} in a row are all alike"
    title = "Many balls that are all alike"
    why = (
        "More than 30 in a row that differ in nothing: the player knows each before it comes, and learns no "
        "choosing. A family, a cycle or a mix brings the change; a machine that is set by hand has shorter "
        "blocks."
    )
    example = "4 min steady"
    instead = "4 min mix steady, kicker, at most 2 alike"


class VariationUnused(Message):
    name: str
    severity = Severity.WARNING
    says = "no feed aims at {name}"
    title = "A variation that no feed aims at"
    why = "A variation for the player that no ball calls for."
    example = 'variation climb "high and deep"'
    instead = "feed kicker aims climb, like steady"


class FeedUnused(Message):
    name: str
    severity = Severity.WARNING
    says = "feed {name} is never played"
    title = "A feed that is never played"
    why = "It is solved and checked, and no block names it."
    example = "feed kicker aims climb, like steady"
    instead = "4 min cycle steady, kicker"
