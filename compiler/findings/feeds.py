"""Zones, variations and feeds, before anything is flown."""

from ...grammar.facts import Metres, Names
from ...grammar.finding import Hint, Message, OfBall


class ZoneIncomplete(Message):
    says = "a zone needs one side and one depth"
    title = "A zone without side or depth"
    why = "A zone is one side line and one depth line."
    example = "zone pocket\n    depth short"
    instead = "zone pocket\n    depth short\n    side left corner"


class ReplySide(Message):
    says = "the side of a reply is left or right, as the player sees it: a corner, a wing or a distance"
    title = "Forehand or backhand in a reply"
    why = (
        "Nobody knows whose forehand the reply goes to. Left and right are always those that the player sees. For "
        "players of different hands say that it is the player's own: reply deep, 0.5 to 4 m to own forehand side."
    )
    example = "reply deep, to backhand corner"
    instead = "reply deep, to left corner"


class FromTheMiddle(OfBall):
    off: Metres
    way: str
    says = "{ball} is met {off} from the centre, so {way} may be either half"
    title = "Crosscourt or down the line from the middle"
    why = (
        "Crosscourt is the half diagonally opposite to that in which the ball is met, down the line the half straight "
        "ahead. A ball met less than 0.5 m from the centre (our own choice) is of neither. The line says which half, "
        "or a line `stroke` with which stroke it is met: a right-hander's forehand goes crosscourt to the left."
    )
    example = "side middle\n\nreply past service line, crosscourt"
    instead = "side middle\n\nreply past service line, to 0 to 4.1 m left of centre"


class StrokeSays(Hint):
    says = (
        "or the stroke says the half, by the player's hand: `stroke forehand` or `stroke backhand` under the variation"
    )


class SpinTwice(Message):
    says = "these spins exclude each other"
    title = "Spins that exclude each other"
    why = "Topspin and backspin are opposites, and flat means no spin at all."
    example = "spin topspin 900 rpm and backspin 300 rpm"
    instead = "spin topspin 900 rpm and sidespin 300 rpm to the left"


class LikeCircle(Message):
    chain: Names
    balls: bool = False
    """Whether they have each other's ball."""
    says = "these feeds {are} in a circle: {told}"
    title = "Feeds that are like each other in a circle"
    why = "One of them needs its own lines."
    example = "feed a, like b\nfeed b, like a"
    instead = "feed a\n    depth deep\nfeed b, like a"

    @property
    def are(self) -> str:
        return "have each other's ball" if self.balls else "are like each other"

    @property
    def told(self) -> str:
        return f"{self.chain: that of }" if self.balls else f"{self.chain: like }"


class FeedIncomplete(Message):
    name: str
    missing: Names
    says = "feed {name} lacks {missing:, }"
    title = "A feed that lacks a line"
    why = "A feed needs side, depth, stance, spin and interval: its own lines, or those of the feed that it is like."
    example = "feed steady\n    depth deep"
    instead = "feed quick, like steady\n    depth short"


class Undetermined(Message):
    name: str
    wanted: Names
    says = "the flight of {name} is still open; it needs one more line: {wanted}"
    title = "The flight is still open"
    why = (
        "Many flights reach the same place with the same spin. One more line decides: a height over the net, a "
        "height at the player, a pace, or a time to contact. On the full, the height at the player is part of the "
        "place, so it takes one of the others."
    )
    example = "feed steady\n    depth deep\n    spin flat"
    instead = "feed steady\n    depth deep\n    spin flat\n    height waist, falling"


class Overdetermined(OfBall):
    reason: str
    says = "one line too many: {reason}"
    title = "One line too many"
    why = (
        "Height over the net, height at the player, pace and time to contact each decide the flight alone, and two of "
        "them hardly ever agree, unless the depth or the stance is left open. In a feed that is like "
        "another, its own line replaces the inherited one."
    )
    example = "height waist, falling\npace 90 km/h"
    instead = "pace 90 km/h"


class HeightOverNet(Message):
    says = "a height over the net is one distance, such as 1.2 m over net"
    title = "A height over the net that is not a distance"
    why = "A height over the net is measured from the cord."
    example = "height knee over net"
    instead = "height 1.2 m over net"


