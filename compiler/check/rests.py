"""Rests and sets inside blocks: do they come?"""

from ...grammar.edits import counted, instead, launches, left_out
from ...grammar.finding import Finding
from ...grammar.source import Span
from ...grammar.syntax import Counted, Timed
from ..findings.ladders import SetsCut
from ..findings.session import OneSet, RestNever
from ..model.evaluation import Evaluation
from ..model.program import BlockRest, Program
from ..model.schedule import Schedule
from ..model.shots import Shots


def rests(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is a block over before its first rest? One that goes on after a collect counts as a whole."""
    comes: dict[int, int] = {}
    said: dict[int, tuple[BlockRest, str]] = {}
    for block in schedule.blocks if schedule else ():
        if block.rest:
            comes[block.entry] = comes.get(block.entry, 0) + (len(block.points) or block.balls)
            said[block.entry] = block.rest, "points" if block.points else "balls"
    timed = (
        {play.rest.sentence.span for play in program.session.plays if play.rest and isinstance(play.sentence, Timed)}
        if program.session
        else set()
    )
    found = {
        rest.sentence.span: Finding(
            RestNever(rest.every, what, comes[entry], comes[entry] == rest.every and rest.sentence.span in timed),
            rest.sentence.span,
            remedies=(left_out(rest.sentence),),
        )
        for entry, (rest, what) in said.items()
        if comes[entry] <= rest.every
    }
    return list(found.values())


def sets(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Does another set follow the first of a block that counts in sets, and do its minutes end with a whole one? Of a
    number of balls or points the sentence itself says whether they are whole."""
    said = {play.span: play.sentence for play in program.session.plays} if program.session else {}
    found: dict[Span, Finding] = {}
    for block in schedule.blocks if schedule else ():
        count, node = len(block.points) or block.balls, said.get(block.span)
        each = next((hold.among for hold in block.until if hold.in_sets), 0)
        if not isinstance(node, Timed | Counted) or not each or (count > each and count % each == 0):
            continue
        whole, kind = max(2 * each, count + -count % each), "POINTS" if block.points else "BALLS"
        longer = Counted(counted(whole), launches(kind, whole), node.order, node.whom, node.until)
        message = SetsCut(count, each, bool(block.points)) if count % each else OneSet(each, kind.lower())
        amount = node.amount if isinstance(node, Timed) else node.number
        found[block.span] = Finding(message, amount.span, remedies=(instead(node, longer),))
    return list(found.values())
