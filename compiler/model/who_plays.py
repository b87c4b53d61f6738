"""Those who play, in a plan, and what each of several gets."""

from collections.abc import Iterator, Sequence
from typing import Literal

from . import bounds
from .player import STROKES, stroke
from .record import Record


class PlayerRecord(Record):
    name: bounds.Name | None = None
    """None where only one plays and has no name."""
    hand: Literal["right", "left"]
    stature_m: bounds.Stature | None
    reach_m: bounds.Reach
    reply_limit_mps: bounds.Speed | None
    in_line: bounds.InLine
    rotate_every: bounds.Turn | None
    two_bounces: bool
    two_hands: bool
    """Whether the backhand is played with both hands."""
    level: bounds.Name | None
    scatter_angle_deg: bounds.Deviation
    scatter_direction_deg: bounds.Deviation
    scatter_pace: bounds.Share

    def stroke(self, asked: str | None, waits_m: bounds.Pair | None, met_m: bounds.Triple) -> str:
        """The one that is asked, or by which side of where the player waits a ball comes, as far as that is said and
        tells."""
        if asked in STROKES:
            return asked
        return stroke(self.hand, self.stature_m, waits_m[0], met_m) if waits_m else ""


class LoadRecord(Record):
    """What one of several players gets: balls, and the seconds from each of them to the next ball, or to the end of its
    block."""

    player: bounds.Name
    balls: bounds.Count
    duration_s: bounds.Clock


def loose_players(names: Sequence[str | None], loads: Sequence[LoadRecord], balls: int) -> Iterator[str]:
    """Names and loads that do not fit each other or the number of balls of the plan."""
    if len(set(names)) < len(names) or (len(names) > 1 and None in names):
        yield "of several players each has a name of its own"
    if [load.player for load in loads] != (names if len(names) > 1 else []):
        yield "the loads are not those of the players"
    elif loads and sum(load.balls for load in loads) != balls:
        yield "the players' balls are not all balls"
