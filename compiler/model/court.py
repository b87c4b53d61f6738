"""Courts and nets. ITF Rules of Tennis, rules 1 and 2 and appendix VII (a 2021 or later edition)."""

from dataclasses import dataclass

DOUBLES_HALF_WIDTH = 10.97 / 2
SINGLES_HALF_WIDTH = 8.23 / 2
POST_OUTSIDE = 0.914


@dataclass(frozen=True, slots=True)
class Court:
    """Metres from the middle of the net to the outside of the lines. The rules do not fix the cord's shape between the
    centre strap and the supports; a straight cord is our assumption."""

    name: str
    half_length: float
    half_width: float
    service: float
    net_centre: float
    net_post: float
    post_x: float
    doubles_half_width: float = DOUBLES_HALF_WIDTH
    ceiling: float | None = None
    """Height of the lowest thing over the court; None in the open."""

    def cord(self, x: float) -> float:
        """Height of the net cord at x."""
        return self.net_centre + (self.net_post - self.net_centre) * abs(x) / self.post_x


def _full(name: str, half_width: float, on_sticks: bool) -> Court:
    post_x = (SINGLES_HALF_WIDTH if on_sticks else DOUBLES_HALF_WIDTH) + POST_OUTSIDE
    return Court(name, 23.77 / 2, half_width, 6.40, 0.914, 1.07, post_x)


def _junior(name: str, length: float, width: float, net: float) -> Court:
    # The service line's place is not fixed for junior courts in the pages read; the full court's share of the length
    # is our assumption. The net is level.
    return Court(name, length / 2, width / 2, 6.40 * length / 23.77, net, net, width / 2 + POST_OUTSIDE, width / 2)


def courts(on_sticks: bool) -> dict[str, Court]:
    """Every court by name; junior ones with the middle of the size that the rules allow."""
    return {
        "singles": _full("singles", SINGLES_HALF_WIDTH, on_sticks),
        "doubles": _full("doubles", DOUBLES_HALF_WIDTH, False),
        "green": _full("green", SINGLES_HALF_WIDTH, on_sticks),
        "orange": _junior("orange", 18.0, 6.5, 0.80),
        "red": _junior("red", 11.0, 5.5, 0.80),
    }
