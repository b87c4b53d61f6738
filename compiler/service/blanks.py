"""The blanks of the forms that write a variation, a ball, a point or a block of the session, and what each may hold."""

from math import isfinite
from typing import NamedTuple

from ...grammar import syntax as s
from ...grammar.frozen import Frozen
from ...grammar.syntax import Line
from ..resolve.places import SIDES
from .script import MADE_NAME, NameKind, Script

WHERE = ("middle", *(f"{hand} {part}" for hand in ("forehand", "backhand") for part in SIDES))
ARCS = {"drive": 1.0, "high ball": 2.0, "lob": 4.0}
"""Ways over the net by the trade's words, with the height of each, m: our own choice."""
OPEN = "open"
"""What follows from the rest."""
LEVELS = (*ARCS, "over the net", "falling", "rising", OPEN)
"""How high it is: its way or height over the net, or its height at the player, in which part of the flight."""
SPEEDS = (OPEN, "pace", "time")
"""How fast it is: as it leaves the feeder, or until it is met."""
BOUNCES = ("after a bounce", "on the full", "overhead")
"""How it is met; an overhead is a ball on the full, too."""
DEPTHS = ("metres", "deep and wide", "deep", "midcourt", "short", "service box", OPEN)
"""Where it lands: by distances from the baseline, by the language's names, inside the service line, or where its height
and pace take it."""
DEEP_M = (0.5, 3.5)
"""A deep zone, from the baseline inwards, that most feeders keep to: our own choice. What the language calls deep is
shallower."""
BOX_M = (0.25, 4.5)
"""What of a service box a feeder is asked for, from its line inwards: a ball closer to the net has no way there."""
BODY = ("knee", "waist", "chest", "shoulder")
"""Where a ball may be met that has bounced and falls."""
STANCES = ("behind baseline", "inside baseline", "from net", *(f"{part} high" for part in BODY), "falling", "rising")
"""Where it is met: by a distance, where it has fallen to a part of the body, or where it has fallen, or risen, to a
height."""
TURNS = ("flat", "topspin", "backspin")
PLAYED = ("alone", "in turn", "not yet")
"""When a new ball is played: in a block of its own, in the last block in turn with the balls there, or not yet."""
ORDERS = ("cycle", "mix", "ladder")
PAUSES = ("rest", "collect")
"""What comes before a block."""
PARTS = ("balls", *PAUSES)
"""What a part of the session is: balls, a pause, or time to pick them up."""
MEASURES = ("min", "balls", "points")
"""By what a block is as long as it is."""
RUNGS = {"pace": "km/h", "height": "m"}
"""What a ladder may change from rung to rung, and its unit."""
MISSED = ("goes on", "from the start", "next point")
"""How a point goes on after a miss."""
BOUNDS = {
    "near": (0.0, 11.5), "far": (0.0, 11.5), "stance": (0.0, 11.5), "height": (0.1, 8.0), "met": (0.1, 4.0),
    "rpm": (100.0, 5000.0), "pace": (10.0, 250.0), "time": (0.2, 10.0), "interval": (0.5, 60.0), "rest": (0.0, 3600.0),
    "before": (0.0, 3600.0), "rounds": (1.0, 50.0), "over": (0.0, 8.0), "goal": (3.0, 50.0), "rungs": (2.0, 10.0),
    "up": (2.0, 20.0), "among": (0.0, 200.0), "up_in": (0.0, 200.0), "down": (1.0, 6.0), "most": (2.0, 500.0),
}  # fmt: skip
"""What a number may be, in the unit that its blank states: m, rpm, km/h, s."""
MOST = {"min": (0.1, 120.0), "balls": (1.0, 2000.0), "points": (1.0, 500.0)}
STEPPED = {"pace": (10.0, 250.0), "height": (0.1, 5.0)}
MISSES_IN = 6
"""Among how many balls a ladder counts the misses that lead down."""


GOES = ("anywhere", "deep", "crosscourt", "crosscourt and deep", "down the line", "down the line and deep", "middle")
"""Where the replies of a goal go."""
TOWARD = (
    "", "crosscourt", "down the line", "left half", "right half", "left corner", "right corner", "left wing",
    "right wing", "middle",
)  # fmt: skip
"""To where across the court a reply goes, as the player sees it; nowhere in particular."""


class BlankProblem(ValueError):
    """What a blank holds cannot be written, with the reason as a sentence."""


class VariationBlanks(Frozen):
    """What the player does. `near` and `far` are where the reply lands, from the baseline inwards, m; `over` is how
    high it passes the net at least, m; `goal` how many good ones, in a row or `among` so many balls."""

    name: str
    title: str
    when: str = ""
    near: float = 0.5
    far: float = 5.0
    over: float = 0.5
    goal: float = 5.0
    among: float = 0.0
    """0 for a row."""
    toward: str = TOWARD[0]
    balls: tuple[str, ...] = ()
    """The feeds that ask for it."""
    pace: float = 0.0
    """How fast the reply is at least, km/h; 0 where it does not matter."""


