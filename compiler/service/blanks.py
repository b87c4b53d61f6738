"""A variation, a ball or a block of the session, written from the blanks of a form: what a coach can say before the
language is known."""

from math import isfinite

from ...grammar import syntax as s
from ...grammar.edits import Edit, amount, changed, counted, from_baseline, instead, name
from ...grammar.format import canonical
from ...grammar.frozen import Frozen
from ...grammar.source import Span
from ...grammar.syntax import Line, Tree, Word, keyword
from ..resolve.places import SIDES
from .script import MADE_NAME, NameKind, Script

WHERE = ("middle", *(f"{hand} {part}" for hand in ("forehand", "backhand") for part in SIDES))
LEVELS = ("over the net", "falling", "rising", "on the full", "pace")
"""What fixes its flight: its height over the net or at the player, in which part of the flight, or its speed."""
TURNS = ("flat", "topspin", "backspin")
PLAYED = ("in turn", "alone", "not yet")
"""When a new ball is played: in the last block, in turn with the balls there, in a block of its own, or not yet."""
ORDERS = ("cycle", "mix", "ladder")
MEASURES = ("min", "balls", "points")
"""By what a block is as long as it is."""
RUNGS = {"pace": "km/h", "height": "m"}
"""What a ladder may change from rung to rung, and its unit."""
MISSED = ("goes on", "from the start")
"""How a point goes on after a miss."""
ALONE_MIN = 3.0
BOUNDS = {
    "near": (0.0, 11.5), "far": (0.0, 11.5), "stance": (-11.5, 6.0), "height": (0.1, 5.0), "rpm": (100.0, 5000.0),
    "pace": (10.0, 250.0), "interval": (0.5, 60.0), "rest": (0.0, 120.0), "rounds": (1.0, 50.0),
    "over": (0.0, 8.0), "goal": (3.0, 50.0), "rungs": (2.0, 10.0),
    "up": (2.0, 20.0), "down": (1.0, 6.0), "most": (2.0, 500.0),
}  # fmt: skip
"""What a number may be, in the unit that its blank states: m, m behind the baseline, rpm, km/h, s, min."""
MOST = {"min": (0.1, 120.0), "balls": (1.0, 2000.0), "points": (1.0, 500.0)}
STEPPED = {"pace": (10.0, 250.0), "height": (0.1, 5.0)}
MISSES_IN = 6
"""Among how many balls a ladder counts the misses that lead down."""


class BlankProblem(ValueError):
    """What a blank holds cannot be written, with the reason as a sentence."""


class VariationBlanks(Frozen):
    """What the player does. `near` and `far` are where the reply lands, from the baseline inwards, m; `over` is how
    high it passes the net at least, m; `goal` how many good ones in a row."""

    name: str
    title: str
    when: str = ""
    near: float = 0.5
    far: float = 5.0
    over: float = 0.5
    goal: float = 5.0


class BallBlanks(Frozen):
    """`near` and `far` are from the baseline inwards, `stance` behind it (before it if negative), m."""

    name: str
    aims: str = ""
    side: str = "middle"
    near: float = 1.0
    far: float = 4.0
    stance: float = 0.5
    height: float = 1.0
    level: str = LEVELS[0]
    turn: str = TURNS[0]
    rpm: float = 1000.0
    pace: float = 60.0
    """km/h, of a ball on the full, or of one that has no height: nothing else says how it gets there."""
    interval: float = 6.0
    played: str = PLAYED[-1]


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
    """Minutes of rest after it; 0 is none."""
    step: str = "pace"
    """Of a ladder: what changes, from its first value to its last, in so many rungs; up after so many hits in a row,
    down after so many misses."""
    most: float = 30.0
    """Balls of a ladder."""
    first: float = 60.0
    last: float = 80.0
    rungs: float = 4.0
    up: float = 3.0
    down: float = 2.0


