"""Where the feeder stands for some balls."""

from ...grammar.facts import BallName, Metres, Seconds
from ...grammar.finding import Message, Severity


class PlaceOfPoints(Message):
    name: str
    says = "{name} is a point, whose balls are fed from their own places"
    title = "A place of the feeder for a block of points"
    why = "The balls of a point are feeds of their own, and other blocks play them, too. A feed says its own place."
    example = "8 points attack\n    feeder 3 m from net"
    instead = "feed approach-near, like approach\n    feeder 3 m from net"


class TwoPlaces(Message):
    one: BallName
    here: str
    other: BallName
    there: str
    says = "one block is fed from one place, but {one} comes from “{here}” and {other} from “{there}”"
    title = "A block that is fed from two places"
    why = (
        "Nobody walks, and no machine is pushed, between two balls of a cycle or a mix. A block for each place, with a "
        "rest between them, leaves the time for it; under rounds the two come again and again."
    )
    example = "20 balls cycle near, far"
    instead = "2 rounds\n    5 balls near\n    rest 20 s\n    5 balls far\n    rest 20 s"


class NoTimeToMove(Message):
    far: Metres
    left: Seconds
    needed: Seconds
    here: str
    machine: bool
    severity = Severity.WARNING
    says = "before this block {who} {far:.1 m}, to “{here}”: {needed} are needed, and {left} are left"
    title = "No time to move the feeder"
    why = (
        "A person walks at 1.2 m/s with a basket, a little slower than adults walk alone (1.3 to 1.5 m/s, Bohannon "
        "1997), and needs five seconds to be ready. A machine is switched off, pushed, lined up again and tried with a "
        "few balls while nobody stands in front of it: three minutes. A step of less than a metre needs no time of its "
        "own. All three are our own choice."
    )
    example = "12 balls near\n12 balls far"
    instead = "12 balls near\nrest 20 s\n12 balls far"

    @property
    def who(self) -> str:
        return "the machine is moved" if self.machine else "the feeder goes"