class BallBlanks(Frozen):
    """`near` and `far` are from the baseline inwards, `stance` from its line, m, never negative."""

    name: str
    aims: str = ""
    side: str = "middle"
    depth: str = DEPTHS[0]
    near: float = 1.0
    far: float = 4.0
    stance: float = 0.5
    stance_from: str = "behind baseline"
    bounce: str = BOUNCES[0]
    met: float = 1.2
    """How high a ball on the full is met, m."""
    level: str = LEVELS[0]
    height: float = 1.0
    """Over the net or at the player, as `level` says."""
    turn: str = TURNS[0]
    rpm: float = 1000.0
    interval: float = 6.0
    note: str = ""
    played: str = PLAYED[0]
    amount: float = 3.0
    measure: str = MEASURES[0]
    rest: float = 0.0
    """Seconds of rest, or of collect, before its own block, where another one comes before."""
    pause: str = PAUSES[0]
    goal: float = 0.0
    """How many good replies are the player's goal, in a row or `among` so many balls; 0 where there is none, or where
    the ball `aims` at one."""
    among: float = 0.0
    """0 for a row."""
    goes: str = GOES[0]
    speed: str = SPEEDS[0]
    pace: float = 60.0
    """km/h."""
    time: float = 1.5
    """s, from the feeder to the player."""
    like: str = ""
    """The ball of which it is a copy, or which it is until now."""
    kept: tuple[str, ...] = ()
    """What stays as that ball has it: of GROUPS."""


class PointBlanks(Frozen):
    """Balls that belong together, in their order; the last ones may be none."""

    name: str
    first: str = ""
    second: str = ""
    third: str = ""
    missed: str = "goes on"


class PartBlanks(Frozen):
    amount: float = 3.0
    measure: str = MEASURES[0]
    balls: tuple[str, ...] = ()
    """Feeds and points."""
    order: str = ORDERS[0]
    rounds: float = 1.0
    """How many times, each with its rest."""
    rest: float = 0.0
    """Seconds of rest between its rounds, or after a block that stands there; 0 is none."""
    step: str = "pace"
    """Of a ladder: what changes, from its first value to its last, in so many rungs; up after so many hits, in a
    row or among `up_in` balls, down after so many misses."""
    most: float = 30.0
    """Balls of a ladder."""
    first: float = 60.0
    last: float = 80.0
    rungs: float = 4.0
    up: float = 3.0
    up_in: float = 0.0
    """0 for a row."""
    down: float = 2.0
    before: float = 0.0
    """Seconds of rest, or of collect, before it, where another block comes before."""
    pause: str = PAUSES[0]
    part: str = PARTS[0]
    row: int = -1
    """In which row it stands, from 0, if it stands there."""
    kept: tuple[str, ...] = ()
    """What stays as it stands there: its order, the rest before it, the rest after it."""


def choices(script: Script) -> dict[str, tuple[str, ...]]:
    """What the blanks may hold that are no numbers, for this script."""
    made = [one for one in script.names if one.made]
    played = PLAYED if last_block(script) else tuple(when for when in PLAYED if when != "in turn")
    return {
        "side": WHERE, "depth": DEPTHS, "stance_from": STANCES, "bounce": BOUNCES, "level": LEVELS, "speed": SPEEDS,
        "turn": TURNS,
        "order": ORDERS, "played": played, "measure": MEASURES, "step": tuple(RUNGS), "missed": MISSED,
        "toward": TOWARD, "part": PARTS, "pause": PAUSES, "goes": GOES,
        "points": tuple(one.name for one in made if one.kind is NameKind.POINT),
        "aims": tuple(one.name for one in made if one.kind is NameKind.VARIATION),
        "balls": tuple(one.name for one in made if one.kind is NameKind.FEED),
    }  # fmt: skip


def new_name(said: str, what: str, known: tuple[str, ...]) -> None:
    if not MADE_NAME.fullmatch(said):
        raise BlankProblem(f"the name of a {what} is one word: letters, numbers and hyphens, a letter first")
    if said in known:
        raise BlankProblem(f"there is a {what} {said} already")


def within(
    known: dict[str, tuple[str, ...]],
    blanks: VariationBlanks | BallBlanks | PointBlanks | PartBlanks,
    words: tuple[str, ...],
    numbers: tuple[str, ...],
) -> None:
    for blank in words:
        if getattr(blanks, blank) not in known[blank]:
            raise BlankProblem(f"{blank} is one of: {', '.join(known[blank])}")
    for blank in numbers:
        bounded(blank, getattr(blanks, blank), *BOUNDS[blank])


def bounded(blank: str, value: float, low: float, high: float) -> None:
    if not (isfinite(value) and low <= value <= high):
        raise BlankProblem(f"{blank} is a number from {low:g} to {high:g}")


class PlayedBlock(NamedTuple):
    """A block of the session, and the rests around it."""

    block: s.Timed | s.Counted
    before: s.Rest | None
    after: s.Rest | None
    line: Line


def last_block(script: Script, of: str | None = None) -> PlayedBlock | None:
    """The last block of the session, or the last `of` one feed alone."""

    def under(line: Line) -> PlayedBlock | None:
        sentences = [None, *(one.sentence for one in line.children), None]
        for before, one, after in reversed([*zip(sentences, line.children, sentences[2:], strict=False)]):
            if isinstance(one.sentence, s.Timed | s.Counted) and of in (None, _fed_alone(one.sentence.order)):
                first, last = (rest if isinstance(rest, s.Rest) else None for rest in (before, after))
                return PlayedBlock(one.sentence, first, last, one)
            if found := under(one):
                return found
        return None

    session = last_of(script, s.Session)
    return under(session) if session else None


def _fed_alone(order: s.Order) -> str | None:
    return order.name.text if isinstance(order, s.Share) else None


def last_of(script: Script, kind: type[s.Sentence]) -> Line | None:
    return next((line for line in reversed(script.tree.lines) if line.place and isinstance(line.sentence, kind)), None)
