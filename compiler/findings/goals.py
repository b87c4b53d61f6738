"""Goals that are out of reach."""

from ...grammar.facts import Names, Portion
from ...grammar.finding import Hint, Message, OfBall, Severity
from ...grammar.units import hits_of


class GoalEndsNothing(Message):
    variation: str
    decides: str
    each: bool = False
    says = "the goal of {variation} {counts}, and cannot say {decides}"
    title = "A goal of the whole session, or of each player, that should end a block or move a ladder"
    why = (
        "A goal `in all` goes on from block to block, and one with `each` is reached by one player before another. "
        "What ends a block, or takes the player up a rung, is counted in "
        "that block alone: say it on the block's line, under the ladder, or in the variation as a goal among the balls "
        "of the block, such as `goal 3 of 10`."
    )
    example = "variation rally\n    goal 35 of 50 in all\n...\n20 balls steady, until the goal"
    instead = "20 balls steady, until 14 of 20"
    otherwise = "say it for this block, as in until 4 in a row; under a ladder as in up 4 in a row"

    @property
    def counts(self) -> str:
        return "has a count for each player" if self.each else "counts all balls of the session"


class GoalsInBlock(Hint):
    goals: str
    says = "what this block can count: {goals}; a longer block has more balls of each"


class ShorterStreak(Hint):
    streak: int
    among: int
    over: str = "block"
    in_sets: bool = False
    each: bool = False
    says = "{goal} come about in at least every other {counted}"

    @property
    def counted(self) -> str:
        return "block" if self.over == "block" else "session"

    @property
    def goal(self) -> str:
        return hits_of(self.streak, self.among, self.in_sets, each=self.each)


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
    over: str = "block"
    """What the goal counts: a block, rounds, or the session."""
    in_sets: bool = False
    players: int = 1
    """How many have to reach it, each with so many balls."""
    severity = Severity.NOTE
    points: bool = False
    """Whether it counts points that are won."""
    says = "{balls_of} {ball} are {good} {share:of ten} in ten, and {has} {balls} of them: {odds} of {goal}"
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
    def balls_of(self) -> str:
        return "points that begin with" if self.points else "replies to"

    @property
    def good(self) -> str:
        return "won" if self.points else "good"

    @property
    def has(self) -> str:
        return f"each of {self.players} players has" if self.players > 1 else _has(self.over)

    @property
    def goal(self) -> str:
        of_each = " by each" if self.players > 1 else ""
        if self.in_sets or self.streak == self.among:
            return f"{hits_of(self.streak, self.among, self.in_sets)}{of_each}"
        return f"{self.streak} {'won' if self.points else 'hits'} among {self.among}{of_each}"

    @property
    def odds(self) -> str:
        if self.chance <= 0:
            return "no chance"
        return f"a chance of 1 in {1 / self.chance:,.0f}" if self.chance > 1e-6 else "less than 1 chance in a million"


class AllItsBalls(Hint):
    hits: int
    balls: int
    says = "the session has {balls} of its balls, and all of them count so: goal {hits} of {balls} in all"


class GoalLongerThanBlock(Message):
    hits: int
    among: int
    balls: int
    severity = Severity.NOTE
    says = "the goal counts among {among} balls, and the longest of its blocks has {balls}; each block counts anew"
    title = "A goal among more balls than a block has"
    why = (
        "Hits are counted within one block, so a goal among more balls than its longest block has is reached only by "
        "as many hits in fewer balls. With `in all` every ball of the variation counts, in whichever block it comes."
    )
    example = "goal 35 of 50\n...\n40 balls steady\nrest 1 min\n10 balls steady"
    instead = "goal 35 of 50 in all"
    otherwise = "write the goal for one block, or one block with all the balls"


class GoalOtherNumber(Message):
    """A goal that counts among another number of balls, or points, than there are."""

    hits: int
    among: int | None
    balls: int
    over: str
    what: str = "balls"
    severity = Severity.WARNING
    title = "A goal among another number of balls than there are"
    why = (
        "A goal `in all` counts every ball of its variation, or of the block or the rounds it stands under, so its "
        "second number is the number of these balls: blocks of minutes count with the balls that fit, and those that "
        "may end early count whole. A goal without `in all` under a block counts among the last balls, and there "
        "cannot be more of them than the block has. With `each` the balls of whoever has fewest count."
    )
    example = "goal 35 of 50 in all\n...\n40 balls steady\nrest 1 min\n20 balls steady"
    instead = "goal 35 of 60 in all"
    says = "{told}, and {has} {balls}"
    otherwise = "ask for fewer hits, or play more balls"

    @property
    def has(self) -> str:
        return _has(self.over)

    @property
    def told(self) -> str:
        if self.among is None or self.hits > self.balls:
            return f"the goal asks for {self.hits} {'hits' if self.what == 'balls' else 'points'}"
        return f"the goal counts among {self.among} {self.what}"


def _has(over: str) -> str:
    return {
        "rounds": "the rounds have", "each": "each player has", "fewest": "the player with fewest has",
    }.get(over, f"the {over} has")  # fmt: skip


class EachForOne(Message):
    severity = Severity.NOTE
    says = "each says nothing here: one player has all that this counts"
    title = "A goal of each player where one plays"
    why = (
        "With `each`, all who take turns have a count of their own. Where one player has all the balls, the goal says "
        "the same without it."
    )
    example = "player right-handed, 1.72 m tall\n...\ngoal 3 of 5 each"
    instead = "goal 3 of 5"


class PlaceAlone(Message):
    count: int
    severity = Severity.NOTE
    says = "what is told in ten counts the place of the replies alone, not {what}"
    title = "What else decides a hit is counted by nobody but who marks"
    why = (
        "Words after `hit if` stand beside the reply on sheet, phone and screen, and whoever marks the balls judges "
        "by them. Good replies, goals, ends and scores are forecast from the place, the height and the pace of the "
        "replies, so fewer come about than `check` says."
    )
    example = 'variation deep-back "deep"\n    reply past service line\n    hit if "one step in afterwards"'
    instead = "no other line, where those words are meant"

    @property
    def what(self) -> str:
        return "this line" if self.count == 1 else f"these {self.count} lines"
