"""What is said of a line that stands where it does not belong."""

from . import terminals, units
from .facts import Names
from .finding import Finding
from .messages import LikelySlip, Misplaced
from .source import Span
from .syntax import (
    Begin,
    BlockRest,
    Counted,
    Feed,
    Feeder,
    For,
    Goal,
    Ladder,
    Line,
    OwnServes,
    Point,
    Program,
    Quantity,
    Rest,
    Rounds,
    Score,
    ScoreGoal,
    Sentence,
    Session,
    SetRest,
    Stands,
    Timed,
    Until,
)

LONG_S = 120.0  # a longer rest stands in no block, as the check of it says


def misplaced(sentence: Sentence, over: Line, around: list[Line]) -> Finding:
    """`around`: the lines under which `over` stands, the innermost last."""
    homes = Names(place for place, kinds in terminals.UNDER.items() if sentence.kind in kinds)
    match sentence:
        case Timed(amount, _):
            head = amount.span
        case Counted(number) | Rounds(number) | OwnServes(number):
            head = number.span
        case _:
            opened_by = terminals.OPENED_BY.get(sentence.kind, sentence.kind)
            head = Span(sentence.span.source, sentence.span.start, sentence.span.start + len(opened_by))
    message = Misplaced(sentence.kind, over.kind, homes)
    hint = None
    match sentence, over.sentence:
        case Until(), Ladder():
            hint = LikelySlip("a ladder has its own count, and ends early once: until the last rung is won")
        case Until(), _:
            told = f"it ends one block, on its line or on the next: 12 balls steady, {sentence.span.text}"
            hint = LikelySlip(told)
        case Feeder(_, _, spots), Feed() | Rounds() | Timed() | Counted() | Ladder():
            place = ", ".join(spot.span.text for spot in spots)
            hint = LikelySlip(f"one feeder feeds the whole script; here stands its place alone: feeder {place}")
        case Begin(), Feed() | Rounds() | Timed() | Counted():
            hint = LikelySlip("where the feeder stands for these balls is said so: feeder 3 m from net, on centre")
        case Stands(), Program():
            hint = LikelySlip(f"who feeds comes first: feeder machine club, {sentence.said}")
        case ((Score() | ScoreGoal()), Ladder()):
            hint = LikelySlip("a ladder has its own count: hits take the player up, and misses down")
        case ((Score() | ScoreGoal()), _):
            said = " ".join(sentence.span.text.split())
            hint = LikelySlip(f"it stands under the block or the rounds that it counts: 20 balls steady; {said}")
        case Goal(), Point(name):
            asked = sentence.span.text.removeprefix("goal").strip()
            told = f"a goal of points stands under their block: 12 points {name.text}; goal {asked}"
            hint = LikelySlip(f"{told}; or ends it: 12 points {name.text}, until {asked}")
        case Goal(hits, among), Ladder():
            rung = f"{hits.text} of every {among.text}" if among else f"{hits.text} in a row"
            hint = LikelySlip(f"a ladder says on a line under it how many take the player up: up {rung}")
        case Goal(), For() | Rest():
            said = " ".join(sentence.span.text.split())
            hint = LikelySlip(f"it stands under the block that it counts: 20 balls steady; {said}")
        case Rest(amount), Ladder():
            hint = LikelySlip(f"between the sets of a ladder it says so: rest {amount.span.text} between sets")
        case BlockRest(amount), Ladder():
            hint = LikelySlip(f"a ladder rests between its sets: rest {amount.span.text} between sets")
        case BlockRest(), Session() | Rounds():
            hint = LikelySlip("it stands under its block, indented")
        case Rest(Quantity(number, unit) as amount), Counted(total, _) as block if (
            units.to_si(float(number.text), unit.text) > LONG_S and int(total.text) > 1
        ):
            from .edits import with_pauses  # loads more, for want of which most scripts are read sooner

            hint = LikelySlip(with_pauses(block, -(-int(total.text) // 2), f"rest {amount.span.text}"))
        case ((Rest(amount) | SetRest(amount)), Counted() | Timed()):
            what = "points" if isinstance(over.sentence, Counted) and over.sentence.balls.kind == "POINTS" else "balls"
            told = f"inside a block, for two minutes at most, it says after how many {what}"
            until = over.sentence.until
            set_ = until.among.text if until and until.every and until.among else "10"
            rest = f"rest {amount.span.text} after every {set_} {what}"
            hint = LikelySlip(f"{told}: {rest}; or it stands between two blocks")
    also = (("the line above it", over.span),) if over.sentence else ()
    holds = [sentence.kind in terminals.UNDER.get(line.kind, ()) for line in reversed(around)]
    if hint is None and any(holds):
        there = around[-1 - holds.index(True)]
        message = Misplaced(sentence.kind, over.kind, homes, holds.index(True) + 1, there.kind)
        also = (*also, ("the line it belongs under", there.span))
    return Finding(message, head, also, hint=hint)