def choices(script: Script) -> dict[str, tuple[str, ...]]:
    """What the blanks may hold that are no numbers, for this script."""
    made = [one for one in script.names if one.made]
    return {
        "side": WHERE, "level": LEVELS, "turn": TURNS, "order": ORDERS, "played": PLAYED, "measure": MEASURES,
        "step": tuple(RUNGS), "missed": MISSED,
        "points": tuple(one.name for one in made if one.kind is NameKind.POINT),
        "aims": tuple(one.name for one in made if one.kind is NameKind.VARIATION),
        "balls": tuple(one.name for one in made if one.kind is NameKind.FEED),
    }  # fmt: skip


def variation_written(script: Script, blanks: VariationBlanks) -> tuple[Edit, ...]:
    """The variation, below the last one; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _new(blanks.name, "variation", known["aims"])
    title, when = (" ".join(said.split()) for said in (blanks.title, blanks.when))
    if not title or '"' in title or "#" in when or not (title + when).isprintable():
        raise BlankProblem('say in a few words what the player does, without " and #')
    _within(known, blanks, (), ("near", "far", "over", "goal"))
    over = s.Clearance(keyword("AT_LEAST"), amount(blanks.over, 2, "m"), keyword("OVER_NET"))
    lines = (
        *((s.When(Word("FREE_TEXT", when)),) if when else ()), s.Reply((_zone(blanks.near, blanks.far), over)),
        s.Goal(counted(blanks.goal)),
    )  # fmt: skip
    head = s.Variation(name(blanks.name), Word("TITLE", f'"{title}"'))
    return (_below(script, _last(script, s.Variation) or _last(script, s.Program), head, lines),)


def ball_written(script: Script, blanks: BallBlanks) -> tuple[Edit, ...]:
    """The feed, below the last one, and where it is played; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _new(blanks.name, "ball", known["balls"])
    _within(known, blanks, ("side", "level", "turn", "played"), ("stance", "interval"))
    full, fast = blanks.level == "on the full", blanks.level in ("on the full", "pace")
    if blanks.aims and blanks.aims not in known["aims"]:
        raise BlankProblem(f"there is no variation {blanks.aims}")
    _within(known, blanks, (), (*(("pace",) if fast else ()), *(() if full else ("near", "far"))))
    if blanks.level != "pace":
        _within(known, blanks, (), ("height",))
    if blanks.turn != "flat":
        _within(known, blanks, (), ("rpm",))
    phase = s.Phase(keyword(blanks.level.upper().replace(" ", "_"))) if blanks.level != LEVELS[0] else None
    net = None if phase else keyword("OVER_NET")
    height = () if blanks.level == "pace" else (s.Height((amount(blanks.height, 2, "m"),), net, None, phase),)
    turning: dict[str, type[s.Topspin] | type[s.Backspin]] = {"topspin": s.Topspin, "backspin": s.Backspin}
    turn = turning[blanks.turn](amount(blanks.rpm, 0, "rpm")) if blanks.turn in turning else s.Flat()
    pace = (s.Pace((amount(blanks.pace, 0, "km/h"),)),) if fast else ()
    depth = () if full else (s.Depth((_zone(blanks.near, blanks.far),)),)
    lines = (
        s.Side((s.NamedSide(tuple(name(word) for word in blanks.side.split())),)), *depth,
        s.Stance((from_baseline(blanks.stance),)),
        *height, *pace, s.Spin((s.Spins((turn,)),)), s.Interval(amount(blanks.interval, 1, "s")),
    )  # fmt: skip
    head = s.Feed(name(blanks.name), name(blanks.aims) if blanks.aims else None)
    last = _last(script, s.Feed) or _last(script, s.Variation) or _last(script, s.Program)
    written = _below(script, last, head, lines)
    if blanks.played == "not yet":
        return (written,)
    share = s.Share(None, name(blanks.name))
    block = _last_block(_last(script, s.Session))
    if blanks.played == "in turn" and block is not None:
        return written, instead(block, _joined(block, share))
    new, *_ = played = _put(script, (Line(s.Timed(amount(ALONE_MIN, 1, "min"), share)),), ALONE_MIN)
    if new.span == written.span:  # a first session, below the first ball
        return (Edit(written.span, written.text + new.text),)
    return written, *played


