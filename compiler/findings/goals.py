"""Goals that are out of reach."""

from ...grammar.facts import Portion
from ...grammar.finding import Hint, OfBall, Severity


def asked_hits(hits: int, among: int) -> str:
    """`4 in a row`, or `8 of 10`."""
    return f"{hits} in a row" if hits == among else f"{hits} of {among}"


class ShorterStreak(Hint):
    streak: int
    among: int
    says = "{goal} come about in at least every other block"

    @property
    def goal(self) -> str:
        return asked_hits(self.streak, self.among)


class MoreBalls(Hint):
    balls: int
    says = "its block has too few balls for that: {balls} are needed for it to come about in every other block"


class OneBlock(Hint):
    block: str
    several: bool
    """Whether more than one player plays it."""
    says = "a streak is counted within one block, and each round begins anew; one block goes on: `{block}`{turns}"

    @property
    def turns(self) -> str:
        return ", with `rotation changing every ball` under the program" if self.several else ""


class EasierReply(Hint):
    says = "at so few good replies no streak is a goal: an easier ball or a wider reply comes first"


class GoalFar(OfBall):
    streak: int
    among: int
    share: Portion
    balls: int
    chance: Portion
    severity = Severity.NOTE
    says = "replies to {ball} are good {share:of ten} in ten, and the block has {balls} of them: {odds} of {goal}"
    title = "A goal that is out of reach"
    why = (
        "The chance of so many good replies in a row, or among the last balls, follows from how many of ten replies to "
        "the balls of a block are good, each by itself (Feller, An Introduction to Probability Theory, XIII.7). The "
        "note comes below one chance in ten, our own choice: a goal that is nearly always missed tells a player "
        "nothing. Few replies are independent, and the forecast is for a player with the `scatter` of the script."
    )
    example = "up 6 in a row"
    instead = "up 2 in a row"

    @property
    def goal(self) -> str:
        return asked_hits(self.streak, self.among)

    @property
    def odds(self) -> str:
        if self.chance <= 0:
            return "no chance"
        return f"a chance of 1 in {1 / self.chance:,.0f}"
