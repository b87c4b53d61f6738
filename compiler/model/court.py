"""Courts and nets. ITF Rules of Tennis, rules 1 and 2 and the appendix on 10-and-under tennis."""

from ...grammar.frozen import Frozen

DOUBLES_HALF_WIDTH = 10.97 / 2
SINGLES_HALF_WIDTH = 8.23 / 2
POST_OUTSIDE = 0.914


class Court(Frozen):
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
    # is our assumption. The net is level, and the highest that the rules allow: what clears it clears every lower one.
    return Court(name, length / 2, width / 2, 6.40 * length / 23.77, net, net, width / 2 + POST_OUTSIDE, width / 2)


def courts(on_sticks: bool) -> dict[str, Court]:
    """Every court by name. The rules give ranges for the junior ones: red 10.97 to 12.80 m by 4.27 to 6.10 m, net
    0.80 to 0.838 m; orange 17.68 to 18.29 m by 6.10 to 8.23 m, net 0.80 to 0.914 m. Sizes are our choice there."""
    return {
        "singles": _full("singles", SINGLES_HALF_WIDTH, on_sticks),
        "doubles": _full("doubles", DOUBLES_HALF_WIDTH, False),
        "green": _full("green", SINGLES_HALF_WIDTH, on_sticks),
        "orange": _junior("orange", 18.0, 6.5, 0.914),
        "red": _junior("red", 11.0, 5.5, 0.838),
    }
