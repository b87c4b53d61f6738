"""The session: its blocks, and how long they last."""

from ...grammar.facts import BallName, Names, Seconds
from ...grammar.finding import Hint, Message, OfBall, Severity


class InOrderForOne(Message):
    name: str
    walk: str
    others: Names
    severity = Severity.WARNING
    says = "{walk} holds for {name} alone; {others:, } {come} at random"
    title = "One family in order, another at random"
    why = (
        "In a cycle or a mix, `in order` and `in order, then back` hold for the family after which they stand. The "
        "others come in a random order. If that is meant, accept in-order-for-one."
    )
    example = "cycle out-right, out-left in order"
    instead = "cycle out-right in order, out-left in order"

    @property
    def come(self) -> str:
        return "comes" if len(self.others) == 1 else "come"


class PointEmpty(Message):
    name: str
    says = "the point {name} plays no ball"
    title = "A point without balls"
    why = (
        "The line plays says which balls come, in their order. A player's serve begins a point and is no ball of it: "
        "serves after which no ball is fed are a line of the session, `20 serves every 12 s`."
    )
    example = "point attack\n    if missed, from the start"
    instead = "point attack\n    plays shorter, then volley\n    if missed, from the start"


class ServesAlone(Hint):
    says = (
        "after each serve of a point comes a ball that is fed, as in `plays steady`; serves alone are a line of the "
        'session, `20 serves every 12 s`, with a note under it, `note "wide"`'
    )


class OneSession(Hint):
    use: str
    says = "a script has one session: another day is another script, which may take the balls of this one: {use}"


class GameOfBalls(Message):
    says = "first to counts points, and this block counts balls"
    title = "A game of balls"
    why = "A game ends when one side has won so many points. A point is one or several balls with a name."
    example = "20 balls steady\n    first to 11"
    instead = "point rally\n    plays steady\n\n21 points rally\n    first to 11"


class GameTooFar(Message):
    score: int
    points: int
    says = "first to {score} in a block of {points} points: no side can get there"
    title = "A game that nobody can win"
    why = "The block has fewer points than one side needs. For a game to 11, 21 points are always enough: 11 to 10."
    example = "8 points attack\n    first to 11"
    instead = "21 points attack\n    first to 11"


class GameInstead(Hint):
    score: int
    says = "a block of points can be a game, as the line below it says: first to {score}"


class UntilOfPoints(Message):
    says = "a goal counts balls, and this block counts points"
    title = "A block of points that goes on until a goal of its balls"
    why = (
        "What ends a block of points counts points: so many won in a row, so many of the last ones, or a score "
        "(`first to` and a number below it)."
    )
    example = "12 points attack, until the goal"
    instead = "12 points attack, until 4 in a row"


class MoreHitsThanBalls(Message):
    hits: int
    balls: int
    misses: bool = False
    says = "{hits} {what} among {balls} balls cannot happen"
    title = "More hits than balls"
    why = "The hits are counted among that number of balls, so there cannot be more of them. The smaller one is first."
    example = "goal 16 of 10"
    instead = "goal 10 of 16"

    @property
    def what(self) -> str:
        return "misses" if self.misses else "hits"


class UntilTooFar(Message):
    hits: int
    balls: int
    points: bool = False
    misses: bool = False
    says = "until {hits} are {good}, among {balls} {what}: no player can get there"
    title = "A block that no player can end"
    why = "There are fewer balls than there have to be hits, or misses. Ask for fewer, or give the block more balls."
    example = "8 balls steady, until 10 in a row"
    instead = "24 balls steady, until 4 in a row"

    @property
    def good(self) -> str:
        if self.points:
            return "lost" if self.misses else "won"
        return "missed" if self.misses else "hits"

    @property
    def what(self) -> str:
        return "points" if self.points else "balls"


class UntilNoGoal(Message):
    ball: BallName
    says = "until the goal, but no ball of this block has one: {ball} aims at none"
    title = "A block that goes on until a goal that is nowhere"
    why = (
        "A goal is a line of the variation at which a ball aims: `goal 4 in a row`. Without it no mark ends the block."
    )
    example = "24 balls wider, until the goal"
    instead = "24 balls wider, until 4 in a row"


class TurnsOfPoints(Message):
    says = "the players change after so many points, and no block plays points"
    title = "Players who change after points, where nobody plays any"
    why = (
        "Players change after so many balls, or in a block of points after so many points. Where all blocks are of "
        "balls, say balls."
    )
    example = "rotation changing every 4 points"
    instead = "rotation changing every 4 balls"


