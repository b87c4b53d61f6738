"""One ball: whether each figure that is asked is played as it is asked."""

from ...grammar.facts import Measured, Metres
from ...grammar.finding import OfBall, Severity

ASIDE = 0.5
"""A ball that a limit of the feeder moves this far from its aim, m, is reported. Own choice."""


class AtTheLimit(OfBall):
    what: str
    limit: Measured
    most: bool
    wanted: str
    asked: Measured
    given: Measured
    aside: Metres
    severity = Severity.WARNING
    says = "the feeder gives at {end} {limit} of {what}, so {ball} {misses}"
    title = "A ball at the feeder's limit that is not quite the one asked"
    why = (
        "A little beyond what the feeder can do, the nearest ball there is takes its place. It is slower or later than "
        "asked, or lands elsewhere in its zone. The message comes if that is a fifth of what counts as too coarse, or "
        "half a metre; own choice."
    )
    example = "time 0.9 s to contact"
    instead = "time 1.0 s to contact"

    @property
    def end(self) -> str:
        return "most" if self.most else "least"

    @property
    def misses(self) -> str:
        off = [f"has {self.wanted} {self.given}, not {self.asked}"] * (self.given.figure() != self.asked.figure())
        off += [f"lands {self.aside:.1 m} from its aim"] * (self.aside >= ASIDE)
        return " and ".join(off)


class PlayedOtherwise(OfBall):
    what: str
    asked: Measured
    given: Measured
    severity = Severity.NOTE
    says = "{what} of {ball}: asked {asked}, played {played}"
    title = "A figure that is not played quite as it is asked"
    why = (
        "No ball has all that is asked, so a figure gives way a little: to a bound, to the place where the ball lands, "
        "or to the steps of the feeder. The note comes where that is more than the figure was rounded to, and more "
        "than half a step of the feeder makes. From 15 cm or 10 percent on it is a warning, our own choice: what is "
        "played can be written, or another line changed. Where a feed leaves something open, a height over the net "
        "gives way by a tenth and a pace by a twentieth at most, or by 25 cm and 2 km/h; beyond that no ball does all "
        "that its lines fix."
    )
    example = "pace 65 km/h\nheight at most 1.8 m over net"
    instead = "pace 67 km/h\nheight at most 1.8 m over net"

    @property
    def played(self) -> str:
        return self.given.beside(self.asked)


class PlayedFarOff(PlayedOtherwise):
    """The same of a figure that is so far off that a player notices it."""

    severity = Severity.WARNING


class CoarseSettings(OfBall):
    what: str
    asked: Measured
    given: Measured
    feeder: str
    severity = Severity.WARNING
    says = "{what} of {ball}: asked {asked}; the nearest settings of the {feeder} give {given}"
    title = "The settings are too coarse for what is asked"
    why = "The ball lands in its zone, but the player will notice that it is not the ball that the script asks for."
    example = "height 1.05 m, falling"
    instead = "height waist, falling"
