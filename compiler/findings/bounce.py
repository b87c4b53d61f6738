"""Where a ball bounces before the player."""

from ...grammar.facts import Metres
from ...grammar.finding import OfBall, Severity


class BounceMoved(OfBall):
    given: Metres
    asked: Metres
    severity = Severity.WARNING
    says = "{ball} bounces {given:.1 m} in front of the stance, not {asked:.1 m}"
    title = "A bounce nearer to the player than asked, or farther away"
    why = (
        "`depth` and `stance` together say how far in front of the player the ball bounces. Where the feeder has no "
        "ball to that place with the rest of what is asked, the nearest one is taken, and the ball then comes out of "
        "its bounce sooner or later than asked. The warning comes from half a metre on, less on a smaller court, our "
        "own choice. Write the place where the ball bounces now, or change what keeps it from there: the height, the "
        "pace, the spin or the time. If only the stance counts, accept bounce-moved."
    )
    example = "depth 3 m from net\nstance 5 m from net\nheight waist"
    instead = "depth 3.75 m from net\nstance 5 m from net\nheight waist"

    def advice(self) -> list[str]:
        return ["if only the stance counts, the line “accept bounce-moved” at the left margin allows it"]
