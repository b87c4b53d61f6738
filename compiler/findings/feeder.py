"""What the feeder has to do between balls, and what its commands can say."""

from ...grammar.facts import BallName, Seconds, Setting, Speed
from ...grammar.finding import Hint, Message, OfBall


class Change(Message):
    """A message about a setting that changes from one ball to another."""

    axis: str
    before: BallName
    after: BallName
    old: Setting
    new: Setting


class WheelsShared(Hint):
    says = "speed and spin share the wheels, so the change takes the time of both"


class IntervalShort(OfBall):
    interval: Seconds
    possible: Seconds
    says = "{ball} comes every {interval}; the feeder needs {possible}"
    title = "Faster than the feeder"
    why = (
        "Between two launches the feeder needs its shortest interval and its jitter. An interval between contacts "
        "is no shorter either, even where the balls before fly for so long that each launch has time: a sheet has "
        "one interval to set, and another order of the balls stays possible."
    )
    example = "interval 1 s"
    instead = "interval 3 s"


class ChangeTooFast(Change):
    room: Seconds
    needed: Seconds
    says = (
        "{axis} from {old} to {new} between {before} and {after} takes {needed:.1 s}; the interval leaves {room:.1 s}"
    )
    title = "No time for the change between two balls"
    why = "Wheels and head move at the profile's rates, after the last ball and before the next."
    example = "interval 2 s"
    instead = "interval 5 s"


class SetBetweenBlocks(Change):
    says = "{axis} is set by hand between blocks; {before} has {old}, {after} has {new}"
    title = "A change by hand in the middle of a block"
    why = "What is set by hand stays as it is for a whole block."
    example = "4 min cycle steady, kicker"
    instead = "2 min steady\nrest 30 s\n2 min kicker"


class NoTimeToSet(Change):
    room: Seconds
    needed: Seconds
    says = "{axis} is set by hand from {old} to {new} before this block: {room:.1 s} there, {needed} needed"
    title = "No time to set the device by hand"
    why = "Somebody walks to the machine, with all balls at rest."
    example = "2 min steady\n2 min kicker"
    instead = "2 min steady\nrest 30 s\n2 min kicker"


class SetOnce(Change):
    says = "{axis} cannot change during a session; {before} has {old}, {after} has {new}"
    title = "A setting that stays for the whole session"
    why = "The profile says that it cannot be changed."
    example = "feed kicker, like steady\n    spin heavy"
    instead = "feed kicker, like steady"


class HopperEmpty(Message):
    used: int
    held: int
    says = "the hopper is empty in this block: {used} balls since it was filled, it holds {held}"
    title = "More balls than the hopper holds"
    why = "A collect fills it again."
    example = "20 min steady"
    instead = "8 min steady\ncollect\n8 min steady"


class OverTheCap(OfBall):
    speed: Speed
    cap: Speed
    says = "{ball} leaves at {speed:.1 km/h}; the machine lets {cap:.1 km/h} through"
    title = "Faster than the machine lets through"
    why = "The profile states the greatest speed that the machine throws at all, whatever its wheels could do."
    example = "pace 109 km/h"
    instead = "pace 100 km/h"


class NoCommand(OfBall):
    axis: str
    setting: Setting
    reason: str
    says = "the machine's commands cannot say {axis} {setting}, which {ball} needs: {reason}"
    title = "A setting that the machine's commands cannot say"
    why = (
        "The profile gives the machine's own commands. Where they have no place for a setting, or too few digits, "
        "the machine would throw another ball than the one that was checked."
    )
    example = "spin topspin 300 rpm"
    instead = "spin flat"
