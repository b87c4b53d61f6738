"""The included programs: sound, complete in what they say of themselves, and in step with `list` and their page.

`pytest tests/test_library.py --update` writes programs/shelf.json and programs/README.md anew.
"""

import re
from collections import Counter
from collections.abc import Iterator
from math import prod
from pathlib import Path

import pytest

from feedwright.compiler.model.chance import chance_of_hits
from feedwright.compiler.model.feeder import AXES
from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import Compiled
from feedwright.compiler.report.render import short
from feedwright.grammar.finding import Severity
from feedwright.programs import shelf, shipped
from feedwright.targets.machine.feeders import ProfileShelf

from .shipped import FOLDER, OF_A_KIND
from .shipped import compiled as of_path
from .test_commands import COMMANDS

ROOT = Path(__file__).parent.parent
PAGE, DATA = ROOT / "programs" / "README.md", ROOT / "programs" / "shelf.json"
PROGRAMS = shipped()
APART = "99-every-construct.feed"
"""To look things up: a hotchpotch as a practice, and nobody's level."""
PRACTICES = [name for name in PROGRAMS if name != APART]
FEW_GOOD, FEW = 0.15, 0.5
"""A racket face that is a degree off at impact is common, and a ball of which every other one is not what was asked
practises something else: own choice, no source. Below, the script gives its reason."""
IN_REACH, SHORTEST_GOAL = 0.5, 3
"""A goal that is missed in most sessions tells a player nothing but that it was missed, and two hits in a row come by
luck: own choice, no source."""


def compiled(name: str) -> Compiled:
    return of_path(FOLDER / name)


def test_there_are_enough_to_choose_from() -> None:
    assert len(PRACTICES) >= 24


@pytest.mark.parametrize("name", PROGRAMS)
def test_every_program_compiles_without_a_warning(name: str) -> None:
    found = compiled(name)
    assert found.plan
    assert not [f for f in found.findings if f.severity is not Severity.NOTE], short(found.findings)


def kinds(plan: Plan) -> set[object]:
    """What other tests may depend on: feeder, court, surface, ball, player, air, and what the balls and blocks are."""
    court, player = plan.court, plan.player
    return {
        plan.feeder.name, court.name, plan.surface.name, plan.ball.name, player.hand, any(plan.air.wind_mps),
        (plan.feeder.how, plan.feeder.players_side), ("ceiling", court.ceiling_m is not None),
        ("bounces", player.two_bounces), ("line", player.in_line > 1),
        *(("order", block.order) for block in plan.blocks),
        *(("full", shot.predicted.landing_m is None) for shot in plan.shots),
    }  # fmt: skip


def test_no_kind_of_program_is_missing_among_those_of_a_kind() -> None:
    plans = {name: plan for name in PROGRAMS if (plan := compiled(name).plan)}
    chosen = [kinds(plans[path.name]) for path in OF_A_KIND]
    assert set().union(*map(kinds, plans.values())) == set().union(*chosen)


@pytest.mark.parametrize("name", PROGRAMS)
def test_every_program_says_what_it_is_for_whom_and_for_which_level(name: str) -> None:
    assert re.fullmatch(r"\d\d(-[a-z0-9]+)+\.feed", name)
    plan = compiled(name).plan
    assert plan
    entry = shelf.program(name, PROGRAMS[name], plan)
    assert re.fullmatch(r"[A-Z].{20,}\.", entry["about"]) and re.fullmatch(r"For .{10,}\.", entry["for"])
    assert entry["level"] in (shelf.LEVELS if name != APART else (None,))
    assert name == APART or plan.player.level == (entry["level"] or "").removesuffix(" player")


def reasons(name: str, feed: str) -> list[str]:
    """The comments above a feed's block and in it, in the program or in one that it uses."""
    texts = [PROGRAMS[name], *(PROGRAMS[used] for used in re.findall(r'^use "(.+)"', PROGRAMS[name], re.M))]
    blocks = (
        re.search(rf"((?:^#.*\n)*)^feed {re.escape(feed)}\b(?!-).*\n((?:(?:[ \t]+.*)?\n)*)", t, re.M) for t in texts
    )
    return [line.strip() for block in blocks if block for line in (block[1] + block[2]).splitlines() if "#" in line]


@pytest.mark.parametrize("name", PRACTICES)
def test_every_ball_is_likely_and_so_is_its_reply_or_the_script_says_why_not(name: str) -> None:
    plan = compiled(name).plan
    assert plan and plan.shots
    for shot in plan.shots:
        said = reasons(name, shot.feed)
        if shot.reply and shot.reply.share_good < FEW_GOOD:
            assert any(line.startswith("# Few good replies:") for line in said), (shot.id, shot.reply.share_good)
        if shot.spread and shot.spread.share_in_zone < FEW:
            assert any(line.startswith("# Few in the zone:") for line in said), (shot.id, shot.spread.share_in_zone)


