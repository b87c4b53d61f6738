"""What the feeder has to do between balls, and which balls its commands allow."""

from ...grammar.facts import BallName, Metres, Names, Seconds, Setting, Speed
from ...grammar.finding import Hint, Message, OfBall, Severity

MOST_PLACES = 4
"""As many collects are told one by one."""


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
        "The feeder needs its shortest interval and its jitter between two launches. An interval between contacts "
        "needs them too, even if a long flight before leaves time enough: a person keeps the interval that the "
        "sheet prints, and the order of the balls may change."
    )
    example = "interval 1 s"
    instead = "interval 3 s"


class ChangeTooFast(Change):
    room: Seconds
    needed: Seconds
    says = (
        "between {before} and {after}, {axis} takes {needed:.1 s} from {old} to {new}; the interval leaves {room:.1 s}"
    )
    title = "No time for the change between two balls"
    why = "The wheels and the head change between one ball and the next, at the rates in the profile."
    example = "interval 2 s"
    instead = "interval 5 s"


class SetBetweenBlocks(Change):
    says = "{axis} is set by hand between blocks; {before} has {old}, {after} has {new}"
    title = "A change by hand in the middle of a block"
    why = "What a person sets by hand stays the same for a whole block."
    example = "4 min cycle steady, kicker"
    instead = "2 min steady\nrest 30 s\n2 min kicker"


class NoTimeToSet(Change):
    room: Seconds
    needed: Seconds
    says = "setting {axis} by hand from {old} to {new} before this block takes {needed}; there are {room:.1 s}"
    title = "No time to set the machine by hand"
    why = "Somebody has to walk to the machine and set it while no ball is in play."
    example = "2 min steady\n2 min kicker"
    instead = "2 min steady\nrest 30 s\n2 min kicker"


class NoTimeToMark(OfBall):
    time: Seconds
    needed: Seconds
    in_sets: bool = False
    severity = Severity.WARNING
    says = "after {ball} is played, {time:.1 s} are left to mark {what}; {needed:.1 s} are needed"
    title = "No time to mark a ball"
    why = (
        "The machine sets the next ball some time before it leaves. A point begins again, or ends, only if the miss is "
        "marked before that, and a set decides the rung only if its last ball is; after a later mark one more ball "
        "comes first. Where a point begins again, all balls of the block come with the longest interval of its balls. "
        "A longer interval gives time, or between sets a rest."
    )
    example = "feed steady\n    interval 2 s"
    instead = "feed steady\n    interval 4 s"

    @property
    def what(self) -> str:
        return "the last ball of a set" if self.in_sets else "a miss"


class SetOnce(Change):
    says = "{axis} cannot change during a session; {before} has {old}, {after} has {new}"
    title = "A setting that stays for the whole session"
    why = "The profile says that this setting cannot change."
    example = "feed kicker, like steady\n    spin heavy"
    instead = "feed kicker, like steady"


class HopperEmpty(Message):
    used: int
    held: int
    says = "the hopper holds {held} balls, and this block needs {used} without a collect"
    title = "More balls at once than the hopper holds"
    why = (
        "A ladder, a block in which a point begins again, a game to a score and a single point are not interrupted by "
        "a collect, so all their balls have to be in the hopper as they begin."
    )
    example = "ladder rocket, up to 200 balls, pace 70, 80 km/h"
    instead = "ladder rocket, up to 100 balls, pace 70, 80 km/h"


class CollectAdded(Message):
    held: int
    length: Seconds
    after: Names
    severity = Severity.NOTE
    says = "the hopper holds {held} balls, so {collects} of {length:clock} {where}"
    title = "A collect where the hopper is empty"
    why = (
        "Where the balls run out, the session stops to collect them and then goes on. Blocks keep their minutes and "
        "their balls, so each collect makes the session longer. The note needs no answer: a line `collect` says where "
        "it comes, and `collect 3 min when empty`, once in the session, says how long it takes."
    )
    example = "20 min steady"
    instead = "10 min steady\ncollect 3 min\n10 min steady"

    @property
    def collects(self) -> str:
        return "a collect" if len(self.after) == 1 else f"{len(self.after)} collects"

    @property
    def where(self) -> str:
        if len(self.after) == 1:
            return f"comes after ball {self.after[0]} of the session"
        if len(self.after) > MOST_PLACES:
            return f"come, the first after ball {self.after[0]} of the session"
        return f"come after balls {', '.join(self.after[:-1])} and {self.after[-1]} of the session"

    def advice(self) -> list[str]:
        return ["nothing has to change; a line can say how long it takes, or where it comes"]


class RestCollects(Message):
    held: int
    length: Seconds
    severity = Severity.NOTE
    says = "the hopper holds {held} balls, so this rest of {length:clock} is for collecting them"
    title = "A rest in which the balls are collected"
    why = (
        "Where the balls run out right after a rest that is as long as a collect takes, no other pause is added: the "
        "players rest and collect in one. Sheet and plan call it a collect, and so does the script with a line "
        "`collect` in its place."
    )
    example = "rest 3 min"
    instead = "collect 3 min"


class NoHopper(Message):
    feeder: str
    says = "nobody knows when the balls of {feeder} run out, so nothing is collected here"
    title = "A hopper that is never empty"
    why = "The profile says how many balls a hopper holds. Without that number no collect is added."
    severity = Severity.WARNING
    example = "collect when empty"
    instead = "collect 2 min"


class HopperHolds(Message):
    name: str
    held: int
    asked: int
    says = "the hopper of {name} holds {held} balls, not {asked}"
    title = "More balls than the hopper holds"
    why = (
        "The profile says how many balls a hopper holds. The feeder's line may say that fewer are in it; for another "
        "machine copy the profile and change its `hopper`."
    )
    example = "feeder machine club, hopper 200 balls"
    instead = "feeder machine club, hopper 80 balls"


class NotRaised(Message):
    name: str
    own: Metres
    person: bool
    low: bool
    says = "{words}"
    title = "A feeder that is not raised"
    why = (
        "`raised to` says how high the ball leaves a machine that stands on a table or a scaffold, so it is no lower "
        "than the machine's own height, which its profile has. A person stands on the ground, or kneels, and hits or "
        "throws from another height: `lets go at 1.9 m`."
    )
    example = "feeder machine club, raised to 0.4 m"
    instead = "feeder machine club, raised to 1.8 m"

    @property
    def words(self) -> str:
        if self.person:
            return f"{self.name} is a person, who lets go of the ball; only a machine is raised"
        if not self.low:
            return f"{self.name} is a machine; only a person lets go of the ball"
        return f"balls leave {self.name} {self.own} above the ground as it stands, and raised it is no lower"


class OverTheCap(OfBall):
    speed: Speed
    cap: Speed
    says = "{ball} leaves at {speed:.1 km/h}; the machine allows {cap:.1 km/h}, `cap_mps` of its profile"
    title = "Faster than the machine allows"
    why = (
        "The profile states the top speed that the machine allows, whatever its wheels could do. For a faster machine "
        "both lines are raised, `high` under `[speed]` and `cap_mps` under `[device]`."
    )
    example = "pace 109 km/h"
    instead = "pace 100 km/h"


class NoCommand(OfBall):
    axis: str
    setting: Setting
    reason: str
    says = "{ball} needs {axis} {setting}, for which the machine has no command: {reason}"
    title = "A setting for which the machine has no command"
    why = (
        "The profile gives the machine's own commands. If they have no place for a setting, or too few digits, the "
        "machine would throw a different ball from the one that was checked."
    )
    example = "spin topspin 300 rpm"
    instead = "spin flat"
