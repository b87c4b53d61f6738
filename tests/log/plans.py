"""A small plan of an invented club with a ladder at its end, and moments to record balls at."""

from datetime import UTC, datetime, timedelta

from feedwright.compiler.model.plan import Block, Ladder, LaunchTime, Plan

from ..targets.plans import make_plan, make_shot

LADDER, RUNGS = 8, ("steady rung 1", "steady rung 2", "steady rung 3")
START = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)


def climbing(program: str = "Baseline pairs", labels: tuple[str, ...] = ("80 km/h", "85 km/h", "90 km/h")) -> Plan:
    """`make_plan` and a block 8 after it: a ladder of up to 12 balls, up after 3 in a row, down after 2 misses in 4."""
    plan = make_plan(machine=False, program=program)
    rungs = tuple((rung,) for rung in RUNGS)
    ladder = Ladder(quantity="pace", rungs=rungs, labels=labels, up={"hits": 3, "among": 3}, down_misses=2, down_in=4)
    block = Block(
        index=LADDER, kind="balls", words="ladder steady, up to 12 balls, pace 80, 85, 90 km/h", part=1,
        start_s=164.0, end_s=212.0, balls=12, order="ladder", shots=RUNGS, round=None, notes=(), ladder=ladder,
    )  # fmt: skip
    launches = tuple(LaunchTime(at_s=164.0 + 4 * i, shot=None, block=LADDER, any_of=RUNGS) for i in range(12))
    shots = tuple(make_shot(False, id=name) for name in RUNGS)
    first, last = plan.parts
    more = {
        "blocks": (*plan.blocks, block), "parts": (first, last.model_copy(update={"end_s": 212.0})),
        "launches": plan.launches + launches, "shots": plan.shots + shots,
        "totals": plan.totals.model_copy(update={"balls": 32, "duration_s": 212.0}),
    }  # fmt: skip
    return plan.model_copy(update=more).sealed()


def at(seconds: float) -> datetime:
    return START + timedelta(seconds=seconds)
