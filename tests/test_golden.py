"""What every shipped program comes to, as text that is read before it is accepted (`--update` rewrites it).

Of each program the blocks with their seconds, each ball in a line and the findings; of a few that differ most, DEEPER,
also what was asked, the order of the balls and the head of each output. Numbers that the outside checks elsewhere stand
here only so that a change in them is seen; they are rounded to what a coach could notice, since the last digits of a
float may differ from machine to machine.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan, Shot
from feedwright.compiler.model.program import Program
from feedwright.compiler.report.render import human
from feedwright.grammar.units import RPM
from feedwright.targets import TARGETS

from .shipped import PROGRAMS, compiled
from .test_clock_laws import check_tiles

FOLDER = Path(__file__).parent / "golden"
DEEPER = ("02", "03", "05", "16", "23")
"""A machine, hands, dials, a ladder, two bounces."""
ORDER = 24
"""So many balls of a block tell its order."""
HEAD = 8


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda p: p.stem)
def test_what_every_program_comes_to(path: Path, pytestconfig: pytest.Config) -> None:
    given = "\n".join(_told(path, path.stem[:2] in DEEPER)) + "\n"
    golden = FOLDER / f"{path.stem}.txt"
    if pytestconfig.getoption("--update"):
        golden.write_text(given, "utf-8")
    assert golden.read_text("utf-8") == given, f"read the difference, then: pytest tests/{Path(__file__).name} --update"


def _told(path: Path, deeper: bool) -> Iterator[str]:
    found = compiled(path)
    plan, program = found.plan, found.program
    assert plan and program
    totals = plan.totals
    yield f"{totals.balls} balls in {totals.duration_s:.1f} s, {totals.distinct_shots} distinct, by {plan.feeder.title}"
    if deeper:
        yield from ("", "## asked", *_asked(program))
    yield from ("", "## blocks", *_blocks(plan, deeper))
    yield from ("", "## balls", *map(_ball, plan.shots))
    if found.findings:
        yield from ("", "## findings", human(found.findings).rstrip())
    for name, target in TARGETS.items():
        if deeper and plan.feeder.kind in target.kinds and name in ("table", "stream"):
            lines = target.render(plan).decode().splitlines()
            yield from ("", f"## {name}: {len(lines)} lines", *(_timeless(line) for line in lines[:HEAD]))


def _asked(program: Program) -> Iterator[str]:
    for feed in program.feeds.values():
        depth = f"{feed.depth.low:.2f}..{feed.depth.high:.2f} at {feed.depth.aim:.2f}" if feed.depth else "on the full"
        yield (
            f"{feed.name} ({feed.variation}): side {feed.side.low:.2f}..{feed.side.high:.2f}, depth {depth}, stance "
            f"{feed.stance:.2f}, {feed.fixed_by.value} {feed.value:.2f} {feed.phase or ''}, spin "
            f"{feed.topspin / RPM:.0f} {feed.sidespin / RPM:.0f}, every {feed.interval:g}"
        )


def _blocks(plan: Plan, deeper: bool) -> Iterator[str]:
    for block in plan.blocks:
        launches = [launch for launch in plan.launches if launch.block == block.index]
        times = f"; {len(launches)} balls at {launches[0].at_s:.2f} to {launches[-1].at_s:.2f}" if launches else ""
        yield f"{block.start_s:.2f} for {block.duration_s:.2f}: {block.words}{times}"
        if deeper and len({launch.first for launch in launches}) > 1:
            yield "  " + " ".join(launch.first for launch in launches[:ORDER])


def _ball(shot: Shot) -> str:
    flown, launch = shot.predicted, shot.launch
    over = "no net" if flown.net_clearance_m is None else f"over net {flown.net_clearance_m:.2f}"
    lands = "on the full" if flown.landing_m is None else "lands {:.2f} {:.2f}".format(*flown.landing_m)
    azimuth = round(launch.azimuth_deg, 1) + 0.0  # which makes no difference of 0 and -0
    return (
        f"{shot.id}: {launch.speed_mps * 3.6:.1f} km/h, {launch.elevation_deg:.1f}, {azimuth:.1f} deg; "
        f"{over}, {lands}, met at {flown.contact_m[2]:.2f} m {flown.contact_phase} after {flown.contact_s:.2f} s"
    )


def _timeless(line: str) -> str:
    """Without the digest, which holds every digit."""
    return re.sub(r"[0-9a-f]{64}", "(digest)", line)


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
        if words and not re.match(r"(note|up|down|goal)\b|collect .*when empty", words):
            found.append((len(line) - len(line.lstrip()), words))
    return unrolled(found, amounts)


def unrolled(lines: list[tuple[int, str]], amounts: dict[str, str]) -> list[tuple[str, float | None]]:
    made: list[tuple[str, float | None]] = []
    at = 0
    while at < len(lines):
        indent, words = lines[at]
        end = next((n for n in range(at + 1, len(lines)) if lines[n][0] <= indent), len(lines))
        if rounds := re.fullmatch(r"(\d+) rounds?", words):
            each, last = unrolled(lines[at + 1 : end], amounts), int(rounds[1]) - 1
            made += each * last + [one for one in each if not one[0].endswith("between rounds")]
        elif words.startswith("for "):
            made += [(f"{said} {words}", seconds) for said, seconds in unrolled(lines[at + 1 : end], amounts)]
        else:
            timed = re.match(
                r"(?:rest |collect )?([\d.]+) (s|min)\b", re.sub(r"given (\S+)", lambda m: amounts[m[1]], words)
            )
            seconds = float(timed[1]) * UNITS[timed[2]] if timed else 120.0 if words == "collect" else None
            if serves := re.match(r"(\d+) serves,? every ([\d.]+) s", words):
                seconds = int(serves[1]) * float(serves[2])
            under = [
                " ".join(said.split())
                for _, said in lines[at + 1 : end]
                if re.match(r"(first to|interval|rest\b.*\bafter every)\b", said)
            ]
            made.append((", ".join((words, *under)), seconds))
        at = end
    return made


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda p: p.stem)
def test_a_program_lasts_what_its_session_says(path: Path) -> None:
    plan = compiled(path).plan.data()  # type: ignore[union-attr]
    check_tiles(plan)
    wanted = asked(path)
    assert [" ".join(block["words"].split()) for block in plan["blocks"]] == [words for words, _ in wanted]
    interval = {shot["id"]: shot["interval_s"] for shot in plan["shots"]}
    for i, (block, (words, seconds)) in enumerate(zip(plan["blocks"], wanted, strict=True)):
        mine = [ball for ball in plan["launches"] if ball["block"] == i]
        if seconds is None:
            counted = re.search(r"(\d+) (ball|point)s?", words)
            assert counted and len(block["points"] if counted[2] == "point" else mine) == int(counted[1])
            last = interval[mine[-1]["shot"] or mine[-1]["any_of"][0]]
            if any(point["after_miss"] == "from the start" for point in block["points"]):  # evenly
                last = mine[1]["at_s"] - mine[0]["at_s"]
            end = mine[-1]["at_s"] + last
        else:
            end = block["start_s"] + seconds
        assert block["end_s"] == pytest.approx(end, abs=2e-4)  # a plan tells seconds to 0.1 ms