def point_written(script: Script, blanks: PointBlanks) -> tuple[Edit, ...]:
    """The point, below the last one or the last feed; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _new(blanks.name, "point", (*known["points"], *known["balls"]))
    _within(known, blanks, ("missed",), ())
    balls = tuple(ball for ball in (blanks.first, blanks.second, blanks.third) if ball)
    if len(balls) < 2 or not set(balls) <= set(known["balls"]):
        raise BlankProblem("a point has at least two balls of the script")
    again = (s.Missed(keyword("IF_MISSED"), keyword("FROM_THE_START")),) if blanks.missed == "from the start" else ()
    lines = (s.Plays(tuple(name(ball) for ball in balls)), *again)
    last = _last(script, s.Point) or _last(script, s.Feed)
    return (_below(script, last, s.Point(name(blanks.name)), lines),)


def part_written(script: Script, blanks: PartBlanks) -> tuple[Edit, ...]:
    """The block at the end of the session, which lasts so much longer if it says how long, or a session with it;
    BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _within(known, blanks, ("order", "measure", "step"), ("rest", "rounds"))
    ladder = blanks.order == "ladder"
    if not ladder:
        _bounded("amount", blanks.amount, *MOST[blanks.measure])
    if not blanks.balls or not set(blanks.balls) <= {*known["balls"], *known["points"]}:
        raise BlankProblem("choose at least one ball of the script")
    if ladder and (len(blanks.balls) > 1 or blanks.balls[0] in known["points"]):
        raise BlankProblem("a ladder is climbed with one ball")
    if blanks.measure == "points" and not ladder and not set(blanks.balls) & set(known["points"]):
        raise BlankProblem("points are counted where a point is played: add one first, and choose it here")
    block = _ladder(known, blanks) if ladder else Line(_block(blanks))
    rest = (Line(s.Rest(amount(blanks.rest, 1, "min"))),) if round(blanks.rest, 1) else ()
    lines, rounds = (block, *rest), round(blanks.rounds)
    if rounds > 1:
        lines = (Line(s.Rounds(counted(rounds), keyword("ROUNDS")), lines),)
    known_length = blanks.measure == "min" and not ladder
    return _put(script, lines, rounds * (blanks.amount + blanks.rest) if known_length else None)


def _block(blanks: PartBlanks) -> s.Sentence:
    shares = tuple(s.Share(None, name(ball)) for ball in blanks.balls)
    order = shares[0] if len(shares) == 1 else (s.Mix if blanks.order == "mix" else s.Cycle)(shares)
    if blanks.measure == "min":
        return s.Timed(amount(blanks.amount, 1, "min"), order)
    return s.Counted(counted(blanks.amount), keyword(blanks.measure.upper()), order)


def _ladder(known: dict[str, tuple[str, ...]], blanks: PartBlanks) -> Line:
    _within(known, blanks, (), ("most", "rungs", "up", "down"))
    for end in ("first", "last"):
        _bounded(end, getattr(blanks, end), *STEPPED[blanks.step])
    count, digits = round(blanks.rungs), 0 if blanks.step == "pace" else 2
    by = (blanks.last - blanks.first) / (count - 1)
    values = tuple(counted(blanks.first + rung * by, digits) for rung in range(count))
    if len(set(value.text for value in values)) < count:
        raise BlankProblem("the steps of a ladder differ from each other")
    unit = Word("UNIT", RUNGS[blanks.step])
    rungs: s.Pace | s.Height
    if blanks.step == "pace":
        rungs = s.Pace((s.Series(values, unit),))
    else:
        rungs = s.Height((s.Series(values, unit),), keyword("OVER_NET"))
    up = s.Up(keyword("UP"), counted(blanks.up))
    down = s.Down(keyword("DOWN"), counted(blanks.down), keyword("MISSES"), counted(MISSES_IN))
    head = s.Ladder(name(blanks.balls[0]), counted(blanks.most), keyword("BALLS"), rungs)
    return Line(head, (Line(up), Line(down)))


