"""Zones, variations and feeds, before anything is flown."""

from ...grammar.facts import Names
from ...grammar.finding import Message


class ZoneIncomplete(Message):
    says = "a zone needs one side and one depth"
    title = "A zone without side or depth"
    why = "A zone is one side line and one depth line."
    example = "zone pocket\n    depth short"
    instead = "zone pocket\n    depth short\n    side left corner"


class ReplySide(Message):
    says = "the reply's side is said with left or right, as the player sees it"
    title = "Forehand or backhand in a reply"
    why = "Whose forehand the reply goes to is not known; left and right are, as the player sees them."
    example = "reply deep, to backhand corner"
    instead = "reply deep, to left corner"


class SpinTwice(Message):
    says = "these spins exclude each other"
    title = "Spins that exclude each other"
    why = "Topspin and backspin are one axis; flat is no spin at all."
    example = "spin topspin 900 rpm and backspin 300 rpm"
    instead = "spin topspin 900 rpm and sidespin 300 rpm to the left"


class LikeCircle(Message):
    chain: Names
    says = "these feeds are like each other in a circle: {chain: like }"
    title = "Feeds that are like each other in a circle"
    why = "Somewhere the lines have to be written out."
    example = "feed a, like b\nfeed b, like a"
    instead = "feed a\n    depth deep\nfeed b, like a"


class FeedIncomplete(Message):
    name: str
    missing: Names
    says = "feed {name} lacks {missing:, }"
    title = "A feed that lacks a line"
    why = "Side, depth, stance, spin and interval are needed, of the feed's own or of the feed it is like."
    example = "feed steady\n    depth deep"
    instead = "feed quick, like steady\n    depth short"


class Undetermined(Message):
    name: str
    wanted: Names
    says = "nothing fixes the flight of {name}: one line more is needed, {wanted}"
    title = "Nothing fixes the flight"
    why = (
        "Place and spin leave many flights open. One line more decides: a height over the net, a height at the "
        "player, a pace, or a time to contact. On the full the height at the player is the place, so one of the "
        "others is needed."
    )
    example = "feed steady\n    depth deep\n    spin flat"
    instead = "feed steady\n    depth deep\n    spin flat\n    height waist, falling"


class Overdetermined(Message):
    reason: str
    says = "too much is said: {reason}"
    title = "One line too many"
    why = (
        "Height over the net, height at the player, pace and time to contact each fix the flight alone; two of "
        "them can hardly both be met. In a feed that is like another, an own line replaces the inherited one."
    )
    example = "height waist, falling\npace 90 km/h"
    instead = "pace 90 km/h"


class HeightOverNet(Message):
    says = "a height over the net is one distance, such as 1.2 m over net"
    title = "A height over the net that is no distance"
    why = "Over the net a height is measured from the cord."
    example = "height knee over net"
    instead = "height 1.2 m over net"


class HeightOnTheFull(Message):
    says = "a ball on the full has no bounce whose top could be meant"
    title = "Top of bounce, on the full"
    why = "On the full the ball does not bounce before it is met."
    example = "height top of bounce, on the full"
    instead = "height shoulder, on the full"


class StancePlace(Message):
    says = "a stance is a distance from a line, such as 1 m behind baseline"
    title = "A stance that is a zone"
    why = "Where the ball is met is one line across the court."
    example = "stance deep"
    instead = "stance 1 m behind baseline"


class FamilyTooLarge(Message):
    found: int
    limit: int
    says = "these lists make {found} balls of one feed; the limit is {limit}"
    title = "A family with too many balls"
    why = "Two lists in one feed are combined in every way; fewer make a practice."
    example = "height 0.8 to 1.4 m, in 20 steps\ndepth 1 to 4 m inside baseline, in 20 steps"
    instead = "height 0.8 to 1.4 m, in 4 steps\ndepth 1 to 4 m inside baseline, in 4 steps"


class StepsOfOne(Message):
    says = "so many steps need a range, such as 1 to 3 m"
    title = "So many steps of one value"
    why = "A range is divided into so many equal parts, and each part is aimed at."
    example = "depth 2 m inside baseline, in 5 steps"
    instead = "depth 1 to 3 m inside baseline, in 5 steps"


class StepsOfAList(Message):
    says = "so many steps go with one range, not with a list"
    title = "So many steps of a list"
    why = "A list says its values itself."
    example = "height knee, waist, in 3 steps"
    instead = "height knee, waist"


class TopInAList(Message):
    says = "the top of the bounce cannot stand in a list"
    title = "Top of bounce in a list"
    why = "It is no height but a moment; a feed of its own says it."
    example = "height waist, top of bounce"
    instead = "height top of bounce"


class TopHasNoPhase(Message):
    says = "the top of the bounce is neither rising nor falling"
    title = "Top of bounce, rising or falling"
    why = "At its top the ball does neither."
    example = "height top of bounce, rising"
    instead = "height top of bounce"


class FeedsMissing(Message):
    says = "the script has no feed"
    title = "No feed"
    why = "A feed is one kind of ball; without one there is nothing to solve."
    example = 'program "Backhand wing"'
    instead = "feed steady aims rally"
