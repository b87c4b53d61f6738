"""A block of the session through its form: the blanks that it fills, and the edits of what they then say."""

from collections.abc import Iterator

from ...grammar import syntax as s
from ...grammar.edits import Edit, above, changed, filled, instead
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import Line, Node, Word
from .blanks import MEASURES, BlankProblem, PartBlanks, choices, last_block, within
from .forms import all_known, block_of, lasting, put, resting, seconds_of
from .rearranged import all_mirrored, block_at, rows_of, without
from .script import NameKind, Script


def block_of_row(script: Script, row: int) -> tuple[PartBlanks, dict[str, str]]:
    """The blanks of a block, and what of it no blank can hold, in its words; BlankProblem if the row is none that is
    played for a time or by a count."""
    _, line, block, before, after = _there(script, row)
    blanks, kept = PartBlanks(row=row), {}
    if isinstance(block, s.Counted):
        blanks = replace(blanks, amount=float(block.number.text), measure=block.balls.kind.lower())
    elif isinstance(block.amount, s.Quantity):
        blanks = replace(blanks, amount=_minutes(block.amount), measure="min")
    else:
        raise BlankProblem(f"{text(line.sentence or block)} lasts as long as a name says: change it in the script")
    found = _plain(block.order)
    if found is None:
        kept["order"] = " ".join(text(block.order).split())
        blanks = replace(blanks, balls=tuple(dict.fromkeys(share.name.text for share in _shares(block.order))))
    else:
        blanks = replace(blanks, order=found[0], balls=found[1])
    for blank, rest in (("before", before), ("rest", after)):
        if rest and isinstance(rest.sentence, s.Rest):
            seconds = seconds_of(rest.sentence)
            if seconds is None:
                kept[blank] = text(rest.sentence)
            else:
                blanks = replace(blanks, **{blank: seconds})
    return replace(blanks, kept=tuple(kept)), kept


def as_long_as(script: Script, feed: str) -> dict[str, float | str]:
    """How long a copy of a ball is played, and after which rest: like the last block of that ball alone."""
    found = last_block(script, feed)
    if found is None or _measure(found.block) not in ("min", "balls"):
        return {}
    blanks: dict[str, float | str] = {"measure": _measure(found.block)}
    if isinstance(found.block, s.Counted):
        blanks["amount"] = float(found.block.number.text)
    elif isinstance(found.block.amount, s.Quantity):
        blanks["amount"] = _minutes(found.block.amount)
    else:
        return {}
    rest = seconds_of(found.before) if found.before else 0.0
    return blanks if rest is None else {**blanks, "rest": rest}


def block_changed(script: Script, blanks: PartBlanks) -> tuple[Edit, ...]:
    """The block in the row with what the blanks say; BlankProblem if one holds what it may not."""
    session, line, block, before, after = _there(script, blanks.row)
    old, _ = block_of_row(script, blanks.row)
    known = choices(script)
    within(known, blanks, ("measure",), ("before", "rest"))
    order = block.order
    same_order = "order" not in old.kept and (blanks.order, set(blanks.balls)) == (old.order, set(old.balls))
    if "order" not in blanks.kept and not same_order:
        if blanks.order == "ladder":
            raise BlankProblem("a block that stands there becomes no ladder: add one, and take this one out")
        order = block_of(blanks).order
    all_known(known, replace(blanks, balls=tuple(share.name.text for share in _shares(order))))
    new = changed(block_of(blanks), order=order, whom=block.whom, until=block.until)
    same = (blanks.amount, blanks.measure) == (old.amount, old.measure) and order is block.order
    rest = () if "rest" in blanks.kept or after else tuple(one.sentence for one in resting(blanks.rest) if one.sentence)
    edits: list[Edit] = []
    if not same or (rest and not line.children):
        edits.append(instead(block, block if same else new, *(() if line.children else rest)))
    if rest and line.children:
        end = rows_of(script, line)[1]
        indent = " " * (script.source.line_of(line.span.start)[1] - 1)
        edits.append(Edit(Span(script.source, end, end), f"\n{indent}{text(rest[0])}"))
    edits += _rested(script, line, before, blanks.before, "before" in blanks.kept)
    if after:
        edits += _rested(script, line, after, blanks.rest, "rest" in blanks.kept)
    longer = (blanks.before - old.before + blanks.rest - old.rest) / 60
    if blanks.measure == "min" == old.measure:
        longer += blanks.amount - old.amount
    return (*edits, *lasting(session, longer))


