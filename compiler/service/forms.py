"""A variation, a ball, a point or a block of the session, written from the blanks of a form: what a coach can say
before the language is known."""

from ...grammar import syntax as s
from ...grammar.edits import Edit, amount, changed, counted, from_baseline, instead, launches, name
from ...grammar.format import canonical
from ...grammar.source import Span
from ...grammar.syntax import Line, Tree, Word, keyword
from .blanks import (
    ARCS,
    BOUNDS,
    BOX_M,
    MISSES_IN,
    MOST,
    PLAYED,
    RUNGS,
    STEPPED,
    BallBlanks,
    BlankProblem,
    PartBlanks,
    PointBlanks,
    VariationBlanks,
    bounded,
    choices,
    last_block,
    last_of,
    within,
)
from .script import MADE_NAME, Script


def variation_written(script: Script, blanks: VariationBlanks) -> tuple[Edit, ...]:
    """The variation, below the last one; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _new(blanks.name, "variation", known["aims"])
    title, when = (" ".join(said.split()) for said in (blanks.title, blanks.when))
    if not title or '"' in title or "#" in when or not (title + when).isprintable():
        raise BlankProblem('say in a few words what the player does, without " and #')
    within(known, blanks, (), ("near", "far", "over", "goal"))
    over = s.Clearance(keyword("AT_LEAST"), amount(blanks.over, 2, "m"), keyword("OVER_NET"))
    lines = (
        *((s.When(Word("FREE_TEXT", when)),) if when else ()), s.Reply((_zone(blanks.near, blanks.far), over)),
        s.Goal(counted(blanks.goal)),
    )  # fmt: skip
    head = s.Variation(name(blanks.name), Word("TITLE", f'"{title}"'))
    return (_below(script, last_of(script, s.Variation) or last_of(script, s.Program), head, lines),)


def ball_written(script: Script, blanks: BallBlanks) -> tuple[Edit, ...]:
    """The feed, below the last one, and where it is played; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _new(blanks.name, "ball", known["balls"])
    within({**known, "played": PLAYED}, blanks, ("played",), ())
    if blanks.aims and blanks.aims not in known["aims"]:
        raise BlankProblem(f"there is no variation {blanks.aims}")
    head = s.Feed(name(blanks.name), name(blanks.aims) if blanks.aims else None)
    last = last_of(script, s.Feed) or last_of(script, s.Variation) or last_of(script, s.Program)
    written = _below(script, last, head, _ball_lines(known, blanks))
    block = last_block(script)
    if blanks.played == "not yet":
        return (written,)
    if blanks.played == "in turn" and block is not None:
        return written, instead(block[0].order, _joined(block[0].order, s.Share(None, name(blanks.name))))
    part = PartBlanks(blanks.amount, blanks.measure, (blanks.name,), rest=blanks.rest)
    new, *_ = played = _put(script, _rounds(part, Line(block_of(part))), _minutes(part))
    if new.span == written.span:  # a first session, below the first ball
        return (Edit(written.span, written.text + new.text),)
    return written, *played


def _ball_lines(known: dict[str, tuple[str, ...]], blanks: BallBlanks) -> tuple[s.Sentence, ...]:
    within(known, blanks, ("side", "depth", "stance_from", "bounce", "level", "turn"), ("stance", "interval"))
    full = blanks.bounce == "on the full"
    if blanks.turn != "flat":
        within(known, blanks, (), ("rpm",))
    turning: dict[str, type[s.Topspin] | type[s.Backspin]] = {"topspin": s.Topspin, "backspin": s.Backspin}
    turn = turning[blanks.turn](amount(blanks.rpm, 0, "rpm")) if blanks.turn in turning else s.Flat()
    return (
        s.Side((s.NamedSide(tuple(name(word) for word in blanks.side.split())),)),
        *(() if full else (s.Depth((_landing(blanks),)),)),
        s.Stance((_standing(blanks),)), *_flight(blanks, full), s.Spin((s.Spins((turn,)),)),
        s.Interval(amount(blanks.interval, 1, "s")),
    )  # fmt: skip


def _landing(blanks: BallBlanks) -> s.Place:
    if blanks.depth == "metres":
        within({}, blanks, (), ("near", "far"))
        return _zone(blanks.near, blanks.far)
    if blanks.depth == "service box":
        bounds = s.Bounds(counted(BOX_M[0], 2), counted(BOX_M[1], 2), Word("UNIT", "m"))
        return s.FromLine(bounds, keyword("INSIDE"), keyword("SERVICE_LINE"))
    return s.Name(name(blanks.depth))


