"""`feedwright log plan`: the next practice from what the log holds, with more of what is weak."""

import random
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.finding import Severity
from feedwright.grammar.parse import parse
from feedwright.grammar.print import text
from feedwright.grammar.source import Source
from feedwright.grammar.syntax import Sentence, sentences
from feedwright.programs import ScriptShelf
from feedwright.targets.log.next_session import MARK, _scaled
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.machine.feeders import ProfileShelf

from ..whole import WHOLE
from .plans import at

ROOT = Path(__file__).parents[2]
THREE = ROOT / "tests" / "programs" / "three-replies.feed"

pytestmark = pytest.mark.usefixtures("here")


def planned(path: Path) -> Plan:
    compiled = compile_source(Source(path.name, path.read_text("utf-8")), ProfileShelf(path.parent), ScriptShelf(None))
    assert compiled.plan is not None, compiled.findings
    assert not [f for f in compiled.findings if f.severity is not Severity.NOTE]
    return compiled.plan


def recorded(script: Path, shares: dict[str, float]) -> None:
    """The script's plan played once, each variation with its share of hits."""
    plan, chance = planned(script), random.Random(2)
    variations = {shot.id: shot.variation or "" for shot in plan.shots}
    with Recorder(plan, Path("practice.db")) as recorder:
        for number, launch in enumerate(plan.launches):
            hit = chance.random() < shares.get(variations[launch.first], 0.5)
            rung = 0 if launch.any_of else None
            recorder.ball(launch.block, launch.first, rung, at(number), Verdict.HIT if hit else Verdict.MISS)


def seconds(plan: Plan, variation: str) -> float:
    """The time of blocks of this variation alone."""
    shots = {shot.id for shot in plan.shots if shot.variation == variation}
    return sum(
        b.duration_s for b in plan.blocks if b.kind == "balls" and b.ladder is None and shots.issuperset(b.shots)
    )


def test_plan_gives_weak_variations_more_minutes_and_compiles(run) -> None:  # type: ignore[no-untyped-def]
    recorded(THREE, {"rally": 0.95, "lift": 0.2, "block": 0.95})
    code, out, _ = run("plan", THREE, "-o", "next.feed")
    assert (code, out) == (0, "wrote next.feed\n")
    before, after = planned(THREE), planned(Path("next.feed"))
    assert seconds(after, "lift") > 1.3 * seconds(before, "lift")
    for strong in ("rally", "block"):
        assert seconds(after, strong) < 0.8 * seconds(before, strong)
    # Three blocks rounded to half minutes: at most a quarter of a minute each.
    assert abs(after.totals.duration_s - before.totals.duration_s) <= 3 * 15 + 5
    text = Path("next.feed").read_text()
    assert text.startswith(MARK) and "lift:" in text and "weight 3.00" in text
    # Written anew over its own file, from its own file too; never over a script of the coach's.
    assert run("plan", "next.feed", "-o", "next.feed")[0] == 0
    assert Path("next.feed").read_text().count(MARK) == text.count(MARK)
    assert Path("next.feed").read_text().count("weak variations longer") == 1
    Path("own.feed").write_text(THREE.read_text("utf-8"))
    assert run("plan", "own.feed", "-o", "own.feed")[0] == 2


# One variation alone, rounds, a ladder; a basket, everything.
OTHERS = [next((ROOT / "programs").glob(f"{number}-*.feed")) for number in ("02", "04", "17", *("26", "99") * WHOLE)]


@pytest.mark.parametrize("script", OTHERS, ids=lambda path: path.stem)
def test_plan_compiles_for_other_shipped_programs(run, script: Path) -> None:  # type: ignore[no-untyped-def]
    names = sorted(v.id for v in planned(script).variations)
    recorded(script, {name: 0.97 if i % 2 else 0.1 for i, name in enumerate(names)})
    code, _, err = run("plan", script, "-o", "next.feed")
    if len(names) == 1:
        assert code == 2 and "only one variation" in err
        return
    assert code == 0, err
    planned(Path("next.feed"))


MIXED = """
feed step, like steady
    side      backhand wing
    pace      84 km/h
session "All mixed"
    2 rounds  # twice
        10 balls  mix steady, kicker, at most 2 alike
        rest      20 s
    ladder step, up to 20 balls, pace 84, 90 km/h
        up        5 in a row
        down      2 misses in 6
"""


@pytest.mark.parametrize(
    ("block", "factor", "then"),
    [
        ("4 min steady", 1.4, "5.5 min steady"), ("0.5 min steady", 0.2, "0.5 min steady"),
        ("40 s steady", 0.8, "30 s steady"), ("8 s steady", 0.2, "5 s steady"), ("3 s steady", 0.2, "3 s steady"),
        ("10 balls steady", 0.55, "6 balls steady"), ("1 balls steady", 0.2, "1 balls steady"),
    ],
)  # fmt: skip
def test_blocks_are_rounded_to_half_minutes_five_seconds_and_balls_and_none_is_lost(
    block: str, factor: float, then: str
) -> None:
    tree, _ = parse(Source("a.feed", f'session "x"\n    {block}\n'))
    ((_, said),) = sentences(tree.lines[0].children, Sentence)
    assert text(_scaled(said, {"steady": "rally"}, {"rally": factor})) == then


def test_where_everything_is_mixed_the_weakest_comes_once_more(run) -> None:  # type: ignore[no-untyped-def]
    text = THREE.read_text("utf-8")
    script = "\n".join(["accept feed-unused", "accept variation-unused", text[: text.index("session ")]]) + MIXED
    Path("mixed.feed").write_text(script)
    recorded(Path("mixed.feed"), {"rally": 0.95, "lift": 0.1})
    code, _, err = run("plan", "mixed.feed", "-o", "next.feed")
    assert code == 0, err
    after = planned(Path("next.feed"))
    assert after.blocks[-1].words.split() == ["2", "min", "kicker"] and after.blocks[-2].kind == "rest"
    assert [b.words for b in after.blocks[:-2]] == [b.words for b in planned(Path("mixed.feed")).blocks]
    code, out, _ = run("advice")
    assert code == 0 and "rung hit half the time" in out
