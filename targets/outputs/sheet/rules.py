"""What decides a hit, and the rules of scores and records, in words for a person on court."""

from collections.abc import Sequence

from ....compiler.model.plan import Block, ScoreRecord
from ....compiler.printable import plural
from .words import quoted


def hit_if(told: Sequence[str], hitter: bool = False) -> str:
    """What else decides a hit, in the coach's words."""
    return f"A hit only if {' and if '.join(told if hitter else map(quoted, told))}." if told else ""


def score_rule(
    score: ScoreRecord,
    adds: Sequence[tuple[str, int]],
    missed: Sequence[tuple[str, int]],
    points: bool,
    rounds: bool,
) -> str:
    """What each mark adds to a score, and what it decides; `adds` says it of good balls, or of points that are won,
    `missed` of those whose miss has a number of its own."""
    told = [f"{quoted(result)} {_signed(add)}" for result, add in score.results.items()]
    told += [f"{what} {_signed(add)}" for what, add in adds if add or not told]
    told += [f"{what} {_signed(add)}" for what, add in missed]
    lost = "a point lost" if points else "another miss" if missed else "a miss"
    told += [f"{'anything else' if score.results else lost} {_signed(score.miss)}"] if score.miss else []
    told += (
        [f"each {score.row} {'won' if points else 'good'} in a row {_signed(score.bonus)} more"] if score.row else []
    )
    held = [f"never less than {score.least}"] if score.least is not None else []
    held += [f"never more than {score.most}"] if score.most is not None else []
    whose = " of each player" if score.each else ""
    begins = f"Score{whose}{' over all rounds' if rounds else ''}: begin at {score.start}; {', '.join((*told, *held))}."
    ends = [f"{end}{' or more' if end > score.start else ' or less'}" for end in score.ends]
    first = "one of them" if score.each else "it"
    until = f" As soon as {first} is {', or '.join(ends)}, go on with what comes next." if ends else ""
    goal = "" if score.goal is None else f" Goal: {score.goal} or more{' for each' * score.each} at the end."
    return f"{begins}{until}{goal}"


def record_rule(block: Block, times: int) -> str:
    """What a block that ends early has to be longer or shorter than, with room for how long it was each time."""
    assert block.record
    unit = "point" if block.points else "ball"
    told = f"Record to beat: {plural(block.record, unit)}; {'more' if block.longer_beats else 'fewer'} beat it."
    return f"{told} {unit.capitalize()}s played: {', '.join(['______'] * times)}"


def _signed(add: int) -> str:
    return f"{add:+d}" if add else "0"
