"""A variation, a ball or a part of the session, written from the blanks of a form: what a coach can say before the
language is known."""

from math import isfinite

from ...grammar import syntax as s
from ...grammar.edits import Edit, amount, counted, instead, name
from ...grammar.format import canonical
from ...grammar.frozen import Frozen
from ...grammar.source import Span
from ...grammar.syntax import Line, Tree, Word, keyword
from ..resolve.places import SIDES
from .script import MADE_NAME, NameKind, Script

WHERE = ("middle", *(f"{hand} {part}" for hand in ("forehand", "backhand") for part in SIDES))
LEVELS = ("over the net", "falling", "rising", "on the full")
"""Where a ball has its height: over the net, or at the player, in which part of its flight."""
TURNS = ("flat", "topspin", "backspin")
ORDERS = ("cycle", "mix")
BOUNDS = {
    "near": (0.0, 11.5), "far": (0.0, 11.5), "stance": (-11.5, 6.0), "height": (0.1, 5.0), "rpm": (100.0, 5000.0),
    "pace": (10.0, 250.0), "interval": (0.5, 60.0), "minutes": (0.5, 120.0), "rest": (0.0, 120.0),
    "over": (0.0, 8.0), "goal": (3.0, 50.0),
}  # fmt: skip
"""What a number may be, in the unit that its blank states: m, m, m behind the baseline, m, rpm, s, min."""


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
    """km/h, of a ball on the full alone: nothing else says how it gets there."""
    interval: float = 6.0


class PartBlanks(Frozen):
    minutes: float = 3.0
    balls: tuple[str, ...] = ()
    order: str = ORDERS[0]
    rest: float = 0.0
    """Minutes of rest after it; 0 is none."""


def choices(script: Script) -> dict[str, tuple[str, ...]]:
    """What the blanks may hold that are no numbers, for this script."""
    made = [one for one in script.names() if one.made]
    return {
        "side": WHERE, "level": LEVELS, "turn": TURNS, "order": ORDERS,
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
    over = s.Clearance(amount(blanks.over, 2, "m"), keyword("OVER_NET"))
    lines = (
        *((s.When(Word("FREE_TEXT", when)),) if when else ()), s.Reply((_zone(blanks.near, blanks.far), over)),
        s.Goal(counted(blanks.goal)),
    )  # fmt: skip
    head = s.Variation(name(blanks.name), Word("TITLE", f'"{title}"'))
    return (_below(script, _last(script, s.Variation) or _last(script, s.Program), head, lines),)


def ball_written(script: Script, blanks: BallBlanks) -> tuple[Edit, ...]:
    """The feed, below the last one; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _new(blanks.name, "ball", known["balls"])
    _within(known, blanks, ("side", "level", "turn"), ("stance", "height", "interval"))
    full = blanks.level == "on the full"
    if blanks.aims and blanks.aims not in known["aims"]:
        raise BlankProblem(f"there is no variation {blanks.aims}")
    _within(known, blanks, (), ("pace",) if full else ("near", "far"))
    if blanks.turn != "flat":
        _within(known, blanks, (), ("rpm",))
    way, away, line = keyword("BEHIND" if blanks.stance > 0 else "INSIDE"), abs(blanks.stance), keyword("BASELINE")
    place = s.FromLine(amount(away, 2, "m"), way, line) if round(away, 2) else s.OnLine(line)
    high = amount(blanks.height, 2, "m")
    phase = s.Phase(keyword(blanks.level.upper().replace(" ", "_"))) if blanks.level != LEVELS[0] else None
    net = None if phase else keyword("OVER_NET")
    turning: dict[str, type[s.Topspin] | type[s.Backspin]] = {"topspin": s.Topspin, "backspin": s.Backspin}
    turn = turning[blanks.turn](amount(blanks.rpm, 0, "rpm")) if blanks.turn in turning else s.Flat()
    pace = (s.Pace((amount(blanks.pace, 0, "km/h"),)),) if full else ()
    depth = () if full else (s.Depth((_zone(blanks.near, blanks.far),)),)
    lines = (
        s.Side((s.NamedSide(tuple(name(word) for word in blanks.side.split())),)), *depth, s.Stance((place,)),
        s.Height((high,), net, None, phase), *pace, s.Spin((s.Spins((turn,)),)),
        s.Interval(amount(blanks.interval, 1, "s")),
    )  # fmt: skip
    head = s.Feed(name(blanks.name), name(blanks.aims) if blanks.aims else None)
    last = _last(script, s.Feed) or _last(script, s.Variation) or _last(script, s.Program)
    return (_below(script, last, head, lines),)


def part_written(script: Script, blanks: PartBlanks) -> tuple[Edit, ...]:
    """The block at the end of the session, which lasts so much longer if it says how long, or a session with it;
    BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _within(known, blanks, ("order",), ("minutes", "rest"))
    if not blanks.balls or not set(blanks.balls) <= set(known["balls"]):
        raise BlankProblem("choose at least one ball of the script")
    shares = tuple(s.Share(None, name(ball)) for ball in blanks.balls)
    order = shares[0] if len(shares) == 1 else (s.Mix if blanks.order == "mix" else s.Cycle)(shares)
    lines: tuple[s.Sentence, ...] = (s.Timed(amount(blanks.minutes, 1, "min"), order),)
    if round(blanks.rest, 1):
        lines = (*lines, s.Rest(amount(blanks.rest, 1, "min")))
    session = _last(script, s.Session)
    head = s.Session(Word("TITLE", '"Practice"'))
    if session is None:
        return (_below(script, script.tree.lines[-1] if script.tree.lines else None, head, lines),)
    rows = _text(head, lines).split("\n", 1)[1].rstrip("\n")
    end = _end(script, session)
    block = Edit(Span(script.source, end, end), f"\n{rows}")
    lasts = session.sentence.lasts if isinstance(session.sentence, s.Session) else None
    if not isinstance(lasts, s.Quantity) or lasts.unit.text != "min":
        return (block,)
    longer = float(lasts.number.text) + blanks.minutes + blanks.rest
    return block, instead(lasts, amount(longer, 1, "min"))


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
    blanks: VariationBlanks | BallBlanks | PartBlanks,
    words: tuple[str, ...],
    numbers: tuple[str, ...],
) -> None:
    for blank in words:
        if getattr(blanks, blank) not in known[blank]:
            raise BlankProblem(f"{blank} is one of: {', '.join(known[blank])}")
    for blank in numbers:
        low, high = BOUNDS[blank]
        value = getattr(blanks, blank)
        if not (isfinite(value) and low <= value <= high):
            raise BlankProblem(f"{blank} is a number from {low:g} to {high:g}")


def _last(script: Script, kind: type[s.Sentence]) -> Line | None:
    return next((line for line in reversed(script.tree.lines) if line.place and isinstance(line.sentence, kind)), None)


def _text(head: s.Sentence, under: tuple[s.Sentence, ...]) -> str:
    text = canonical(Tree((Line(head, tuple(Line(sentence) for sentence in under)),)))
    assert text
    return text


def _below(script: Script, line: Line | None, head: s.Sentence, under: tuple[s.Sentence, ...]) -> Edit:
    end = _end(script, line) if line else len(script.source.text)
    gap = "\n\n" if script.source.text[:end].strip() else ""
    return Edit(Span(script.source, end, end), gap + _text(head, under).rstrip("\n"))


def _end(script: Script, line: Line) -> int:
    """Behind the last row of a line and all under it."""
    while line.children:
        line = line.children[-1]
    end = script.source.text.find("\n", line.span.end)
    return len(script.source.text) if end < 0 else end
