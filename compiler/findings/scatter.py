"""How a feeder scatters its balls: in height, and around the place asked."""

from ...grammar.facts import Metres, Portion
from ...grammar.finding import OfBall, Severity

NEARER = "a feeder that stands nearer, or repeats better, may mend it where no line of the feed does"


class HeightVaries(OfBall):
    share: Portion
    asked: Metres
    reach: Metres
    high: bool = False
    """Whether a lob is asked for, or on the full a ball above the head, so that a flatter one would be another ball."""
    at_eyes: Portion | None = None
    """How many come as high as the player's eyes, of a ball that a person feeds and nobody asks above the head, if they
    are many."""
    severity = Severity.WARNING
    says = "{height}{met} of {ball}{like} are met within {reach:cm} of {level}{beside}"
    otherwise = NEARER
    title = "Balls that come too high or too low too often"
    why = (
        "The feeder scatters its balls, so the player meets them at different heights. The warning comes if more than "
        "one in ten is farther from the height asked than the chest is from the hip. A person who feeds from nearer "
        "by, or a machine that repeats better, helps; a line of the feed seldom does. A lob comes down steeply, so a "
        "step forward or back changes its height more than for other balls, and no flatter ball is proposed in its "
        "place. Of balls that a person feeds it is one note for the script, since no person feeds more evenly; but it "
        "stays a warning if more than one in ten may come as high as the eyes of a child, unless the ball is asked "
        "above the head. If the practice may vary so much, accept height-varies."
    )
    example = "feeder person racket, on centre, on baseline\n...\n    height shoulder, on the full"
    instead = "feeder person racket, on centre, 4 m from net\n...\n    height shoulder, on the full"

    def advice(self) -> list[str]:
        steps = ["a player steps forward or back for a high ball"] if self.high else []
        return [*steps, f"if that is meant, the line “accept height-varies” at the left margin {self.accepting}"]

    accepting = "allows it"

    @property
    def level(self) -> str:
        return "it"

    @property
    def like(self) -> str:
        return ""

    @property
    def height(self) -> str:
        return f"the height asked is {self.asked:.2 m}; "

    @property
    def met(self) -> str:
        return f"only {self.share}"

    @property
    def beside(self) -> str:
        return "" if self.at_eyes is None else f"; {self.at_eyes} may come as high as the eyes"


class OrdinaryHeight(HeightVaries):
    """The same of a ball that a person feeds, unless it may come as high as the eyes of a child."""

    severity = Severity.NOTE
    others: "tuple[OrdinaryHeight, ...]" = ()
    """The other balls of the script of which it is told."""
    otherwise = ""
    accepting = "switches this note off"

    @property
    def level(self) -> str:
        return "the height asked" if self.others else "it"

    @property
    def height(self) -> str:
        return "" if self.others else super().height

    @property
    def like(self) -> str:
        return "".join(f", {one.ball}" for one in self.others)

    @property
    def met(self) -> str:
        return _from_to([one.share for one in (self, *self.others)])

    @property
    def beside(self) -> str:
        eyes = max((one.at_eyes for one in (self, *self.others) if one.at_eyes), default=None)
        high = f"; {'up to ' if self.others else ''}{eyes} may come as high as the eyes" if eyes else ""
        return f", as a person feeds them{high}"

    def advice(self) -> list[str]:
        nearer = [] if self.high else ["a person who stands nearer, or a machine, feeds more evenly"]
        return [*nearer, *super().advice()]


BESIDE = 0.3
"""An aim this far from the middle of its zone, m, is reported. Own choice."""


class ZoneSmall(OfBall):
    share: Portion
    least: Portion
    wide: Metres
    narrow: Metres
    over_net: Portion
    off: Metres
    where: str
    """Of the middle of the zone, the aim: "beyond", "short of", "to the left of" or "to the right of"."""
    step: bool = False
    """Whether the ball is one step of a range, with a part of the zone to itself."""
    around: Metres | None = None
    """How far to either side of a single distance, which is no zone, balls count."""
    as_high: Portion | None = None
    """Of a ball on the full, how many of these are met as high as asked, too."""
    severity = Severity.WARNING
    says = "{shares}{scatter}{beside}"
    otherwise = NEARER
    title = "A zone too small for this feeder, or for balls of another make"
    why = (
        "Every feeder scatters its balls, and the drag of a ball is not known exactly. The first share is from the "
        "profile's repeatability. The two lengths are one standard deviation, in the direction of the widest "
        "scatter and across it. The warning comes if more than one in ten of the balls that pass the net land outside. "
        "The second share is the lowest that the least and the most drag give: it has to be half or more. PHYSICS.md "
        "says how large that doubt is. A single distance is no zone: there the balls count that land within 1.5 m of "
        "it, less on a smaller court; of a person's balls it is a note, one for the script, if three in four come to "
        "the side asked, our own choice, since no person feeds more evenly. On the full the balls count that come to "
        "the side asked, whatever their height. Where nothing mends it, the message says the best that was tried. If "
        "your own balls land where the plan says, accept zone-small."
    )
    example = "depth 0.1 to 0.6 m inside baseline"
    instead = "depth 0.5 to 3 m inside baseline"

    @property
    def scatter(self) -> str:
        return f"; the feeder scatters them {self.wide} by {self.narrow} around the aim"

    @property
    def beside(self) -> str:
        if self.off < BESIDE:
            return ""
        off = f"{self.off:.1 m} {self.where} {self.middle}"
        return f"; this step of the range aims {off}" if self.step else f", which is {off}"

    @property
    def middle(self) -> str:
        return "the middle of the zone" if self.around is None else "the place asked"

    @property
    def shares(self) -> str:
        if self.as_high is not None:
            return f"only {self.share} of {self.ball} come to the side asked, and {self.as_high} also as high as asked"
        where = "in the zone" if self.around is None else f"within {self.around} of the depth asked"
        if f"{self.least}" == f"{self.share}":
            return f"only {self.share} of {self.ball} land {where}"
        but = "but only" if self.share >= 0.5 else "and"
        only = "" if self.share >= 0.5 else "only "
        return f"{only}{self.share} of {self.ball} land {where}, {but} {self.least} with balls of another make"


class OrdinaryDepth(ZoneSmall):
    """The same of balls that a person feeds to a distance, or where no line mends it."""

    severity = Severity.NOTE
    others: "tuple[OrdinaryDepth, ...]" = ()
    """As of `OrdinaryHeight`."""
    otherwise = ""

    def advice(self) -> list[str]:
        return ["if that is meant, the line “accept zone-small” at the left margin switches this note off"]

    @property
    def scatter(self) -> str:
        return "" if self.others else super().scatter

    @property
    def beside(self) -> str:
        if not self.others:
            return super().beside
        aside = [one for one in (self, *self.others) if one.off >= BESIDE]
        return "".join(f"; {one.ball} is aimed {one.off:.1 m} {one.where} {one.middle}" for one in aside)

    @property
    def shares(self) -> str:
        every = (self, *self.others)
        balls = ", ".join(one.ball for one in every)
        return f"{_from_to([one.share for one in every])} of {balls} {self.come}, as a person feeds them"

    @property
    def come(self) -> str:
        alike = all(one.around == self.around for one in self.others)
        return f"land within {self.around} of the depth asked" if alike else "land near the depth asked"


def _from_to(shares: list[Portion]) -> str:
    """`47 to 60%`."""
    least, most = min(shares), max(shares)
    return f"{least}" if f"{least}" == f"{most}" else f"{least.figure()} to {most}"
