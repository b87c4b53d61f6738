"""A variation, a ball, a point or a block of the session, written from the blanks of a form: what a coach can say
before the language is known."""

from collections.abc import Iterator
from typing import TypeVar

from ...grammar import syntax as s
from ...grammar.edits import Edit, amount, changed, counted, instead, launches, name
from ...grammar.finding import MESSAGES, Severity
from ...grammar.format import canonical
from ...grammar.source import Span
from ...grammar.syntax import Line, Tree, Word, keyword
from ..model.court import SINGLES_HALF_WIDTH, courts
from .ball_form import feed_of, zone
from .blanks import (
    BOUNDS,
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
    new_name,
    within,
)
from .script import Script

Said = TypeVar("Said", bound=s.Sentence)
SHORT_OF_M = 0.3
"""What a half of the court leaves to the centre and to the sideline, m: our own choice."""

_FROM_THE_BALL = {"crosscourt": "CROSSCOURT", "down the line": "DOWN_THE_LINE"}


def variation_written(script: Script, blanks: VariationBlanks) -> tuple[Edit, ...]:
    """The variation, below the last one, and its name at the balls that ask for it; BlankProblem if a blank holds what
    it may not."""
    known = choices(script)
    new_name(blanks.name, "variation", known["aims"])
    title, when = (" ".join(said.split()) for said in (blanks.title, blanks.when))
    if not title or '"' in title or "#" in when or not (title + when).isprintable():
        raise BlankProblem('say in a few words what the player does, without " and #')
    within(known, blanks, ("toward",), ("near", "far", "over", "goal", "among"))
    over = s.Clearance(keyword("AT_LEAST"), amount(blanks.over, 2, "m"), keyword("OVER_NET"))
    fast: tuple[s.Wish, ...] = ()
    if blanks.pace:
        bounded("pace", blanks.pace, *BOUNDS["pace"])
        fast = (s.PaceWithin(keyword("AT_LEAST"), amount(blanks.pace, 0, "km/h")),)
    toward = (_across(script, blanks.toward),) if blanks.toward else ()
    lines = (
        *((s.When(Word("FREE_TEXT", when)),) if when else ()),
        s.Reply((zone(blanks.near, blanks.far), *toward, over, *fast)),
        s.Goal(counted(blanks.goal), _among(blanks.goal, blanks.among)),
    )  # fmt: skip
    head = s.Variation(name(blanks.name), Word("TITLE", f'"{title}"'))
    asked = [instead(said, changed(said, aims=name(blanks.name))) for said in _feeds(script, blanks.balls)]
    return (_below(script, last_of(script, s.Variation) or last_of(script, s.Program), head, lines), *asked)


def _among(hits: float, balls: float) -> Word | None:
    """Among so many balls the hits are counted; none for a row."""
    if balls and balls < hits:
        raise BlankProblem(f"{hits:g} good ones are among at least {hits:g} balls; 0 balls mean in a row")
    return counted(balls) if balls else None


def _across(script: Script, toward: str) -> s.Wish:
    if toward in _FROM_THE_BALL:
        return s.Landing(keyword(_FROM_THE_BALL[toward]))
    return s.Toward(_side(script, *toward.split()))


def _side(script: Script, hand: str, part: str = "") -> s.Lateral:
    """To a half of the court, short of the centre and of the sideline; or a side by its name."""
    if part != "half":
        return s.NamedSide(tuple(name(word) for word in (hand, part) if word))
    court = courts(False).get(next((said.name.text for said in said_of(script, s.Court)), "singles"))
    wide = court.half_width if court else SINGLES_HALF_WIDTH
    bounds = s.Bounds(counted(SHORT_OF_M, 1), counted(wide - SHORT_OF_M, 1), Word("UNIT", "m"))
    return s.FromCentre(bounds, name(hand), keyword("OF_CENTRE"))


def said_of(script: Script, kind: type[Said]) -> Iterator[Said]:
    """What the head of the program says, by the class of its sentences."""
    for tree in (script.tree, *script.used):
        for line, _ in tree.of(s.Program):
            yield from (one.sentence for one in line.children if isinstance(one.sentence, kind))


def _feeds(script: Script, named: tuple[str, ...]) -> list[s.Feed]:
    """The feeds of these names that the script itself makes; BlankProblem if it lacks one."""
    made = {said.name.text: said for line, said in script.tree.of(s.Feed) if line.place}
    if not made.keys() >= set(named):
        raise BlankProblem("choose balls of the script")
    return [made[one] for one in named]


