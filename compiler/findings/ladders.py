"""Ladders: their rungs, what leads from one to the next, and sets."""

from ...grammar.facts import Names
from ...grammar.finding import Message, Severity


class LadderOfFamily(Message):
    name: str
    climbs: str
    feed: str
    ladder: str
    says = "{name} is a family of balls; a ladder changes one line of a single ball"
    title = "A ladder that changes a line of a family"
    why = (
        "A ladder that says what changes from rung to rung changes it in one ball. So that all balls of a family come "
        "on each rung, write a feed for each rung, and a ladder that names these feeds."
    )
    example = "feed steady\n    height knee, waist"
    instead = "feed steady\n    height waist"

    def advice(self) -> list[str]:
        return [
            f"so that its balls still come by turns, write for each rung after the first a feed with its own "
            f"{self.climbs}, and name the feeds as the rungs: {self.feed}; {self.ladder}",
            "for a ladder to each side, or with each of its balls, write a feed and a ladder for each",
        ]


class LadderOfOne(Message):
    says = "a ladder needs at least two rungs"
    title = "A ladder with one rung"
    why = "With one rung there is nothing to climb."
    example = "ladder rocket, up to 40 balls, spin flat"
    instead = "ladder rocket, up to 40 balls, pace 70, 80, 90 km/h"


class LadderOnTheFull(Message):
    name: str
    says = "{name} is a ball on the full; this ladder needs a ball that bounces"
    title = "A ball on the full in a ladder that needs a bounce"
    why = "A ball on the full has no depth and no height after the bounce."
    example = "ladder volley, up to 20 balls, depth short, deep"
    instead = "ladder volley, up to 20 balls, pace 40, 50, 60 km/h"


class LadderWithoutUp(Message):
    several: bool = False
    """Whether its rungs have goals that differ."""
    says = "no line says when the ladder goes up, and {goals}"
    title = "A ladder without a rule for going up"
    why = "The rule is a line under the ladder. Without one, the goal of the feed's variation is the rule."
    example = "ladder rocket, up to 40 balls, pace 70, 80 km/h"
    instead = "ladder rocket, up to 40 balls, pace 70, 80 km/h\n    up 5 in a row"

    @property
    def goals(self) -> str:
        return "its rungs have different goals" if self.several else "its variation has no goal"


class HarderOfFeeds(Message):
    says = "feeds as rungs go up in the order in which they are written"
    title = "Harder and easier on a ladder of feeds"
    why = (
        "The lines `harder` and `easier` put the rungs of one feed in order by what changes from rung to rung. Feeds "
        "may differ in anything, so their order is the one that is written, the easiest first: say up and down."
    )
    otherwise = "say up in place of harder, and down in place of easier"
    example = "ladder first, second, third, up to 40 balls\n    harder 3 in a row"
    instead = "ladder first, second, third, up to 40 balls\n    up 3 in a row"


class LadderOrder(Message):
    first: str
    last: str
    why_easier: str
    severity = Severity.WARNING
    says = "up goes from {first} to {last}, which is {why_easier}"
    title = "A ladder whose way up is easier"
    why = (
        "The lines `up` and `down` follow the order in which the rungs are written, so hits make this ladder easier "
        "and misses make it harder. The lines `harder` and `easier` put the rungs in order themselves."
    )
    example = "ladder rocket, up to 40 balls, pace 90, 80, 70 km/h\n    up 3 in a row"
    instead = "ladder rocket, up to 40 balls, pace 90, 80, 70 km/h\n    harder 3 in a row"


class NoSuchRung(Message):
    asked: str
    rungs: Names
    says = "the ladder has no rung “{asked}”; it has {rungs:, }"
    title = "A start on a rung that the ladder does not have"
    why = "The line `from` names one of the rungs, in the words of the ladder's line."
    example = "ladder rocket, up to 40 balls, pace 70, 80 km/h\n    from 75 km/h\n    up 3 in a row"
    instead = "ladder rocket, up to 40 balls, pace 70, 80 km/h\n    from 80 km/h\n    up 3 in a row"


class LadderOnlyUp(Message):
    misses: int
    within: int
    says = "{misses} misses in {within} balls cannot happen"
    title = "A ladder that never goes down"
    why = "The misses are counted among that number of balls, so there cannot be more misses than balls."
    example = "down 4 misses in 3"
    instead = "down 2 misses in 6"


class SetsUnlike(Message):
    up: str
    down: str
    says = "“{up}” and “{down}” do not count the same balls"
    title = "A ladder whose two lines count in different sets"
    why = (
        "With `of every 8` the count begins afresh after each eight balls on the rung, and after the eighth hits and "
        "misses decide together: so both lines count in sets of as many balls, or neither in sets."
    )
    example = "up 6 of every 8\n    down 2 misses in 6"
    instead = "up 6 of every 8\n    down 5 misses in every 8"


class SetsBothWays(Message):
    hits: int
    misses: int
    among: int
    says = "a set of {among} balls can have {hits} hits and {misses} misses: it would go up and down"
    title = "A set that leads up and down"
    why = "At the end of a set the player goes up, down, or plays the rung again, so no set may ask for two of them."
    example = "up 4 of every 8\n    down 4 misses in every 8"
    instead = "up 4 of every 8\n    down 5 misses in every 8"


class SetsCut(Message):
    balls: int
    among: int
    points: bool = False
    says = "{told}"
    title = "A ladder or a block that ends within a set"
    why = (
        "Only a whole set takes the player up or down a ladder, or ends a block, so there is a whole number of them. "
        "Without `every` a block counts its last balls: `until 6 of 8` ends at the sixth hit of any eight."
    )
    example = "ladder rocket, up to 30 balls, pace 70, 80, 90 km/h\n    up 6 of every 8"
    instead = "ladder rocket, up to 32 balls, pace 70, 80, 90 km/h\n    up 6 of every 8"

    @property
    def told(self) -> str:
        sets, left = divmod(self.balls, self.among)
        what = "points" if self.points else "balls"
        if not sets:
            return f"{self.balls} {what} are no whole set of {self.among}, and decide nothing"
        whole = f"{sets} {'set' if sets == 1 else 'sets'} of {self.among}"
        return f"{self.balls} {what} are {whole} and {left} more, which decide nothing"


class BetweenNoSets(Message):
    said: str = "between sets"
    says = "“{said}” needs a ladder that counts in sets"
    title = "Between sets, where there are none"
    why = (
        "A rest between sets comes after each so many balls, as the ladder's line `up 6 of every 8` says them, and "
        "`at most 2 sets on a rung` counts such sets."
    )
    example = "up 3 in a row\n    rest 45 s between sets"
    instead = "up 6 of every 8\n    rest 45 s between sets"
