"""One number or text of a plan changed and the digest computed anew: it is refused, or the same balls are launched at
the same times, or what is launched keeps every guarantee when an independent integrator flies it.

A small seeded share runs with the suite. FUZZ=10000 tries so many over all included programs, FUZZ_SEED=n starts
elsewhere:

    FUZZ=10000 pytest -s tests/test_verify_mutations.py
"""

import json
import os
from collections import Counter
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.trace import trajectories
from feedwright.targets.log.progress import Verdict
from feedwright.targets.log.record import Recorder
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.dry import dry_run
from feedwright.targets.machine.replay.picture import in_words, summary
from feedwright.targets.machine.replay.places import Ladders, arming, first_balls, places, shelf
from feedwright.targets.outputs import cues, table
from feedwright.targets.outputs.sheet import html, layout
from feedwright.targets.outputs.show import page, terminal

from .flown import broken
from .forged import PROGRAMS, Document, Place, at, changed, document, entry, judged, leaves, put

TRIES, SEED = int(os.environ.get("FUZZ", "0")), int(os.environ.get("FUZZ_SEED", "1"))
NAMES = [path.stem[:2] for path in PROGRAMS] if TRIES else ["02", "05", "06"]
WORLD = ("court", "ball", "air", "surface", "player")


def thrown(plan: Document) -> list[Any]:
    """Every ball that may be launched, with the moment."""
    shots = {shot["id"]: (shot["launch"], shot["settings"]) for shot in plan["shots"]}
    part = [block["part"] for block in plan["blocks"]]
    return [
        (ball["at_s"], part[ball["block"]], [shots[shot] for shot in ball["any_of"] or [ball["shot"]]])
        for ball in plan["launches"]
    ]


def entries_of(plan: Document) -> dict[str, list[Place]]:
    found: dict[str, list[Place]] = {}
    for place in leaves(plan):
        found.setdefault(entry(place), []).append(place)
    return found


@cache
def flies(text: str) -> tuple[str, ...]:
    world, shot = json.loads(text)
    return tuple(broken(world, shot))


def keeps_its_guarantees(plan: Document) -> None:
    """Of all balls that are launched: flown by the reference, and as far apart as the profile says."""
    feeder = ProfileShelf().load(plan["feeder"]["name"])
    assert feeder
    world = {name: plan[name] for name in WORLD}
    for shot in plan["shots"]:
        flown = {name: shot[name] for name in ("launch", "stance_y_m")}
        flown["predicted"] = {name: shot["predicted"][name] for name in ("landing_m", "bounces")}
        if flown["predicted"]["landing_m"]:
            flown["predicted"]["landing_m"] = True
        assert not flies(json.dumps([world, flown])), shot["id"]
        assert shot["interval_s"] >= feeder.least_interval_s - 1e-3
    for one, two in zip(plan["launches"], plan["launches"][1:], strict=False):
        assert two["at_s"] - one["at_s"] >= feeder.least_interval_s - 2e-3
        assert two["shot"] is None or two["shot"] in plan["blocks"][two["block"]]["shots"]


def readers(plan: Plan) -> None:
    """Whatever takes a plan that was read takes this one."""
    paths = trajectories(plan)
    assert table.render(plan) and html.render(layout.document(plan)) and page.render(plan, paths)
    assert terminal.render(plan, paths)
    if plan.totals.duration_s < 600 and all(ball.at_s < 600 for ball in plan.launches):
        cues.render(plan)


def plays(plan: Plan, folder: Path) -> None:
    """Whatever a replay asks of a plan that was found good has an answer, on every rung."""
    feeder, held = ProfileShelf().load(plan.feeder.name), shelf(plan)
    run = places(plan, feeder=feeder)
    if plan.feeder.kind == "person":
        return
    assert feeder and arming(run) and summary(held, run)
    list(dry_run(held, [("", first_balls(plan, feeder)), ("", run)], 10.0, feeder))
    with Recorder(plan, folder / "practice.db") as log:
        for block in plan.blocks:
            if block.ladder:
                log.starting_rung(block.index)
    ladders = Ladders(held)
    for number, place in enumerate(run):
        shot = ladders.choose(place)
        in_words(held, place, shot)
        ladders.mark(place, shot, Verdict.HIT if number % 7 > 1 else Verdict.MISS)


def test_one_change_is_refused_or_harmless(tmp_path: Path) -> None:
    told: Counter[str] = Counter()
    harmless: Counter[str] = Counter()
    tries = TRIES or 150
    for number, name in enumerate(NAMES):
        plan = document(name)
        entries, before = entries_of(plan), thrown(plan)
        keeps_its_guarantees(plan)
        for n in range(number, tries, len(NAMES)):
            chance = Random(SEED * 1_000_003 + n)
            place, was = changed(plan, chance, entries)
            try:
                taken, wrong = judged(plan)
                assert all(sentence and sentence.isprintable() for sentence in wrong)
                if taken and n % 97 == 0:  # a page takes a second
                    readers(taken)
                if wrong:
                    told["refused when read" if taken is None else "refused by verify"] += 1
                    continue
                harmless[entry(place)] += 1
                if n % 10 < 5:
                    plays(taken, tmp_path)  # type: ignore[arg-type]
                if thrown(plan) == before:
                    told["accepted, the same launches"] += 1
                else:
                    told["accepted, other launches"] += 1
                    told[f"    {entry(place)}"] += 1
                if not isinstance(was, str):
                    told["accepted, a number, flown"] += 1
                keeps_its_guarantees(plan)
            except BaseException as error:
                error.add_note(f"{name}, change {n}: {place} from {was!r} to {at(plan, place)!r}")
                raise
            finally:
                put(plan, place, was)
    assert told["refused when read"] > tries / 10 and told["refused by verify"] > tries / 10
    if TRIES:
        print(f"\n{tries} changes: " + "; ".join(f"{what}: {count}" for what, count in sorted(told.items())))
        print("let pass: " + ", ".join(f"{what} {count}" for what, count in harmless.most_common()))
