"""A feed that has the ball of another, met elsewhere."""

from ...grammar.facts import BallName, Speed
from ...grammar.finding import Message, OfBall, Severity


class SameBallOnly(Message):
    feed: str
    other: str
    line: str
    says = "{feed} has the ball of {other}, so it has no {line} of its own"
    title = "A line of its own in a feed that has the ball of another"
    why = (
        "`ball same as one` takes the launch of that feed as it is: place, spin and flight are that feed's. Only the "
        "stance, where the player starts, the interval and the notes are its own. The height and the time at which it "
        "is met follow from its stance."
    )
    example = "feed two, like one\n    ball same as one\n    stance on baseline\n    pace 80 km/h"
    instead = "feed two, like one\n    ball same as one\n    stance on baseline"


class SameBallPlace(Message):
    feed: str
    says = "{feed} has the ball of another feed, and needs a stance that is a place"
    title = "A ball that is met elsewhere, without a place"
    why = "The launch is known, so the place is all that says where the ball is met."
    example = "feed two, like one\n    ball same as one\n    stance where it is waist high"
    instead = "feed two, like one\n    ball same as one\n    stance on baseline"


class SameBallOfSeveral(Message):
    feed: str
    other: str
    balls: int
    says = "{other} is {balls} balls, and {feed} can be the same as one only"
    title = "The ball of a feed that has several"
    why = "A list or steps make a family, of which no one ball is meant."
    example = "feed one\n    depth deep, short\nfeed two, like one\n    ball same as one"
    instead = "feed one\n    depth deep\nfeed two, like one\n    ball same as one"


class SameBallLost(OfBall):
    other: BallName
    reason: str
    says = "{ball} has the ball of {other}, which {reason}"
    title = "The ball of another feed that is not met there"
    why = (
        "The ball is that of the other feed, whatever the stance. So that feed needs a ball that can be fed, and the "
        "stance has to lie behind its bounce; of a ball on the full, before the place where it comes down."
    )
    example = "feed one\n    depth deep\nfeed two, like one\n    ball same as one\n    stance on service line"
    instead = "feed one\n    depth deep\nfeed two, like one\n    ball same as one\n    stance 1 m behind baseline"


class NotTheSameBall(OfBall):
    other: BallName
    pace: Speed
    others: Speed
    severity = Severity.NOTE
    says = "{ball} differs from {other} in its stance alone, and is another ball: {pace}, not {others}"
    title = "Another stance makes another ball"
    why = (
        "The height at the player or the time that the feed inherits is asked at its own stance, and from there it "
        "takes another launch. That is right where the player meets every ball as high. Where one and the same ball "
        "is meant, such as a serve that is met earlier or later, `ball same as` and the name of the other feed says "
        "so. The note comes from 5 km/h on, our own choice."
    )
    example = "feed two, like one\n    stance on baseline"
    instead = "feed two, like one\n    ball same as one\n    stance on baseline"

    def advice(self) -> list[str]:
        return ["if that is meant, nothing has to change"]

    def last_resort(self) -> str:
        return f"`ball same as {self.other}` beside its stance makes it that ball"
