"""How many of the balls, and of the replies to them, are enough: one home for what a check warns of and a picture
marks."""

MOST, HALF, MARGIN = 0.9, 0.5, 0.9772
"""At least nine in ten of a feed's balls pass the net, land in their zone, keep their bounds and are met as high as
asked, and half of them do so with whatever drag; own choice. A proposed ball keeps two standard deviations over the net
and inside its bounds, if it can: so much of a normal distribution lies on the right side of them."""
SELDOM = 0.1
"""A reply that succeeds less often is no practice. Common practice, no source: a miss every third ball asks for an
easier ball already."""


def enough(share: float, most: float = MOST) -> bool:
    """Whether a share of balls is enough, as people read it, in whole percent."""
    return round(share, 2) >= most


def enough_in_zone(share: float, least: float, over_net: float) -> bool:
    """Whether enough of the balls that pass the net land in the zone, and half of all with whatever drag."""
    return least >= HALF and (enough(share) or share >= MOST * over_net)