def ball_mirrored(script: Script, feed: str) -> tuple[Edit, ...]:
    """The ball once more to the other side and, where a block plays it alone, in a block like that at the end of the
    session; BlankProblem if the script has no such feed, or if it has no side to change."""
    made, called = all_mirrored(script, (feed,))
    found = last_block(script, feed)
    return made if found is None else (*made, *_once_more(script, found.block, found.line, found.before, called))


def block_mirrored(script: Script, row: int) -> tuple[Edit, ...]:
    """The balls of a block once more to the other side, in a block like it at the end of the session, after the rest
    before this one; BlankProblem if the row is none that is played for a time or by a count."""
    _, line, block, before, _ = _there(script, row)
    feeds = {one.name for one in script.names if one.made and one.kind is NameKind.FEED}
    balls = tuple(dict.fromkeys(share.name.text for share in _shares(block.order)))
    if not feeds.issuperset(balls):
        raise BlankProblem("a point has no other side: copy its balls")
    made, called = all_mirrored(script, balls)
    rest = before.sentence if before and isinstance(before.sentence, s.Rest) else None
    return (*made, *_once_more(script, block, line, rest, called))


def _once_more(
    script: Script, block: s.Timed | s.Counted, line: Line, before: s.Rest | None, called: dict[str, str]
) -> tuple[Edit, ...]:
    """A block at the end of the session with balls of other names in it, of the same rhythm and end."""

    def other(node: Node) -> Node:
        return changed(node, text=called.get(node.text, node.text)) if isinstance(node, Word) else node

    timed = block.amount if isinstance(block, s.Timed) else None
    minutes = _minutes(timed) if isinstance(timed, s.Quantity) else None
    kinds = s.Interval | s.Stands | s.Until | s.Game | s.Goal | s.Score | s.ScoreGoal
    under = tuple(Line(filled(one.sentence, other)) for one in line.children if isinstance(one.sentence, kinds))
    copy = Line(changed(block, order=filled(block.order, other)), under)
    return put(script, (copy,), minutes, (seconds_of(before) if before else None) or 0.0)


def _rested(script: Script, line: Line, there: Line | None, seconds: float, kept: bool) -> Iterator[Edit]:
    """A rest that stands there, as long as it is to be; or a new one above the block."""
    rests = [one.sentence for one in resting(seconds) if isinstance(one.sentence, s.Rest)]
    if kept or (there and isinstance(there.sentence, s.Rest) and seconds_of(there.sentence) == round(seconds)):
        return
    if there and there.sentence and rests:
        yield instead(there.sentence, changed(there.sentence, amount=rests[0].amount))  # between rounds it stays
    elif there:
        yield without(script, there)
    elif rests:
        yield above(line.span, rests[0])


def _there(script: Script, row: int) -> tuple[Line, Line, s.Timed | s.Counted, Line | None, Line | None]:
    """The session, the block in a row, and the rests around it."""
    beside, line = block_at(script, row)
    block = line.sentence
    if not isinstance(block, s.Timed | s.Counted) or _measure(block) not in MEASURES:
        raise BlankProblem("put the cursor on a block that is played for minutes, balls or points")
    at = next(n for n, one in enumerate(beside) if one is line)
    before, after = beside[at - 1] if at else None, beside[at + 1] if at + 1 < len(beside) else None
    session = next(
        one for one in reversed(script.tree.lines)
        if isinstance(one.sentence, s.Session) and one.span.start < line.span.start
    )  # fmt: skip
    return session, line, block, _rest(before), _rest(after)


def _rest(line: Line | None) -> Line | None:
    return line if line and isinstance(line.sentence, s.Rest) else None


def _measure(block: s.Timed | s.Counted) -> str:
    return "min" if isinstance(block, s.Timed) else block.balls.kind.lower()


def _minutes(amount: s.Quantity) -> float:
    return float(amount.number.text) / (60 if amount.unit.text == "s" else 1)


def _plain(order: s.Order) -> tuple[str, tuple[str, ...]] | None:
    """The order and the balls of one that a form can hold: each ball once, no shares, no limits."""
    shares = _shares(order)
    balls = tuple(share.name.text for share in shares)
    limits = () if isinstance(order, s.Share) else order.limits
    if any(share.number or share.walk for share in shares) or limits or len(set(balls)) < len(balls):
        return None
    return "mix" if isinstance(order, s.Mix) else "cycle", balls


def _shares(order: s.Order) -> tuple[s.Share, ...]:
    return (order,) if isinstance(order, s.Share) else order.shares
