"""What every shipped program comes to, as text that is read before it is accepted (`--update` rewrites it).

Numbers that the outside checks elsewhere stand here only so that a change in them is seen; they are rounded to what a
coach could notice, since the last digits of a float may differ from machine to machine.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Block, Plan, Shot
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.report.render import human
from feedwright.compiler.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.feeders import ProfileShelf

FOLDER = Path(__file__).parent / "golden"
PROGRAMS = sorted((Path(__file__).parent.parent / "programs").glob("*.feed"))


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda p: p.stem)
def test_what_a_program_comes_to(path: Path, pytestconfig: pytest.Config) -> None:
    source = Source(path.name, path.read_text("utf-8"))
    compiled = compile_source(source, ProfileShelf(), ScriptShelf(None))
    assert compiled.plan
    given = "\n".join([*_told(compiled.plan), "", human(list(compiled.findings))]).rstrip() + "\n"
    golden = FOLDER / f"{path.stem}.txt"
    if pytestconfig.getoption("--update"):
        golden.write_text(given, "utf-8")
    assert golden.read_text("utf-8") == given, f"read the difference, then: pytest {Path(__file__).name} --update"


def _told(plan: Plan) -> Iterator[str]:
    total = plan.totals
    yield (
        f"{plan.program}: {total.balls} balls in {total.duration_s:.2f} s, {total.parts} parts, {total.distinct_shots} "
        f"distinct balls, {total.variety:.0%} differ from the one before"
    )
    yield from ("", f"{plan.feeder.title}, {plan.feeder.place_words}", "")
    for number, shot in enumerate(plan.shots, start=1):
        yield f"{number} {_flown(shot)}"
    yield ""
    numbers = {shot.id: number for number, shot in enumerate(plan.shots, start=1)}
    for block in plan.blocks:
        yield from _played(plan, block, numbers)


def _flown(shot: Shot) -> str:
    launch, seen = shot.launch, shot.predicted
    spin = f"spin {launch.topspin_rpm:.0f} {launch.sidespin_rpm:.0f}"
    over = "no net" if seen.net_clearance_m is None else f"over net {seen.net_clearance_m:.2f}"
    lands = "on the full" if seen.landing_m is None else "lands {:.2f} {:.2f}".format(*seen.landing_m)
    return (
        f"{shot.id} for {shot.variation}, every {shot.interval_s:g} s: {launch.speed_mps * 3.6:.1f} km/h, "
        f"{launch.elevation_deg:.1f}, {launch.azimuth_deg:.1f} deg, {spin}; {over}, {lands}, met at "
        f"{seen.contact_m[2]:.2f} m {seen.contact_phase} after {seen.contact_s:.2f} s"
    )


def _played(plan: Plan, block: Block, numbers: dict[str, int]) -> Iterator[str]:
    """From when to when, the part, the line of the script, and its balls by their numbers."""
    turn = f", round {block.round[0]} of {block.round[1]}" if block.round else ""
    yield f"{block.start_s:.2f} to {block.end_s:.2f}, part {block.part}{turn}: {' '.join(block.words.split())}"
    mine = [ball for ball in plan.launches if ball.block == block.index]
    if mine:
        fed = [str(numbers[ball.first]) for ball in mine if not ball.any_of]
        order = " ".join(fed) or f"{len(mine)} balls of {' '.join(str(numbers[shot]) for shot in block.shots)}"
        yield f"    {mine[0].at_s:.2f} to {mine[-1].at_s:.2f}: {order}"