def _standing(blanks: BallBlanks) -> s.Place:
    if blanks.stance_from == "from net":
        return s.FromNet(amount(blanks.stance, 2, "m"), keyword("FROM_NET"))
    return from_baseline(blanks.stance if blanks.stance_from == "behind baseline" else -blanks.stance)


def _flight(blanks: BallBlanks, full: bool) -> tuple[s.Sentence, ...]:
    """One line of a ball that bounces; of one on the full also how high it is met."""
    if full and blanks.level in ("falling", "rising"):
        raise BlankProblem("of a ball on the full say its way over the net or how fast it leaves")
    met: tuple[s.Sentence, ...] = ()
    if full:
        within({}, blanks, (), ("met",))
        met = (s.Height((amount(blanks.met, 2, "m"),), phase=s.Phase(keyword("ON_THE_FULL"))),)
    if blanks.level == "pace":
        within({}, blanks, (), ("pace",))
        return (*met, s.Pace((amount(blanks.pace, 0, "km/h"),)))
    if blanks.level not in ARCS:
        within({}, blanks, (), ("height",))
    height = amount(ARCS.get(blanks.level, blanks.height), 2, "m")
    if blanks.level in ("falling", "rising"):
        return (s.Height((height,), phase=s.Phase(keyword(blanks.level.upper()))),)
    return (*met, s.Height((height,), keyword("OVER_NET")))


