"""Who plays which balls."""

from ...grammar.facts import BallName, Names
from ...grammar.finding import Message


class ForNothing(Message):
    says = "for needs blocks indented under it"
    title = "A line for a player without a block"
    why = "The blocks under the line are for that player. A single block may also say it at its end."
    example = "for anna"
    instead = "for anna\n    4 min steady"


class NobodyCalled(Message):
    name: str
    says = "a block is for {name}, and no player has a name"
    title = "A block for a player, and no player with a name"
    why = "A player's line gives the name with `called`."
    example = "player right-handed, 1.72 m tall\n...\n    4 min steady for anna"
    instead = "player called anna, right-handed, 1.72 m tall\n...\n    4 min steady for anna"


class NobodysTurn(Message):
    players: Names
    says = "this block is for {players: and } and nothing says how they take turns"
    title = "A block for several players without a rotation"
    why = "Each ball is worked out for the player who gets it. Say who plays the block, or when the players change."
    example = "4 min steady"
    instead = "4 min steady for anna"


class ShareForNobody(Message):
    name: BallName
    says = "this line does not say who plays {name}; of another ball it does"
    title = "A ball of a block that is for nobody"
    why = "Where the balls of a cycle or a mix are for different players, each of them says for whom."
    example = "20 balls mix to-the-left for anna, to-the-right"
    instead = "20 balls mix to-the-left for anna, to-the-right for ben"


class OneByMarks(Message):
    players: Names
    says = "this block is for {players: and }; where hits and misses decide what comes, one player plays"
    title = "A ladder, a point that begins again, or a block with an early end, for several players"
    why = (
        "A rung, the start of a point and an early end depend on the marks of the balls before, and these have to be "
        "those of one player. Write the block once for each of them. Only a point that says whose each of its balls is "
        "is won or lost by several together."
    )
    example = "ladder rocket, up to 40 balls, pace 70, 80 km/h"
    instead = "for anna\n    ladder rocket, up to 40 balls, pace 70, 80 km/h"
    otherwise = (
        "write it once for each player; what several win or lose together is a point that says whose each ball is"
    )