class CountedAs(Message):
    name: str
    is_point: bool
    says = "{kinds}"
    title = "Points counted as balls, or balls as points"
    why = "A point counts as one, however many balls it has. In a block with a point a single ball counts as one, too."
    example = "8 points steady"
    instead = "8 balls steady"

    @property
    def kinds(self) -> str:
        if self.is_point:
            return f"{self.name} is a point; a block of it counts points"
        return f"{self.name} is a ball; a block of it counts balls"


class PointSlower(OfBall):
    even: Seconds
    interval: Seconds
    several: bool
    """Whether several points of the block begin again."""
    severity = Severity.WARNING
    says = "{ball} comes {even} after the ball before, not {interval}, because a point of the block begins again"
    title = "A ball of a point that comes later than its interval"
    why = (
        "After a miss any ball of the block may come next, so all balls of the block come evenly, with the longest "
        "interval among them and the time from a serve to its ball. No interval inside a point can then be shorter. "
        "Leave out the line if missed, and the point keeps its rhythm; or write if missed, next point: a miss then "
        "leaves out the rest of the point, and the next one comes at its time."
    )
    example = "interval  4 s\n...\npoint attack\n    plays steady, then quick\n    if missed, from the start"
    instead = "interval  4 s\n...\npoint attack\n    plays steady, then quick\n    if missed, next point"

    def advice(self) -> list[str]:
        every = "leave out the line if missed of every point of the block, or write if missed, next point in each"
        return [f"{every}: the balls then keep their intervals"] if self.several else []


class PointUnused(Message):
    name: str
    severity = Severity.WARNING
    says = "point {name} is never played"
    title = "A point that is never played"
    why = "No block plays it."
    example = "point attack\n    plays shorter, then volley"
    instead = "8 points attack"


class SessionEmpty(Message):
    says = "the session has no block"
    title = "A session without blocks"
    why = "The blocks are indented lines under the session."
    example = 'session "Half an hour"'
    instead = 'session "Half an hour"\n    4 min steady'


class SessionMissing(Message):
    says = "the script has no session: there is nothing to play"
    title = "No session"
    why = "A session says which feeds are played, for how long or how often, in which order."
    example = "feed steady"
    instead = 'session "Half an hour"\n    4 min steady'


class RoundsEmpty(Message):
    says = "rounds need blocks indented under them"
    title = "Rounds without blocks"
    why = "The indented lines under the rounds are what is repeated."
    example = "2 rounds"
    instead = "2 rounds\n    8 balls steady"


class BetweenNoRounds(Message):
    says = "“between rounds” needs rounds around it"
    title = "Between rounds, where there are none"
    why = (
        "A rest or a collect between rounds follows each of them but the last, so it stands indented under their line. "
        "Elsewhere a rest comes where it stands."
    )
    example = 'session "Half an hour"\n    8 balls   steady\n    rest      45 s between rounds\n    8 balls   steady'
    instead = 'session "Half an hour"\n    2 rounds\n        8 balls   steady\n        rest      45 s between rounds'


class AtMostHere(Message):
    says = "“at most … alike” goes only with mix"
    title = "“At most … alike” without a mix"
    why = "Only the order of a mix is drawn; a cycle keeps its own order."
    example = "4 min cycle steady, kicker, at most 2 alike"
    instead = "4 min mix steady, kicker, at most 2 alike"


class MixOfOne(Message):
    name: str
    says = "all balls of a mix of {name} alone are alike"
    title = "A mix of one feed"
    why = "A limit on balls alike needs a second feed."
    example = "4 min mix steady, at most 2 alike"
    instead = "4 min mix steady, kicker, at most 2 alike"


class BothSides(Message):
    name: str
    of_point: bool
    says = "{comes}, so the limit of balls to one side cannot count it"
    title = "A limit of balls to one side, for a ball that comes to both"
    why = (
        "The sides are left and right of the centre where a ball is aimed, so each ball of the mix has to have one. A "
        "ball to the middle is of neither. Give a family that comes to both sides a feed for each, and play the balls "
        "of a point in a block without this limit."
    )
    example = "side left wing, right wing\n...\n    20 balls mix wide, deep, at most 2 to one side in a row"
    instead = "20 balls mix wide-left, wide-right, deep, at most 2 to one side in a row"

    @property
    def comes(self) -> str:
        return f"{self.name} {'is a point' if self.of_point else 'comes to more than one of left, right and middle'}"


