"""Goals that are out of reach."""

from ...grammar.facts import Names, Portion
from ...grammar.finding import Hint, Message, OfBall, Severity
from ...grammar.units import hits_of


class ShorterStreak(Hint):
    streak: int
    among: int
    in_sets: bool = False
    says = "{goal} come about in at least every other block"

    @property
    def goal(self) -> str:
        return hits_of(self.streak, self.among, self.in_sets)


class MoreBalls(Hint):
    balls: int
    says = "its block has too few balls for that: {balls} are needed for it to come about in every other block"


class OneBlock(Hint):
    blocks: Names
    """One for each player."""
    says = "a streak is counted within one block, and each round begins anew; one block goes on: {told}"

    @property
    def told(self) -> str:
        return ", then ".join(self.blocks)


class EasierReply(Hint):
    says = "at so few good replies no streak is a goal: an easier ball or a wider reply comes first"


class GoalFar(OfBall):
    streak: int
    among: int
    share: Portion
    balls: int
    chance: Portion
    in_sets: bool = False
    severity = Severity.NOTE
    says = "replies to {ball} are good {share:of ten} in ten, and the block has {balls} of them: {odds} of {goal}"
    title = "A goal that is out of reach"
    why = (
        "The chance of so many good replies in a row, or among the last balls, follows from how many of ten replies to "
        "the balls of a block are good, each by itself (Feller, An Introduction to Probability Theory, XIII.7; "
        "Fu and Koutras, Journal of the American Statistical Association 89, 1050). The "
        "note comes below one chance in ten, our own choice: a goal that is nearly always missed tells a player "
        "nothing. Few replies are independent, and the forecast is for a player with the `scatter` of the script."
    )
    example = "up 6 in a row"
    instead = "up 2 in a row"

    @property
    def goal(self) -> str:
        if self.in_sets or self.streak == self.among:
            return hits_of(self.streak, self.among, self.in_sets)
        return f"{self.streak} hits among {self.among}"

    @property
    def odds(self) -> str:
        if self.chance <= 0:
            return "no chance"
        return f"a chance of 1 in {1 / self.chance:,.0f}"


class GoalLongerThanBlock(Message):
    hits: int
    among: int
    balls: int
    severity = Severity.NOTE
    says = "the goal counts among {among} balls, and the longest of its blocks has {balls}; each block counts anew"
    title = "A goal among more balls than a block has"
    why = (
        "Hits are counted within one block, so a goal among more balls than its longest block has is reached only by "
        "as many hits in fewer balls. A goal for the whole practice stands in a note, and the coach adds up the boxes."
    )
    example = "goal 35 of 50\n...\n40 balls steady\nrest 1 min\n10 balls steady"
    instead = "goal 28 of 40"
    otherwise = "write the goal for one block, or one block with all the balls"