@pytest.mark.parametrize("name", PRACTICES)
def test_every_goal_is_more_likely_met_than_missed_in_a_block_even_with_the_hardest_ball(name: str) -> None:
    """As the log counts: a streak ends with its block."""
    plan = compiled(name).plan
    assert plan
    variation_of = {shot.id: shot.variation for shot in plan.shots}
    balls = Counter((variation_of[launch.first], launch.block) for launch in plan.launches)
    for variation in plan.variations:
        shares = [shot.reply.share_good for shot in plan.shots if shot.reply and shot.variation == variation.id]
        if (goal := variation.goal) is not None:
            assert goal.hits >= SHORTEST_GOAL, variation.id
            blocks = [number for (name, _), number in balls.items() if name == variation.id]
            chance = 1 - prod(1 - chance_of_hits(goal.hits, goal.among, number, min(shares)) for number in blocks)
            assert chance >= IN_REACH, (variation.id, goal, blocks, min(shares), chance)
    for ahead in compiled(name).goals:
        assert ahead.chance is not None and ahead.chance >= IN_REACH, ahead


def test_a_reply_across_goes_to_the_other_side_and_one_down_the_line_to_the_same() -> None:
    """As coaches call it, common practice, no source. Of a ball from the middle neither can be said."""
    compared = []
    for name in PROGRAMS:
        program = compiled(name).program
        assert program
        for feed in program.feeds.values():
            asked = program.variations.get(feed.variation or "")
            if asked is None or asked.reply is None or asked.reply.x is None or abs(feed.side.aim) < 0.5:
                continue
            across = re.search(r"\bacross\b", asked.title)
            if across or re.search(r"\b(down the line|straight)\b", asked.title):
                same = feed.side.aim * (asked.reply.x.low + asked.reply.x.high) > 0
                assert same is not bool(across), (name, feed.name, asked.title)
                compared.append(asked.name)
    assert len(compared) > 20


def test_a_reason_is_found_above_a_feed_and_in_it(monkeypatch: pytest.MonkeyPatch) -> None:
    text = "# Few good replies: a\nfeed a\n    spin flat\n\nfeed a-b, like a\n    # Few in the zone: b\n    spin flat\n"
    monkeypatch.setitem(PROGRAMS, "x", text)
    assert reasons("x", "a") == ["# Few good replies: a"] and reasons("x", "a-b") == ["# Few in the zone: b"]


# ---- in step


def entries() -> Iterator[shelf.Program]:
    for name, text in PROGRAMS.items():
        plan = compiled(name).plan
        assert plan, name
        yield shelf.program(name, text, plan)


def test_the_kept_figures_and_the_page_are_in_step(pytestconfig: pytest.Config) -> None:
    profiles = [profile for name in ProfileShelf().names() if (profile := ProfileShelf().load(name))]
    found: shelf.Shelf = {"programs": list(entries()), "profiles": [shelf.profile(p, AXES) for p in profiles]}
    if pytestconfig.getoption("--update"):
        DATA.write_text(shelf.as_text(found), "utf-8")
        PAGE.write_text(shelf.page(found["programs"]), "utf-8")
    assert shelf.shelf() == found, f"pytest tests/{Path(__file__).name} --update"
    assert PAGE.read_text("utf-8") == shelf.page(found["programs"]), f"pytest tests/{Path(__file__).name} --update"


PAGES = [path for path in ROOT.rglob("*.md") if not any(part.startswith(".") for part in path.relative_to(ROOT).parts)]


@pytest.mark.parametrize("page", PAGES, ids=lambda path: str(path.relative_to(ROOT)))
def test_the_pages_name_only_programs_that_there_are(page: Path) -> None:
    text = page.read_text("utf-8")
    said = re.findall(r"(?<![\w#-])\d\d-[a-z]+(?:-[a-z0-9]+)+(?:\.feed)?|[\w-]+(?=\.feed\]?\()", text)
    assert {name.removesuffix(".feed") for name in said} <= {name.removesuffix(".feed") for name in PROGRAMS}


def test_the_help_names_only_programs_that_there_are() -> None:
    said = re.findall(r"--from ([\w-]+)|list (\d+)", " ".join(c for p in COMMANDS.values() for c, _ in p.examples))
    assert said and all(
        len(shelf.named(a or b, (name.removesuffix(".feed") for name in PROGRAMS))) == 1 for a, b in said
    )