class OneSide(Message):
    says = "all balls of this mix come to one side"
    title = "A limit of balls to one side, where there is no other"
    why = "Balls in a row to one side can only be broken up by a ball to the other side, or to the middle."
    example = "20 balls  mix left-short, left-deep, at most 2 to one side in a row"
    instead = "20 balls  mix left-short, left-deep, right-deep, at most 2 to one side in a row"


class IntervalOfPoints(Message):
    name: str
    says = "{name} is a point, whose balls keep their own intervals"
    title = "An interval for a block of points"
    why = "The rhythm of a point is that of its balls: each comes its own interval after the ball before."
    example = "8 points attack\n    interval 4 s"
    instead = "feed approach-sooner, like approach\n    interval 4 s"


class PercentOf(Message):
    whole: int
    says = "the shares of the mix add up to {whole} %, not to 100 %"
    title = "A mix that is not a hundred percent"
    why = (
        "Shares in percent are of all the balls of the mix. Shares in whole numbers, such as 2 and 1, need no such sum."
    )
    example = "4 min mix 70 % steady, 20 % kicker"
    instead = "4 min mix 70 % steady, 30 % kicker"


class SessionTooLong(Message):
    found: int
    limit: int
    what: str
    says = "the session comes to {found} {what}; the limit is {limit}"
    title = "A session that is far too long"
    why = "Rounds within rounds multiply. Nobody can play as much as the limit allows."
    example = "200 rounds\n    200 balls steady"
    instead = "2 rounds\n    20 balls steady"


class RestInsideLong(Message):
    asked: Seconds
    possible: Seconds
    says = "a rest inside a block is {possible} at most, not {asked}"
    title = "A long rest inside a block"
    why = "A machine does not stay ready to launch for longer. After a longer rest a person arms it for another block."
    example = "40 balls steady\n    rest 3 min after every 20 balls"
    instead = "20 balls steady\nrest 3 min\n20 balls steady"


class RestWhereItBeginsAgain(Message):
    name: str
    says = "{name} begins again after a miss, so how many balls come before a rest is not known"
    title = "A rest inside a block whose points begin again"
    why = (
        "Where a point begins again, its balls come evenly and marks say which they are, so no ball is the first of "
        "a point before it is due. Two blocks with a rest between them rest in the same place."
    )
    example = "8 points attack\n    rest 40 s after every 4 points"
    instead = "4 points attack\nrest 40 s\n4 points attack"


class RestNever(Message):
    every: int
    what: str
    comes: int
    fills: bool
    """Whether the rest takes the minutes of its block up to their end."""
    severity = Severity.WARNING
    says = "no ball follows the rest that comes after {every} {what}: {told}"
    title = "A rest inside a block that never comes"
    why = (
        "No rest comes after the last ball of a block. One that follows the block stands on a line of its own after it."
    )
    example = "20 balls steady\n    rest 40 s after every 20 balls"
    instead = "20 balls steady\nrest 40 s"

    @property
    def told(self) -> str:
        return "it fills the minutes of the block" if self.fills else f"the block has {self.comes}"


class OneSet(Message):
    balls: int
    what: str
    severity = Severity.WARNING
    says = "the block has one set of {balls} {what}, and no other comes, whatever it was"
    title = "A block of one set"
    why = (
        "Where a set does not end the block the next one begins, so a block has the balls of all its sets. Three sets "
        "of 16 balls are 48 balls, and the first of them that is good enough is the last."
    )
    example = "16 balls steady, until 12 of every 16"
    instead = "48 balls steady, until 12 of every 16"


class PointTooLong(Message):
    name: str
    block: Seconds
    needed: Seconds
    says = "a block of {block} is too short for the point {name}, whose last ball leaves after {needed}"
    title = "A block without a whole point"
    why = "A point comes whole or not at all. A shorter block ends before its last ball."
    example = "10 s attack"
    instead = "2 min attack"


class BlockTooShort(Message):
    block: Seconds
    interval: Seconds
    says = "a block of {block} is too short for a ball: the interval before it is {interval}"
    title = "A block without a ball"
    why = "The interval starts at the last launch of the block before. A shorter block ends before its first ball."
    example = "3 s steady"
    instead = "1 min steady"
