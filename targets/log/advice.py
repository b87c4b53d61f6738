"""What the counts say, in sentences: which variation needs more time, and which rung of a ladder is hit half the time.

The chance of a goal assumes independent balls, each hit with the share recorded so far. Nothing here claims that one
order of practice teaches better than another.
"""

from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

from ...compiler.model.chance import needed_share, wilson
from ...compiler.model.plan import Plan
from ...compiler.printable import plural
from ...grammar.units import hits_of, of_ten
from . import LogRefused
from .figures import Count, Figures, LadderFigures, Scope, VariationFigures, count_rungs, figures
from .progress import Verdict
from .store import open_to_read, told

FEW = 20
"""Fewest judged balls for advice: with 20, a share of one half is known to about ± 0.2. Own choice."""
CLOSING = (
    "These figures count balls that were played and treat each as independent of the one before. They do not show that "
    "one order of practice teaches better than another."
)


def advice(found: Figures) -> list[str]:
    """A sentence for each variation, the one furthest from its goal first, for each goal of a block or a session, and
    for each ladder."""
    variations = sorted(
        found.variations, key=lambda one: (one.total.judged < FEW, one.chance is None, one.chance or 0.0)
    )
    goals = [f"{one.name} ({one.program}): {one.course}." for one in found.goals]
    return [_variation(one) for one in variations] + goals + [_ladder(ladder) for ladder in found.ladders]


def of_program(path: Path, program: str) -> list[str]:
    """The advice of a log about one program; none where there is no log that can be read."""
    try:
        with closing(open_to_read(path)) as database, told(path):
            found = figures(database, Scope(program))
            count_rungs(database, found)
    except LogRefused:
        return []
    return advice(found)


def against_plan(plan: Plan, balls: Iterable[tuple[str, Verdict]]) -> list[str]:
    """Of balls, each its shot and verdict, a sentence for each variation with enough judged ones: the hits beside how
    many of ten the plan expects from the player's scatter, and what a lasting difference means."""
    shots, counts = {shot.id: shot for shot in plan.shots}, dict[str, Count]()
    expected: dict[str, list[float]] = {}
    for name, verdict in balls:
        shot = shots.get(name)
        if shot and shot.variation and shot.reply and verdict is not Verdict.NOT_JUDGED:
            counts.setdefault(shot.variation, Count()).add(verdict.value, None)
            expected.setdefault(shot.variation, []).append(shot.reply.share_good)
    said = []
    for variation, count in counts.items():
        if count.judged < FEW:
            continue
        mean = sum(expected[variation]) / count.judged
        low, high = wilson(count.hits, count.judged)
        sentence = f"{variation}: {_hit(count)} were hit; the plan expects {of_ten(mean)} of ten"
        if mean < low:
            sentence += ", so the player may be steadier than its scatter says"
        elif mean > high:
            sentence += ", so the player may scatter more widely than it says"
        said.append(f"{sentence}.")
    return said


def _variation(one: VariationFigures) -> str:
    total, name = one.total, f"{one.name} ({one.program})"
    if total.judged < FEW:
        return f"{name}: {plural(total.judged, 'ball')} judged so far, too few for advice; {FEW} are a start."
    hit = f"{_hit(total)} were hit"
    if one.goal is None:
        return f"{name}: {hit}; it has no goal to compare with."
    if one.needed is None:
        return f"{name}: {hit}; a block of {plural(one.planned, 'ball')} is too short for a goal of {one.goal}."
    assert one.chance is not None
    within = f" within {plural(one.planned, 'ball')}"
    asked = f"{one.goal.hits} of {one.planned} in all" if one.in_all else f"{one.goal}{within}"
    goal = (
        f"{asked} need a share of {one.needed:.0%} for an even "
        f"chance, and the share so far gives a chance of {_percent(one.chance)}"
    )
    if one.chance < 0.5:
        return f"Give {name} more time: {hit}; {goal}."
    return f"{name} needs no more time for its goal: {hit}; {goal}."


def _ladder(ladder: LadderFigures) -> str:
    name = f"Ladder of {ladder.name} ({ladder.program})"
    needed = needed_share(ladder.up, ladder.planned, in_sets=ladder.in_sets)
    up, within = hits_of(*ladder.up, ladder.in_sets), plural(ladder.planned, "ball")
    if needed is None:
        return f"{name}: {up} do not fit into {within}."
    needs = f"{up} within {within} need a share of {needed:.0%} for an even chance"
    enough = [(label, count) for label in ladder.labels if (count := ladder.rungs.get(label)) and count.judged >= FEW]
    if not enough:
        return f"{name}: {needs}; no rung has {FEW} judged balls yet, so the rung hit half the time is unknown."
    rung = rung_hit_half(ladder, needed)
    shares = ", ".join(f"{label}: {_hit(count)}" for label, count in enough)
    if rung is None:
        return f"{name}: the rung hit half the time is below {enough[0][0]}: {needs}; {shares}."
    more = " or above" if rung == enough[-1][0] else ""
    return f"{name}: the rung hit half the time is {rung}{more}: {needs}; {shares}."


def rung_hit_half(ladder: LadderFigures, needed: float) -> str | None:
    """The highest rung such that it and every easier rung with enough balls reach the needed share."""
    held = None
    for label in ladder.labels:
        count = ladder.rungs.get(label)
        if count is None or count.judged < FEW:
            continue
        if count.share < needed:
            break
        held = label
    return held


def _hit(count: Count) -> str:
    low, high = wilson(count.hits, count.judged)
    return f"{count.hits} of {count.judged} ({count.share:.0%}, 95% interval {low:.0%} to {high:.0%})"


def _percent(chance: float) -> str:
    return "less than 0.1%" if chance < 0.001 else f"{chance:.1%}" if chance < 0.1 else f"{chance:.0%}"
