"""A replay takes a plan that was built without errors, and no plan that was forced past one: what requests drawn at
random come to, on every kind of feeder.

A few with every run; REQUESTS=5000 builds so many balls.
"""

from dataclasses import replace

import pytest

from feedwright.compiler.assemble import assemble
from feedwright.compiler.check import check
from feedwright.compiler.evaluate import evaluate
from feedwright.compiler.expand import expand
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.model.program import Play, Program
from feedwright.compiler.schedule import schedule
from feedwright.compiler.solve import solve
from feedwright.compiler.verify import verify
from feedwright.grammar.finding import Severity

from .requests import COURTS, PROFILES, SURFACES, drawn, program_of
from .test_possible import EACH, REQUESTS, SEED


def practice(program: Program, n: int, seed: int) -> Program:
    """One block that cycles through requests that the feeder can meet, and that nothing is said against as balls."""
    feeds = drawn(program, n, seed).feeds
    shots = solve(replace(program, feeds=feeds), feeds).shots
    feeds = {name: feeds[name] for name in shots}
    assert program.session
    (block,) = program.session.items
    assert isinstance(block, Play)
    balls = min(2 * len(feeds), program.feeder.hopper or 2 * len(feeds))
    cycle = replace(block, count=balls, order="cycle", shares=tuple((1, name) for name in feeds))
    families = {name: (name,) for name in feeds}
    return replace(program, feeds=feeds, families=families, session=replace(program.session, items=(cycle,)))


def built(program: Program) -> tuple[Plan | None, list[str]]:
    """The plan, unless an error speaks against a ball itself, and the errors: what follows too fast is judged again by
    whoever plays the plan."""
    sequence, _ = expand(program)
    assert sequence
    shots = solve(program, program.feeds)
    scheduled, _ = schedule(program, sequence, shots)
    evaluation = evaluate(program, shots, sample=False)
    told = check(program, shots, scheduled, evaluation, propose=False)
    errors = sorted({finding.code for finding in told if finding.severity is Severity.ERROR})
    slow = {"change-too-fast", "set-between-blocks", "interval-short", "set-once"}
    if set(errors) - slow:
        return None, errors
    return assemble(program, shots, scheduled, evaluation), errors


@pytest.mark.parametrize("profile", PROFILES)
def test_what_is_built_is_played(profile: str) -> None:
    plans = 0
    for k in range(max(REQUESTS // 7 // 40, 1)):
        court, surface = COURTS[(k + len(profile)) % 5], SURFACES[(k // 5 + len(profile)) % 5]
        program = practice(program_of(profile, court, surface), 40 if REQUESTS else 3 * EACH, SEED * 4000 + k)
        plan, errors = built(program)
        assert plan, errors
        plans += 1
        assert bool(verify(plan, program.feeder)) == bool(errors), (profile, court, surface, SEED * 4000 + k, errors)
    print(f"\nplans: {plans}")