class HeightAtTop(Message):
    says = "the height at the top of a flight is one distance, such as 6 m at the top"
    title = "A height at the top that is not a distance"
    why = "How high a ball flies is measured from the ground."
    example = "height head at the top"
    instead = "height 6 m at the top"


class HeightOnTheFull(Message):
    says = "a ball on the full does not bounce, so it has no top of bounce"
    title = "Top of bounce, on the full"
    why = "On the full, the player meets the ball before it bounces."
    example = "height top of bounce, on the full"
    instead = "height shoulder, on the full"


class BouncesOnTheFull(Message):
    says = "a ball on the full does not bounce"
    title = "After bounces, on the full"
    why = "On the full, the player meets the ball before it bounces."
    example = "height shoulder, on the full, after one bounce"
    instead = "height shoulder, on the full"


class TogetherUneven(Message):
    line: str
    count: int
    other: str
    others: int
    says = "{line} has {count} values, {other} has {others}; lists that go together are equally long"
    title = "Lists of different length that go together"
    why = "Side by side means the first with the first, the second with the second, up to the last."
    example = "feed steady\n    depth short, deep\n    pace 60, 70, 80 km/h\n    together depth, pace"
    instead = "feed steady\n    depth short, deep\n    pace 60, 80 km/h\n    together depth, pace"


class TogetherOfOne(Message):
    says = "together needs two of its lines to be lists"
    title = "Nothing to put together"
    why = "A line with a single value holds for every ball of the family anyway. Only lists can go side by side."
    example = "feed steady\n    depth short, deep\n    pace 60 km/h\n    together depth, pace"
    instead = "feed steady\n    depth short, deep\n    pace 60, 80 km/h\n    together depth, pace"


class StancePlace(Message):
    says = "a stance is a distance from a line, such as 1 m behind baseline"
    title = "A stance that is a zone"
    why = "The stance is one line across the court, where the player meets the ball."
    example = "stance deep"
    instead = "stance 1 m behind baseline"


class FamilyTooLarge(Message):
    found: int
    limit: int
    says = "these lists make {found} balls of one feed; the limit is {limit}"
    title = "A family with too many balls"
    why = "Two lists in one feed combine in every way. Fewer balls are enough for a practice."
    example = "height 0.8 to 1.4 m, in 20 steps\ndepth 1 to 4 m inside baseline, in 20 steps"
    instead = "height 0.8 to 1.4 m, in 4 steps\ndepth 1 to 4 m inside baseline, in 4 steps"

    def advice(self) -> list[str]:
        return [f"write fewer values or steps, or share them between two feeds of a mix: each may make {self.limit}"]


class StepsOfOne(Message):
    says = "steps need a range, such as 1 to 3 m"
    title = "Steps of one value"
    why = "The steps divide a range into equal parts, with a ball for each."
    example = "depth 2 m inside baseline, in 5 steps"
    instead = "depth 1 to 3 m inside baseline, in 5 steps"


class StepsOfAList(Message):
    says = "steps go with one range, not with a list"
    title = "Steps of a list"
    why = "A list already gives its values."
    example = "height knee, waist, in 3 steps"
    instead = "height knee, waist"


class TopInAList(Message):
    says = "the top of the bounce cannot stand in a list"
    title = "Top of bounce in a list"
    why = "The top of the bounce is a moment, not a height, so it needs a feed of its own."
    example = "height waist, top of bounce"
    instead = "height top of bounce"


class TopHasNoPhase(Message):
    says = "the top of the bounce is neither rising nor falling"
    title = "Top of bounce, rising or falling"
    why = "At the top the ball does neither."
    example = "height top of bounce, rising"
    instead = "height top of bounce"


class FeedsMissing(Message):
    says = "the script has no feed"
    title = "No feed"
    why = (
        "A feed is one kind of ball; without one there is nothing to solve. Only a session of the player's own serves, "
        "`20 serves every 12 s`, and of rests needs none."
    )
    example = 'program "Tuesday pairs"'
    instead = "feed steady aims rally"
