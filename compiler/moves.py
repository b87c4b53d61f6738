"""How soon a player sees a ball and gets to it."""

from math import exp, hypot, sqrt
from typing import NamedTuple

from .model.court import Court
from .model.player import BACKWARD
from .model.program import Feed, Program

RECOGNISED_S, SIMPLE_S = 0.38, 0.22
"""Recognition and simple reaction time of adults: which of several things comes, and that the one that is known comes.
D. Laming, Information Theory of Choice-Reaction Times (1968), as quoted in reviews."""
AGES = {"red": 8, "orange": 9, "green": 10}
"""Years of the players on junior courts, the stages of the ITF's rules."""
SLOWER, YOUNGER = 5.16, 0.21
"""Children take 1 + 5.16 exp(-0.21 age) times as long as adults: R. Kail, Psychological Bulletin 109, 490 (1991), from
memory."""
STROKE_S = 0.15  # from the ready position to the ball with the racket alone, without a step. Own choice
RUN_M = 3.0
"""Run in one stroke: about 3 m, four strokes in five within 2.5 m of the ready position (Fernandez, Mendez-Villanueva
& Pluim, Br. J. Sports Med. 40, 387 (2006))."""
RUN_MPS = 2.5
"""Mean speed over a run of `RUN_M` with start and stop, ball after ball: common practice, no source. A speed that grows
evenly and falls evenly is at its top twice its mean, 5 m/s as in a dash: at that the player goes on where it is
farther."""
DASH_MPS2, DASH_MPS = 7.5, 5.0
"""A dash from rest to one ball: tennis players take about 1.15 s over the first 5 m, from memory, no source checked."""
STEP_M = 0.8  # one step to the ball, or leaning out of a chair, goes with the stroke. Own choice
GROWN_M = 1.63  # players smaller than this run as much slower as they are smaller. Own choice
CHAIR_MPS, CHAIR_MPS2 = 2.17, 1.33
"""Best forward speed in play, and acceleration over the first two metres, of 15 wheelchair tennis players: van der
Slikke and others, Sensors 20, 3518 (2020). Over 20 m they reach 4.4 m/s, 0.2 m/s less with a racket (Goosey-Tolfrey &
Moss, Adapt. Phys. Activ. Q. 22, 291 (2005)); between two strokes there is no room for that."""
CHAIR_TURN_S = 45 / 224
"""An eighth of a turn, own choice, at 224 degrees a second: van der Slikke and others (2020)."""
ALTERNATING = 2
"""A family of so many never plays one of them twice in a row."""
FAR_BACK, AS_FAR_M = 0.25, 0.25
"""Farther behind the baseline than this share of half the court, 3 m on a full one, a ball is met far back; so is one
that comes down short of the service line where it is met farther than `AS_FAR_M` behind where a line says that the
player waits. Own choice."""


class Mover(NamedTuple):
    """How a player gets along: time to turn, acceleration to a speed (0: the speed is the mean of a run, with start and
    stop, of as many metres as in one stroke)."""

    turn_s: float
    acceleration: float
    speed: float

    def time(self, way: float) -> float:
        """From rest over a way in metres, s; none for no way."""
        if way <= 0:
            return 0.0
        if not self.acceleration:
            return self.turn_s + min(way, RUN_M) / self.speed + max(way - RUN_M, 0.0) / (2 * self.speed)
        rush = self.speed**2 / (2 * self.acceleration)
        if way < rush:
            return self.turn_s + sqrt(2 * way / self.acceleration)
        return self.turn_s + self.speed / self.acceleration + (way - rush) / self.speed


def mover(program: Program, dash: bool = False) -> Mover:
    """The player in a chair, or on foot, ball after ball or in one dash: children are slower as they are smaller."""
    player = program.player
    if player.two_bounces:
        return Mover(CHAIR_TURN_S, CHAIR_MPS2, CHAIR_MPS)
    share = min(1.0, player.stature_on(program.court.name) / GROWN_M)
    return Mover(0.0, DASH_MPS2 * share, DASH_MPS * share) if dash else Mover(0.0, 0.0, RUN_MPS * share)


def as_far(program: Program, aside: float, along: float) -> float:
    """The way forward that takes as long as one so far aside and, above 0, back from the net, m. Chairs turn round."""
    return hypot(aside, along / BACKWARD if along > 0 and not program.player.two_bounces else along)


def recognised(court: str, known: bool = False) -> float:
    """How long the players on such a court take to recognise a ball, or to see one that is known to come, s."""
    return (SIMPLE_S if known else RECOGNISED_S) * (1 + SLOWER * exp(-YOUNGER * AGES[court]) if court in AGES else 1.0)


def reached(program: Program, aside: float, along: float = 0.0, asked: str = "") -> float:
    """From the launch that is seen to the stroke, any or the one that is asked, for a ball that is met so far beside
    the waiting player and, above 0, behind, m; s."""
    beside = program.player.beside(aside, asked)
    return STROKE_S + mover(program, dash=True).time(as_far(program, beside, along) - STEP_M)


def from_start(program: Program, feed: Feed, across: float, stance: float) -> float:
    """The same from where the feed's line says that the player starts, for a ball that is met there."""
    x, y = feed.start or (0.0, None)
    return reached(program, across - x, 0.0 if y is None else stance - y, feed.stroke)


def soonest(program: Program, feed: Feed, known: bool) -> float:
    """After how long a ball may be met at the earliest by a player who starts where a line says, s; before it is flown,
    so on the straight line through where it lands."""
    across, place = feed.side.aim, program.place_of(feed)
    if feed.depth and not feed.free & {"depth", "stance"}:
        across = place.x + (across - place.x) * (feed.stance - place.y) / (feed.depth.aim - place.y)
    stance = feed.start[1] if "stance" in feed.free and feed.start and feed.start[1] is not None else feed.stance
    return recognised(program.court.name, known) + from_start(program, feed, across, stance)


def far_behind(court: Court, met: float) -> bool:
    """Whether a ball that is met so far from the net, m, is met far behind the baseline."""
    return met > court.half_length * (1 + FAR_BACK)


def goes_back(court: Court, feed: Feed, lands: float, met: float) -> bool:
    """Whether the player has to go back for a ball that comes down short of the service line."""
    waits = feed.start[1] if feed.start else None
    return waits is not None and lands < court.service and met > waits + AS_FAR_M


def late(program: Program, feed: Feed, contact: tuple[float, float], time: float, known: bool = False) -> float:
    """How much too late for a ball that is met there, m, so long after its launch, s, a player comes who starts where
    a line says; 0 where no line does."""
    if not feed.start:
        return 0.0
    return max(recognised(program.court.name, known) + from_start(program, feed, *contact) - time, 0.0)


def surprising(program: Program) -> frozenset[str]:
    """The balls of which no player knows that they come next: those of a mix, and of a family in random order. One of
    two that is never twice in a row is known."""
    found = set()
    for play in program.session.plays if program.session else ():
        for (name, players), walk in zip(play.shared, (*play.walks, *[""] * len(play.shares)), strict=False):
            families = program.balls(name)
            most = ALTERNATING if len(families) == 1 else 1
            if play.order == "mix" or (not walk and any(len(program.members(ball)) > most for ball in families)):
                found |= {*program.members_of(name), *program.members_of(name, players)}
    return frozenset(found)
