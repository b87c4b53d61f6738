"""The session: blocks, ladders and how long they last."""

from ...grammar.facts import Seconds
from ...grammar.finding import Message


class LadderOfFamily(Message):
    name: str
    says = "{name} is a family of balls; a ladder climbs with one"
    title = "A ladder of a family"
    why = "Each rung is one ball, so that hits and misses mean the same all through it."
    example = "feed steady\n    height knee, waist"
    instead = "feed steady\n    height waist"


class LadderOfOne(Message):
    says = "a ladder has two rungs or more"
    title = "A ladder with one rung"
    why = "There is nothing to climb."
    example = "ladder rocket, up to 40 balls, spin flat"
    instead = "ladder rocket, up to 40 balls, pace 70, 80, 90 km/h"


class LadderOnTheFull(Message):
    name: str
    says = "{name} is met on the full; this ladder needs a ball that bounces"
    title = "A ladder of bounces, on the full"
    why = "A ball on the full has no depth and no height after the bounce."
    example = "ladder volley, up to 20 balls, depth short, deep"
    instead = "ladder volley, up to 20 balls, pace 40, 50, 60 km/h"


class LadderWithoutUp(Message):
    says = "when the ladder goes up is not said, and its variation has no goal"
    title = "A ladder without a way up"
    why = "The rule stands under the ladder, or is the goal of the variation aimed at."
    example = "ladder rocket, up to 40 balls, pace 70, 80 km/h"
    instead = "ladder rocket, up to 40 balls, pace 70, 80 km/h\n    up 8 in a row"


class LadderOnlyUp(Message):
    misses: int
    within: int
    says = "{misses} misses in {within} cannot happen"
    title = "A way down that never comes"
    why = "The misses are counted among the last so many balls."
    example = "down 4 misses in 3"
    instead = "down 2 misses in 6"


class SessionEmpty(Message):
    says = "the session has no block"
    title = "A session without blocks"
    why = "Blocks stand indented under the session."
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
    title = "Rounds of nothing"
    why = "What is repeated stands indented under the rounds."
    example = "2 rounds"
    instead = "2 rounds\n    8 balls steady"


class AtMostHere(Message):
    says = "“at most … alike” goes with mix only"
    title = "At most so many alike, without a mix"
    why = "Only a mix is drawn; a cycle has its order."
    example = "4 min cycle steady, kicker, at most 2 alike"
    instead = "4 min mix steady, kicker, at most 2 alike"


class MixOfOne(Message):
    name: str
    says = "a mix of {name} alone cannot keep its balls from being alike"
    title = "A mix of one feed"
    why = "With one feed every ball is alike."
    example = "4 min mix steady, at most 2 alike"
    instead = "4 min mix steady, kicker, at most 2 alike"


class SessionTooLong(Message):
    found: int
    limit: int
    what: str
    says = "the session unrolls to {found} {what}; the limit is {limit}"
    title = "A session without end"
    why = "Rounds within rounds multiply. The limit is far beyond what anybody can play."
    example = "200 rounds\n    200 balls steady"
    instead = "2 rounds\n    20 balls steady"


class BlockTooShort(Message):
    block: Seconds
    interval: Seconds
    says = "a block of {block} has no room for a ball after an interval of {interval}"
    title = "A block without a ball"
    why = "The interval runs since the last launch of the block before, so a block shorter than that has no ball."
    example = "3 s steady"
    instead = "1 min steady"