def point_written(script: Script, blanks: PointBlanks) -> tuple[Edit, ...]:
    """The point, below the last one or the last feed; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    _new(blanks.name, "point", (*known["points"], *known["balls"]))
    within(known, blanks, ("missed",), ())
    balls = tuple(ball for ball in (blanks.first, blanks.second, blanks.third) if ball)
    if len(balls) < 2 or not set(balls) <= set(known["balls"]):
        raise BlankProblem("a point has at least two balls of the script")
    ends = {"from the start": "FROM_THE_START", "next point": "NEXT_POINT"}.get(blanks.missed)
    missed = (s.Missed(keyword("IF_MISSED"), keyword(ends)),) if ends else ()
    lines = (s.Plays(tuple(name(ball) for ball in balls)), *missed)
    last = last_of(script, s.Point) or last_of(script, s.Feed)
    return (_below(script, last, s.Point(name(blanks.name)), lines),)


def part_written(script: Script, blanks: PartBlanks) -> tuple[Edit, ...]:
    """The block at the end of the session, which lasts so much longer if it says how long, or a session with it;
    BlankProblem if a blank holds what it may not."""
    known = choices(script)
    within(known, blanks, ("order", "measure", "step"), ("rest", "rounds"))
    ladder = blanks.order == "ladder"
    if not blanks.balls or not set(blanks.balls) <= {*known["balls"], *known["points"]}:
        raise BlankProblem("choose at least one ball of the script")
    if ladder and (len(blanks.balls) > 1 or blanks.balls[0] in known["points"]):
        raise BlankProblem("a ladder is climbed with one ball")
    if blanks.measure == "points" and not ladder and not set(blanks.balls) & set(known["points"]):
        raise BlankProblem("points are counted where a point is played: add one first, and choose it here")
    if ladder:
        return _put(script, _rounds(blanks, _ladder(known, blanks)), None)
    return _put(script, _rounds(blanks, Line(block_of(blanks))), _minutes(blanks))


def thrown(script: Script, feed: str) -> tuple[Edit, ...]:
    """A ball of the script in a block at the end of the session, as long as the block of the ball that it is like, or
    else as the last block, and with its rest; eight balls where no block is counted in balls or minutes."""
    if feed not in choices(script)["balls"]:
        raise BlankProblem(f"the script makes no ball {feed}")
    like = next((made.like for _, made in script.tree.of(s.Feed) if made.name.text == feed), None)
    block, rest = (like and last_block(script, like.text)) or last_block(script) or (None, None)
    share = s.Share(None, name(feed))
    if block is None or (isinstance(block, s.Counted) and block.balls.kind != "BALLS"):
        return _put(script, (Line(s.Counted(counted(8), launches("BALLS", 8), share)),), None)
    lines = (Line(changed(block, order=share, until=None)), *((Line(rest),) if rest else ()))
    times = [block.amount if isinstance(block, s.Timed) else None, *([rest.amount] if rest else [])]
    minutes = [
        float(one.number.text) / (60 if one.unit.text == "s" else 1) for one in times if isinstance(one, s.Quantity)
    ]
    return _put(script, lines, sum(minutes) if len(minutes) == len(times) else None)


def _rounds(blanks: PartBlanks, block: Line) -> tuple[Line, ...]:
    """The block with its rest, in its rounds."""
    rests = resting(blanks)
    lines, rounds = (block, *rests), round(blanks.rounds)
    between = blanks.between and rests and rounds > 1
    rested = rounds - 1 if between else rounds
    told = (Line(s.Rounds(counted(rested), keyword("ROUNDS")), lines),) if rested > 1 else lines
    return (*told, block) if between else told


def _minutes(blanks: PartBlanks) -> float | None:
    """How long it lasts, if that is said."""
    rounds = round(blanks.rounds)
    rests = rounds - 1 if blanks.between and rounds > 1 else rounds
    return rounds * blanks.amount + rests * blanks.rest / 60 if blanks.measure == "min" else None


def resting(blanks: PartBlanks) -> tuple[Line, ...]:
    bounded("rest", blanks.rest, *BOUNDS["rest"])
    seconds = round(blanks.rest)
    whole = not seconds % 60
    said = amount(seconds / 60, 0, "min") if whole else amount(seconds, 0, "s")
    return (Line(s.Rest(said)),) if seconds else ()


def block_of(blanks: PartBlanks) -> s.Sentence:
    """Balls or points for so long, in their order."""
    bounded("amount", blanks.amount, *MOST[blanks.measure])
    shares = tuple(s.Share(None, name(ball)) for ball in blanks.balls)
    order = shares[0] if len(shares) == 1 else (s.Mix if blanks.order == "mix" else s.Cycle)(shares)
    if blanks.measure == "min":
        return s.Timed(amount(blanks.amount, 1, "min"), order)
    return s.Counted(counted(blanks.amount), launches(blanks.measure.upper(), blanks.amount), order)


def _ladder(known: dict[str, tuple[str, ...]], blanks: PartBlanks) -> Line:
    within(known, blanks, (), ("most", "rungs", "up", "down"))
    for end in ("first", "last"):
        bounded(end, getattr(blanks, end), *STEPPED[blanks.step])
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
    head = s.Ladder(name(blanks.balls[0]), counted(blanks.most), launches("BALLS", blanks.most), rungs)
    return Line(head, (Line(up), Line(down)))


def _put(script: Script, lines: tuple[Line, ...], minutes: float | None) -> tuple[Edit, ...]:
    """The lines at the end of the session, which then lasts so much longer; or a session with them."""
    session = last_of(script, s.Session)
    head = s.Session(_title(script))
    if session is None:
        return (_below(script, script.tree.lines[-1] if script.tree.lines else None, head, lines),)
    rows = canonically(head, lines).split("\n", 1)[1].rstrip("\n")
    end = _end(script, session)
    block = Edit(Span(script.source, end, end), f"\n{rows}")
    lasts = session.sentence.lasts if isinstance(session.sentence, s.Session) else None
    if minutes is None or not isinstance(lasts, s.Quantity) or lasts.unit.text != "min":
        return (block,)
    return block, instead(lasts, amount(float(lasts.number.text) + minutes, 1, "min"))


def _title(script: Script) -> Word:
    """A session is called what its program is called."""
    titles = [said.title for _, said in script.tree.of(s.Program)]
    return titles[0] if titles else Word("TITLE", '"Practice"')


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


def canonically(head: s.Sentence, under: tuple[Line, ...]) -> str:
    text = canonical(Tree((Line(head, under),)))
    assert text
    return text


def _below(script: Script, line: Line | None, head: s.Sentence, under: tuple[Line | s.Sentence, ...]) -> Edit:
    end = _end(script, line) if line else len(script.source.text)
    gap = "\n\n" if script.source.text[:end].strip() else ""
    lines = tuple(one if isinstance(one, Line) else Line(one) for one in under)
    return Edit(Span(script.source, end, end), gap + canonically(head, lines).rstrip("\n"))


def _end(script: Script, line: Line) -> int:
    """Behind the last row of a line and all under it."""
    while line.children:
        line = line.children[-1]
    end = script.source.text.find("\n", line.span.end)
    return len(script.source.text) if end < 0 else end