def ball_written(script: Script, blanks: BallBlanks) -> tuple[Edit, ...]:
    """The feed, below the last one, and where it is played; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    new_name(blanks.name, "ball", known["balls"])
    within({**known, "played": PLAYED}, blanks, ("played",), ())
    last = last_of(script, s.Feed) or last_of(script, s.Variation) or last_of(script, s.Program)
    written = _below(script, last, *feed_of(script, blanks))
    block = last_block(script)
    if blanks.played == "not yet":
        return (written,)
    if blanks.played == "in turn" and block is not None:
        return written, instead(block.block.order, _joined(block.block.order, s.Share(None, name(blanks.name))))
    part = PartBlanks(blanks.amount, blanks.measure, (blanks.name,), before=blanks.rest)
    within(known, blanks, ("pause",), ())
    pause = resting(blanks.rest, blanks.pause)
    new, *_ = played = put(script, _rounds(part, Line(block_of(part))), _minutes(part), blanks.rest, pause)
    if new.span == written.span:  # a first session, below the first ball
        return (Edit(written.span, written.text + new.text),)
    return written, *played


def point_written(script: Script, blanks: PointBlanks) -> tuple[Edit, ...]:
    """The point, below the last one or the last feed; BlankProblem if a blank holds what it may not."""
    known = choices(script)
    new_name(blanks.name, "point", (*known["points"], *known["balls"]))
    within(known, blanks, ("missed",), ())
    balls = tuple(ball for ball in (blanks.first, blanks.second, blanks.third) if ball)
    if len(balls) < 2 or not set(balls) <= set(known["balls"]):
        raise BlankProblem("a point has at least two balls of the script")
    ends = {"from the start": "FROM_THE_START", "next point": "NEXT_POINT"}.get(blanks.missed)
    missed = (s.Missed(keyword("IF_MISSED"), keyword(ends)),) if ends else ()
    lines = (s.Plays(tuple(s.Share(None, name(ball)) for ball in balls)), *missed)
    last = last_of(script, s.Point) or last_of(script, s.Feed)
    return (_below(script, last, s.Point(name(blanks.name)), lines),)


def part_written(script: Script, blanks: PartBlanks) -> tuple[Edit, ...]:
    """The block at the end of the session, which lasts so much longer if it says how long, or a session with it;
    BlankProblem if a blank holds what it may not."""
    known = choices(script)
    within(known, blanks, ("part", "order", "measure", "step", "pause"), ("before", "rest", "rounds"))
    if blanks.part != "balls":
        return _pause(script, blanks)
    ladder = blanks.order == "ladder"
    all_known(known, blanks)
    if ladder and (len(blanks.balls) > 1 or blanks.balls[0] in known["points"]):
        raise BlankProblem("a ladder is climbed with one ball")
    if ladder:
        return put(script, _rounds(blanks, _ladder(known, blanks)), None, blanks.before)
    pause = resting(blanks.before, blanks.pause)
    return put(script, _rounds(blanks, Line(block_of(blanks))), _minutes(blanks), blanks.before, pause)


def _pause(script: Script, blanks: PartBlanks) -> tuple[Edit, ...]:
    """So many minutes without balls, at the end of the session."""
    bounded("amount", blanks.amount, *MOST["min"])
    if not last_block(script):
        raise BlankProblem("the session has no block yet: add one first")
    seconds = round(blanks.amount * 60)
    lasts = amount(seconds, 0, "s") if seconds % 30 else amount(blanks.amount, 1, "min")
    return put(script, (Line(s.Rest(lasts) if blanks.part == "rest" else s.Collect(lasts)),), blanks.amount)


def accepted(script: Script, code: str) -> tuple[Edit, ...]:
    """The line that says that what a warning tells is meant, below the last such line or the head; BlankProblem if
    nothing of this code can be accepted."""
    known = MESSAGES.get(code)
    if known is None or known.severity is Severity.ERROR:
        raise BlankProblem(f"no line accepts {code}")
    last = last_of(script, s.Accept) or last_of(script, s.Program)
    return (_below(script, last, s.Accept(name(code)), ()),)


def thrown(script: Script, feed: str) -> tuple[Edit, ...]:
    """A ball of the script in a block at the end of the session, as long as the block of the ball that it is like, or
    else as the last block, and with its rest before or after it; eight balls where no block is counted in balls or
    minutes."""
    if feed not in choices(script)["balls"]:
        raise BlankProblem(f"the script makes no ball {feed}")
    like = next((made.like for _, made in script.tree.of(s.Feed) if made.name.text == feed), None)
    found = (like and last_block(script, like.text)) or last_block(script)
    share = s.Share(None, name(feed))
    if found is None or (isinstance(found.block, s.Counted) and found.block.balls.kind != "BALLS"):
        return put(script, (Line(s.Counted(counted(8), launches("BALLS", 8), share)),), None)
    block, after = found.block, found.after
    before = seconds_of(found.before) if found.before and not after else 0.0
    if after and after.between:
        before, after = seconds_of(after), None
    lines = (Line(changed(block, order=share, until=None)), *((Line(after),) if after else ()))
    times = [block.amount if isinstance(block, s.Timed) else None, *([after.amount] if after else [])]
    minutes = [
        float(one.number.text) / (60 if one.unit.text == "s" else 1) for one in times if isinstance(one, s.Quantity)
    ]
    return put(script, lines, sum(minutes) if len(minutes) == len(times) else None, before or 0.0)


def seconds_of(rest: s.Rest) -> float | None:
    """None where it is an amount by its name."""
    if not isinstance(rest.amount, s.Quantity):
        return None
    return float(rest.amount.number.text) * (1 if rest.amount.unit.text == "s" else 60)


def _rounds(blanks: PartBlanks, block: Line) -> tuple[Line, ...]:
    """The block in its rounds, with the rest between them."""
    rounds = round(blanks.rounds)
    rests = (
        Line(changed(one.sentence, between=keyword("BETWEEN_ROUNDS"))) for one in resting(blanks.rest) if one.sentence
    )
    return (Line(s.Rounds(counted(rounds), keyword("ROUNDS")), (block, *rests)),) if rounds > 1 else (block,)


def _minutes(blanks: PartBlanks) -> float | None:
    """How long it lasts, if that is said."""
    rounds = round(blanks.rounds)
    return rounds * blanks.amount + (rounds - 1) * blanks.rest / 60 if blanks.measure == "min" else None


def resting(seconds: float, pause: str = "rest") -> tuple[Line, ...]:
    bounded("rest", seconds, *BOUNDS["rest"])
    seconds = round(seconds)
    whole = not seconds % 60
    said = amount(seconds / 60, 0, "min") if whole else amount(seconds, 0, "s")
    return (Line((s.Collect if pause == "collect" else s.Rest)(said)),) if seconds else ()


def all_known(known: dict[str, tuple[str, ...]], blanks: PartBlanks) -> None:
    """BlankProblem if the balls are none of the script, or if points are counted where no point is played."""
    if not blanks.balls or not set(blanks.balls) <= {*known["balls"], *known["points"]}:
        raise BlankProblem("choose at least one ball of the script")
    if blanks.measure == "points" and blanks.order != "ladder" and not set(blanks.balls) & set(known["points"]):
        raise BlankProblem("points are counted where a point is played: add one first, and choose it here")


def block_of(blanks: PartBlanks) -> s.Timed | s.Counted:
    """Balls or points for so long, in their order."""
    bounded("amount", blanks.amount, *MOST[blanks.measure])
    shares = tuple(s.Share(None, name(ball)) for ball in blanks.balls)
    order = shares[0] if len(shares) == 1 else (s.Mix if blanks.order == "mix" else s.Cycle)(shares)
    if blanks.measure == "min":
        return s.Timed(amount(blanks.amount, 2, "min"), order)
    return s.Counted(counted(blanks.amount), launches(blanks.measure.upper(), blanks.amount), order)


def _ladder(known: dict[str, tuple[str, ...]], blanks: PartBlanks) -> Line:
    within(known, blanks, (), ("most", "rungs", "up", "up_in", "down"))
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
    up = s.Up(keyword("UP"), counted(blanks.up), _among(blanks.up, blanks.up_in))
    down = s.Down(keyword("DOWN"), counted(blanks.down), keyword("MISSES"), counted(MISSES_IN))
    head = s.Ladder((name(blanks.balls[0]),), counted(blanks.most), launches("BALLS", blanks.most), rungs)
    return Line(head, (Line(up), Line(down)))


def put(
    script: Script, lines: tuple[Line, ...], minutes: float | None, rest: float = 0.0, pause: tuple[Line, ...] = ()
) -> tuple[Edit, ...]:
    """The lines at the end of the session, which then lasts so much longer, behind so many seconds of rest, or the
    pause that lasts so long, if a block comes before them; or a session with them."""
    session = last_of(script, s.Session)
    if last_block(script) and session and not isinstance(session.children[-1].sentence, s.Rest):
        lines = (*(pause or resting(rest)), *lines)
        minutes = minutes and minutes + rest / 60
    head = s.Session(_title(script))
    if session is None:
        return (_below(script, script.tree.lines[-1] if script.tree.lines else None, head, lines),)
    rows = canonically(head, lines).split("\n", 1)[1].rstrip("\n")
    end = _end(script, session)
    block = Edit(Span(script.source, end, end), f"\n{rows}")
    return (block, *lasting(session, minutes))


def lasting(session: Line, minutes: float | None) -> tuple[Edit, ...]:
    """The session lasts so much longer, where it says how long; the most that it may last stays."""
    said = session.sentence
    lasts = said.lasts if isinstance(said, s.Session) and not said.most else None
    if not minutes or not isinstance(lasts, s.Quantity) or lasts.unit.text != "min":
        return ()
    return (instead(lasts, amount(float(lasts.number.text) + minutes, 1, "min")),)


def _title(script: Script) -> Word:
    """A session is called what its program is called."""
    titles = [said.title for _, said in script.tree.of(s.Program)]
    return titles[0] if titles else Word("TITLE", '"Practice"')


def _joined(order: s.Order, share: s.Share) -> s.Order:
    if isinstance(order, s.Share):
        return s.Cycle((order, share))
    return changed(order, shares=(*order.shares, share))


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
