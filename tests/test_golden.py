"""What every shipped program comes to, as text that is read before it is accepted (`--update` rewrites it).

Numbers that the outside checks elsewhere stand here only so that a change in them is seen; they are rounded to what a
coach could notice, since the last digits of a float may differ from machine to machine.
"""

import json
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Block, Plan, Shot
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.report.render import human
from feedwright.compiler.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.feeders import ProfileShelf

from .test_clock_laws import check_tiles

FOLDER = Path(__file__).parent / "golden"
PROGRAMS = sorted((Path(__file__).parent.parent / "programs").glob("*.feed"))


@cache
def compiled(path: Path) -> Compiled:
    return compile_source(Source(path.name, path.read_text("utf-8")), ProfileShelf(), ScriptShelf(None))


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda p: p.stem)
def test_what_a_program_comes_to(path: Path, pytestconfig: pytest.Config) -> None:
    found = compiled(path)
    assert found.plan
    given = "\n".join([*_told(found.plan), "", human(list(found.findings))]).rstrip() + "\n"
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


# ---- every program, its session read once more


UNITS = {"s": 1.0, "min": 60.0}


def asked(path: Path) -> list[tuple[str, float | None]]:
    """The lines of a session with rounds unrolled, each with the seconds it asks for, None where it counts balls: read
    from the text by its words and indentation alone."""
    text = re.sub(r"\s#.*|^#.*", "", path.read_text("utf-8"), flags=re.M)
    amounts = dict(re.findall(r"^ +given +(\S+) +([\d.]+ \S+)", text, re.M))
    body = re.split(r"^session .*\n", text, flags=re.M)[1]
    found: list[tuple[int, str]] = []
    for line in body.splitlines():
        words = " ".join(line.split())
        if words and not re.match(r"(note|up|down)\b", words):
            found.append((len(line) - len(line.lstrip()), words))
    return unrolled(found, amounts)


def unrolled(lines: list[tuple[int, str]], amounts: dict[str, str]) -> list[tuple[str, float | None]]:
    made: list[tuple[str, float | None]] = []
    at = 0
    while at < len(lines):
        indent, words = lines[at]
        end = next((n for n in range(at + 1, len(lines)) if lines[n][0] <= indent), len(lines))
        if rounds := re.fullmatch(r"(\d+) rounds?", words):
            made += unrolled(lines[at + 1 : end], amounts) * int(rounds[1])
        else:
            timed = re.match(
                r"(?:rest |collect )?([\d.]+) (s|min)\b", re.sub(r"given (\S+)", lambda m: amounts[m[1]], words)
            )
            seconds = float(timed[1]) * UNITS[timed[2]] if timed else 120.0 if words == "collect" else None
            made.append((words, seconds))
        at = end
    return made


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda p: p.stem)
def test_a_program_lasts_what_its_session_says(path: Path) -> None:
    plan = json.loads(compiled(path).plan.model_dump_json())  # type: ignore[union-attr]
    check_tiles(plan)
    wanted = asked(path)
    assert [" ".join(block["words"].split()) for block in plan["blocks"]] == [words for words, _ in wanted]
    interval = {shot["id"]: shot["interval_s"] for shot in plan["shots"]}
    for i, (block, (words, seconds)) in enumerate(zip(plan["blocks"], wanted, strict=True)):
        mine = [ball for ball in plan["launches"] if ball["block"] == i]
        if seconds is None:
            balls = re.search(r"(\d+) balls?", words)
            assert balls and len(mine) == int(balls[1])
            end = mine[-1]["at_s"] + interval[mine[-1]["shot"] or mine[-1]["any_of"][0]]
        else:
            end = block["start_s"] + seconds
        assert block["end_s"] == pytest.approx(end, abs=2e-4)  # a plan tells seconds to 0.1 ms