def _put(script: Script, lines: tuple[Line, ...], minutes: float | None) -> tuple[Edit, ...]:
    """The lines at the end of the session, which then lasts so much longer; or a session with them."""
    session = _last(script, s.Session)
    head = s.Session(Word("TITLE", '"Practice"'))
    if session is None:
        return (_below(script, script.tree.lines[-1] if script.tree.lines else None, head, lines),)
    rows = _text(head, lines).split("\n", 1)[1].rstrip("\n")
    end = _end(script, session)
    block = Edit(Span(script.source, end, end), f"\n{rows}")
    lasts = session.sentence.lasts if isinstance(session.sentence, s.Session) else None
    if minutes is None or not isinstance(lasts, s.Quantity) or lasts.unit.text != "min":
        return (block,)
    return block, instead(lasts, amount(float(lasts.number.text) + minutes, 1, "min"))


def _last_block(line: Line | None) -> s.Order | None:
    """What the last block under a line plays."""
    for under in reversed(line.children if line else ()):
        if isinstance(under.sentence, s.Timed | s.Counted):
            return under.sentence.order
        if found := _last_block(under):
            return found
    return None


def _joined(order: s.Order, share: s.Share) -> s.Order:
    if isinstance(order, s.Share):
        return s.Cycle((order, share))
    return changed(order, shares=(*order.shares, share))


def _new(said: str, what: str, known: tuple[str, ...]) -> None:
    if not MADE_NAME.fullmatch(said):
        raise BlankProblem(f"the name of a {what} is one word: letters, numbers and hyphens, a letter first")
    if said in known:
        raise BlankProblem(f"there is a {what} {said} already")


def _zone(near: float, far: float) -> s.FromLine:
    near, far = sorted((near, far))
    if far - near < 0.25:
        raise BlankProblem("the zone is less than 25 cm deep")
    bounds = s.Bounds(counted(near, 2), counted(far, 2), Word("UNIT", "m"))
    return s.FromLine(bounds, keyword("INSIDE"), keyword("BASELINE"))


def _within(
    known: dict[str, tuple[str, ...]],
    blanks: VariationBlanks | BallBlanks | PointBlanks | PartBlanks,
    words: tuple[str, ...],
    numbers: tuple[str, ...],
) -> None:
    for blank in words:
        if getattr(blanks, blank) not in known[blank]:
            raise BlankProblem(f"{blank} is one of: {', '.join(known[blank])}")
    for blank in numbers:
        _bounded(blank, getattr(blanks, blank), *BOUNDS[blank])


def _bounded(blank: str, value: float, low: float, high: float) -> None:
    if not (isfinite(value) and low <= value <= high):
        raise BlankProblem(f"{blank} is a number from {low:g} to {high:g}")


def _last(script: Script, kind: type[s.Sentence]) -> Line | None:
    return next((line for line in reversed(script.tree.lines) if line.place and isinstance(line.sentence, kind)), None)


def _text(head: s.Sentence, under: tuple[Line, ...]) -> str:
    text = canonical(Tree((Line(head, under),)))
    assert text
    return text


def _below(script: Script, line: Line | None, head: s.Sentence, under: tuple[Line | s.Sentence, ...]) -> Edit:
    end = _end(script, line) if line else len(script.source.text)
    gap = "\n\n" if script.source.text[:end].strip() else ""
    lines = tuple(one if isinstance(one, Line) else Line(one) for one in under)
    return Edit(Span(script.source, end, end), gap + _text(head, lines).rstrip("\n"))


def _end(script: Script, line: Line) -> int:
    """Behind the last row of a line and all under it."""
    while line.children:
        line = line.children[-1]
    end = script.source.text.find("\n", line.span.end)
    return len(script.source.text) if end < 0 else end
