"""Every shipped program through every stage, as text that is read before it is accepted (`--update` rewrites it).

Numbers that the outside checks elsewhere stand here only so that a change in them is seen; they are rounded to what a
coach could notice, since the last digits of a float may differ from machine to machine.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from feedwright.compiler.aim import aim
from feedwright.compiler.check import check
from feedwright.compiler.expand import expand
from feedwright.compiler.include import include
from feedwright.compiler.judge import judge
from feedwright.compiler.model.program import Program
from feedwright.compiler.model.schedule import Schedule, Sequence
from feedwright.compiler.model.shots import Shots
from feedwright.compiler.pace import pace
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.report.render import human, ordered
from feedwright.compiler.resolve import resolve
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.grammar.units import DEG, RPM
from feedwright.programs import ScriptShelf
from feedwright.targets import TARGETS
from feedwright.targets.feeders import ProfileShelf

FOLDER = Path(__file__).parent / "golden"
PROGRAMS = sorted((Path(__file__).parent.parent / "programs").glob("*.feed"))


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda p: p.stem)
def test_every_stage_of_every_program(path: Path, pytestconfig: pytest.Config) -> None:
    given = "\n".join(_stages(Source(path.name, path.read_text("utf-8")))) + "\n"
    golden = FOLDER / f"{path.stem}.txt"
    if pytestconfig.getoption("--update"):
        FOLDER.mkdir(exist_ok=True)
        golden.write_text(given, "utf-8")
    assert golden.read_text("utf-8") == given, f"read the difference, then: pytest {Path(__file__).name} --update"


def _stages(source: Source) -> Iterator[str]:
    tree, faults = parse(source)
    assert not faults
    tree, slips, _ = include(tree, ScriptShelf(None))
    program, more = resolve(tree, ProfileShelf(), {})
    assert program
    yield from ("## program", *_program(program))
    sequence, told = expand(program)
    assert sequence
    yield from ("## sequence", *_sequence(sequence))
    shots = aim(program, program.feeds)
    yield from ("## shots", *_shots(shots))
    schedule = pace(program, sequence, shots)
    yield from ("## schedule", *_schedule(schedule))
    judgement = judge(program, shots, sample=False)
    found = ordered(slips + more + told + check(program, shots, schedule, judgement))
    yield from ("## findings", human([f for f in found if f.code not in program.allowed]))
    plan = compile_source(source, ProfileShelf(), ScriptShelf(None)).plan
    assert plan
    yield from (
        "## plan",
        f"totals {plan.totals.model_dump()}",
        f"feeder {plan.feeder.title}, {plan.feeder.place_words}",
    )
    for name, target in TARGETS.items():
        if plan.feeder.kind in target.kinds and name in ("table", "stream"):
            lines = target.render(plan).decode().splitlines()
            yield from (f"## {name}: {len(lines)} lines", *(_timeless(line) for line in lines[:14]))


def _program(program: Program) -> Iterator[str]:
    for feed in program.feeds.values():
        depth = f"{feed.depth.low:.2f}..{feed.depth.high:.2f} at {feed.depth.aim:.2f}" if feed.depth else "on the full"
        yield (
            f"{feed.name} ({feed.variation}): side {feed.side.low:.2f}..{feed.side.high:.2f}, depth {depth}, stance "
            f"{feed.stance:.2f}, {feed.aim.value} {feed.value:.2f} {feed.phase or ''}, spin {feed.topspin / RPM:.0f} "
            f"{feed.sidespin / RPM:.0f}, every {feed.interval:g}"
        )


def _sequence(sequence: Sequence) -> Iterator[str]:
    for block in sequence.blocks:
        drawn = " ".join(map(str, block.draws.tolist()))
        yield f"{block.kind} {block.words}{f' round {block.round.number}' if block.round else ''}: {drawn}"


def _shots(shots: Shots) -> Iterator[str]:
    assert not shots.misses
    for shot in shots.shots.values():
        flown = shot.predicted
        launch = f"{shot.speed * 3.6:.1f} km/h, {shot.elevation / DEG:.1f}, {shot.azimuth / DEG:.1f} deg"
        over = "no net" if flown.clearance is None else f"over net {flown.clearance:.2f}"
        lands = "on the full" if flown.landing is None else "lands {:.2f} {:.2f}".format(*flown.landing)
        met = f"met at {flown.contact[2]:.2f} m {flown.phase} after {flown.contact_time:.2f} s"
        yield f"{shot.feed}: {launch}; {over}, {lands}, {met}"


def _schedule(schedule: Schedule) -> Iterator[str]:
    for i, block in enumerate(schedule.sequence.blocks):
        at = schedule.at[schedule.block == i]
        times = f", launches {at[0]:.2f} to {at[-1]:.2f}" if len(at) else ""
        span = f"{schedule.start[i]:.2f} for {schedule.duration[i]:.2f}, stretch {schedule.stretch_of_block[i]}"
        yield f"{span}: {block.words}{times}"


def _timeless(line: str) -> str:
    """Without the digest, which holds every digit."""
    return re.sub(r"[0-9a-f]{64}", "(digest)", line)
