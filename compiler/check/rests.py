"""Rests inside blocks: do they come?"""

from ...grammar.edits import left_out
from ...grammar.finding import Finding
from ...grammar.syntax import Timed
from ..findings.session import RestNever
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
