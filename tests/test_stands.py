"""A line under a feed, a block or rounds says where the feeder stands for it: the balls are those of a script whose
feeder stands there, and all that reads where it stands follows."""

import json
import re
from collections.abc import Iterator
from math import ceil, hypot
from typing import Any

import pytest

from feedwright.compiler import kept
from feedwright.compiler.compare import comparison
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.verdicts import rows
from feedwright.grammar.source import Source
from feedwright.targets.document import render
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.places import arming, first_balls, places
from feedwright.targets.outputs import cues
from feedwright.targets.outputs.court.pictures import pictures
from feedwright.targets.outputs.sheet import phone
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.stream import render as stream

from .flown import Reference, launched
from .forged import judged

BASELINE_M = 11.885  # from the net: ITF Rules of Tennis, Rule 1
HEAD = """program "From two places"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    {feeder}

accept zone-small
accept no-time-to-move
accept no-screen
accept feeder-in-the-way

variation long "long"
    reply     0 to 6 m inside baseline, at least 1 m over net

feed steady aims long
    side      forehand wing
    depth     1 to 4 m inside baseline
    stance    2 m behind baseline
    height    1.5 m over net
    spin      flat
    interval  4 s

feed waist aims long
    side      backhand wing
    depth     1 to 4 m inside baseline
    height    waist
    spin      topspin 300 rpm
    interval  4 s

"""
RACKET, CLUB = "person racket, on centre, on baseline", "machine club, on centre, on baseline"
NEAR = "2 m left of centre, 1 m behind service line"


def compiled(session: str, feeder: str = RACKET, feeds: str = "") -> Compiled:
    text = f'{HEAD.format(feeder=feeder)}{feeds}session "Two places"\n{session}'
    return compile_source(Source("places.feed", text), ProfileShelf(), remedies=False)


def plan_of(session: str, feeder: str = RACKET, feeds: str = "") -> Any:
    found = compiled(session, feeder, feeds)
    assert found.plan, [finding.headline for finding in found.findings]
    return found.plan


@pytest.fixture(autouse=True)
def cold() -> Iterator[None]:
    kept.forget()
    yield
    kept.forget()


def ball(plan: Any, name: str) -> dict[str, Any]:
    """What a plan says of a ball, without its names."""
    found: dict[str, Any] = next(shot for shot in plan.shots if shot.id == name).data()
    told = ("settings", "launch", "order", "predicted", "spread", "reply", "zone_m", "stance_y_m")
    return {entry: found[entry] for entry in told}


@pytest.mark.parametrize("feeder", [RACKET, CLUB])
@pytest.mark.parametrize("name", ["steady", "waist"])
def test_two_scripts_of_one_place_give_the_balls_of_one_script_of_two(feeder: str, name: str) -> None:
    """Bit for bit, whether the block or the feed says the place, and of a ball whose stance is left open."""
    alone = f"    8 balls   {name}\n"
    here = plan_of(alone, feeder)
    there = plan_of(alone, f"{' '.join(feeder.split()[:2])} {NEAR}")
    both = plan_of(f"{alone}{alone}        feeder    {NEAR}\n", feeder)
    feed = f"feed near, like {name}\n    feeder    {NEAR}\n\n"
    own = plan_of(f"{alone}    8 balls   near\n", feeder, feed)
    around = plan_of(f"{alone}    1 rounds\n        feeder    {NEAR}\n    {alone}", feeder)
    assert ball(both, name) == ball(own, name) == ball(around, name) == ball(here, name)
    moved = f"{name} fed {NEAR}"
    assert ball(both, moved) == ball(own, "near") == ball(around, moved) == ball(there, name)
    assert ball(both, moved) != ball(both, name)


def test_balls_from_either_place_fly_as_the_plan_says() -> None:
    """By the reference of flown.py, an integrator and a force law of others: within 5 mm, as elsewhere."""
    plan = json.loads(render(plan_of(f"    4 balls   steady\n    4 balls   steady\n        feeder    {NEAR}\n")))
    for shot, (x, from_net) in zip(plan["shots"], ((0.0, BASELINE_M), (2.0, 6.4 + 1.0)), strict=True):
        assert shot["launch"]["origin_m"][:2] == [x, -from_net]
        reference = Reference(plan)
        start, spin = launched(shot["launch"])
        landed = reference.fly(start, spin, reference.radius).y[:2, -1].tolist()
        assert landed == pytest.approx(shot["predicted"]["landing_m"], abs=5e-3)


def test_what_a_line_does_not_say_is_as_in_the_head_but_for_the_screen() -> None:
    feeder = "person racket, 1 m right of centre, on baseline, lets go at 1.2 m, behind a screen"
    session = (
        "    4 balls   steady\n        feeder    3 m from net\n    4 balls   steady\n        feeder    lets go at 2 m\n"
    )
    plan = plan_of(session, feeder)
    first, (second,) = plan.feeder, plan.feeder.elsewhere
    assert (first.place_m, first.release_height_m, first.screen) == ((-1.0, -3.0), 1.2, False)
    assert (second.place_m, second.release_height_m, second.screen) == ((-1.0, -BASELINE_M), 2.0, False)
    assert first.place_words == "3 m from net, 1 m right of centre, lets go at 1.2 m"


def test_a_ladder_a_family_and_named_players_are_fed_from_there() -> None:
    family = "feed two, like steady\n    pace      60, 65 km/h\n\n"
    ladder = "    ladder    steady, up to 8 balls, pace 60, 65 km/h\n        up        3 in a row\n"
    ladder += f"        feeder    {NEAR}\n"
    plan = plan_of(f"{ladder}    8 balls   two\n        feeder    {NEAR}\n", feeds=family)
    assert {shot.launch.origin_m[:2] for shot in plan.shots} == {(2.0, -7.4)} and len(plan.shots) == 4
    players = "player    called ann, right-handed, 1.75 m tall\n    player    called ben, left-handed, 1.85 m tall"
    two = f"{players}\n    rotation  changing every 2 balls"
    text = HEAD.replace("player    right-handed, 1.75 m tall", two)
    session = f'session "Pair"\n    8 balls   steady\n        feeder    {NEAR}\n'
    pair = compile_source(Source("p.feed", text.format(feeder=RACKET) + session), ProfileShelf(), remedies=False).plan
    assert pair and {shot.player for shot in pair.shots} == {"ann", "ben"}
    assert {shot.launch.origin_m[:2] for shot in pair.shots} == {(2.0, -7.4)}


def test_a_ball_of_another_feed_comes_from_where_that_one_does() -> None:
    feeds = f"feed near, like steady\n    feeder    {NEAR}\n\nfeed later, like near\n    ball      same as near\n"
    feeds += "    stance    1 m behind baseline\n\n"
    plan = plan_of("    8 balls   cycle near, later\n", feeds=feeds)
    one, two = plan.shots
    assert one.launch == two.launch and one.launch.origin_m[:2] == (2.0, -7.4)


def test_a_place_from_which_no_block_is_fed_refuses_nothing() -> None:
    """Where the head stands the machine reaches nobody, but it is always pushed nearer."""
    head, near = "machine club, on centre, 20 m behind baseline", "        feeder    on baseline, behind a screen\n"
    far = compiled("    4 balls   cycle steady, waist\n", head)
    assert far.plan is None and "out-of-reach" in {finding.code for finding in far.findings}
    assert plan_of(f"    4 balls   cycle steady, waist\n{near}", head).feeder.place_m == (0.0, -BASELINE_M)


def test_a_comparison_takes_the_balls_that_are_played() -> None:
    session = "    4 balls   steady\n        feeder    {}\n"
    one, two = (compiled(session.format(place)) for place in (NEAR, "3 m left of centre, 1 m behind service line"))
    (change,) = comparison(one, two).balls
    pace = next(found for found in change.changes if found.figure.name == "pace")
    speeds = [found.plan.shots[0].launch.speed_mps for found in (one, two) if found.plan]
    assert [pace.first and pace.first.high, pace.second and pace.second.low] == pytest.approx(speeds, abs=1e-5)


def test_a_warm_run_is_a_cold_one() -> None:
    """To the last bit, whichever place was asked for before."""
    sessions = [
        f"    4 balls   steady\n    4 balls   {name}\n        feeder    {place}\n"
        for name in ("steady", "waist") for place in (NEAR, "1 m right of centre", "lets go at 1.5 m", "on baseline")
    ]  # fmt: skip
    warm = [render(plan_of(session)) for session in (*sessions, *reversed(sessions))]
    for session, found in zip((*sessions, *reversed(sessions)), warm, strict=True):
        kept.forget()
        assert render(plan_of(session)) == found


WALKS = [
    ("3 m from net", 0.0, BASELINE_M - 3.0),
    ("4 m left of centre", 4.0, 0.0),
    ("4 m right of centre, 3 m from net", 4.0, BASELINE_M - 3.0),
]


@pytest.mark.parametrize(("place", "across", "along"), WALKS)
def test_a_walk_takes_as_long_as_adults_need(place: str, across: float, along: float) -> None:
    """At 1.2 m/s, below the 1.3 to 1.5 m/s of adults (Bohannon 1997), and five seconds, our own choice, in steps of
    five."""
    needed = ceil((hypot(across, along) / 1.2 + 5) / 5) * 5
    for rest, told in ((needed - 5, True), (needed - 4, False)):  # the launches are an interval of 4 s farther apart
        found = compiled(
            f"    4 balls   steady\n    rest      {rest} s\n    4 balls   steady\n        feeder    {place}\n".replace(
                "    rest      0 s\n", ""
            )
        )
        codes = [finding.code for finding in (*found.findings, *found.accepted)]
        assert ("no-time-to-move" in codes) is told, (place, rest)


def test_the_way_to_the_other_side_of_the_net_leads_round_a_post() -> None:
    """Posts stand 0.914 m outside the doubles line, which is 5.485 m from the centre (ITF Rules of Tennis, Rule 1); the
    way leads half a metre beside them, our own choice."""
    text = """program "By hand"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    person basket, on centre, 3 m from net, behind a screen
feed over
    side      middle
    depth     2 to 5 m from net
    stance    6 m from net
    height    1 m over net
    spin      flat
    interval  5 s
feed here
    feeder    on the player's side, 2 m left of centre, 4 m from net, behind a screen
    side      middle
    depth     0 to 3 m behind service line
    stance    10 m from net
    time      1.2 s to contact
    spin      flat
    interval  5 s
session "By hand"
    4 balls   over
    4 balls   here
"""
    found = compile_source(Source("hand.feed", text), ProfileShelf(), remedies=False)
    (told,) = [finding.message for finding in found.findings if finding.code == "no-time-to-move"]
    beside = 5.485 + 0.914 + 0.5
    way = hypot(beside, 3.0) + hypot(beside - 2.0, 4.0)
    assert float(told.far) == pytest.approx(way, abs=0.01) and float(told.needed) == 20.0  # 14 m, 11.5 s and 5 s
    assert found.plan and [one.players_side for one in (found.plan.feeder, *found.plan.feeder.elsewhere)] == [
        False,
        True,
    ]


MOVES = """    4 balls   steady
    4 balls   steady
        feeder    2 m left of centre, behind a screen
    rest      20 s
    4 balls   steady
        feeder    2 m left of centre, behind a screen
    rest      20 s
    4 balls   steady
        feeder    2 m right of centre, raised to 1 m, behind a screen
"""


def test_a_machine_that_is_moved_is_armed_anew_and_the_code_confirms_where_it_stands() -> None:
    plan = plan_of(MOVES, CLUB)
    feeder = ProfileShelf().load("club")
    assert feeder
    rest, armed = places(plan, feeder=feeder), []
    while rest:
        covered = arming(rest)
        armed.append(covered)
        rest = rest[len(covered) :]
    of = {shot.id: shot for shot in plan.shots}
    stood = [{of[name].launch.origin_m for place in covered for name in place.shots} for covered in armed]
    assert [len(covered) for covered in armed] == [4, 8, 4] and all(len(origins) == 1 for origins in stood)
    assert [covered[0].by_hand for covered in armed] == [
        "the machine on baseline, on the middle",
        "the machine on baseline, 2 m right of middle",  # as who looks at the player sees it
        "the machine on baseline, 2 m left of middle, balls leave 1 m above the ground",
    ]
    assert [part.index for part in plan.parts] == [0, 1, 2]
    assert [place.number for place in first_balls(plan, feeder)] == [1, 2, 3]
    assert [place.number for place in first_balls(plan, feeder, first=7)] == [7, 8, 9]
    assert re.findall(r"^# .*\npart n=.*", stream(plan).decode(), re.M) == [
        "# on centre, on baseline\npart n=0 balls=4",
        "# 2 m left of centre, on baseline, behind a screen\npart n=1 balls=8",
        "# 2 m right of centre, raised to 1 m, on baseline, behind a screen\npart n=2 balls=4",
    ]


def test_a_person_who_walks_arms_nothing() -> None:
    assert len(plan_of(MOVES.replace(", raised to 1 m", "")).parts) == 1


def test_a_plan_that_lies_about_a_place_is_refused() -> None:
    document = json.loads(render(plan_of(MOVES, CLUB)))
    assert judged(document)[1] == []
    for change in (
        lambda plan: plan["shots"][1].update(fed_from=0),
        lambda plan: plan["shots"][1].update(fed_from=3),
        lambda plan: plan["feeder"]["elsewhere"][0].update(place_m=[1.0, -BASELINE_M]),
        lambda plan: plan["feeder"]["elsewhere"][0].update(players_side=True),
        lambda plan: plan["feeder"]["elsewhere"][1].update(release_height_m=3.6),
        lambda plan: [block.update(part=0) for block in plan["blocks"][:2]],
    ):
        forged = json.loads(json.dumps(document))
        change(forged)
        refused, wrong = judged(forged)
        assert refused or wrong


def test_paper_picture_and_table_follow() -> None:
    found = compiled(f"    4 balls   steady\n    rest      20 s\n    4 balls   steady\n        feeder    {NEAR}\n")
    plan = found.plan
    assert plan
    named = letters(plan)
    assert [named.of[shot.id] for shot in plan.shots] == ["A1", "A2"]
    assert [one.letter for one in rows(found)] == ["A1", "A2"]
    told = [picture.fed_from for picture in pictures(plan, named)]
    assert told == [0, 1]
    data = sheet(plan)
    (stand,) = [text for label, text in data.front.facts if label == "You stand"]
    assert stand == "; ".join(
        (
            "A1: on baseline, on the middle, across the net",
            "A2: 1 m past service line, 2 m right of middle, across the net",
        )
    )
    steps = [step for part in data.parts for turn in part.rounds for step in turn.steps]
    assert [step.notes[0] for step in steps] == [
        "Stand on baseline, on the middle.", "Go to 1 m past service line, 2 m right of middle.",
        "Stand 1 m past service line, 2 m right of middle.",
    ]  # fmt: skip
    goes = ["Rest 20 s", "Go to 1 m past service line, 2 m right of middle."]
    assert (
        f'"big":"Rest","where":"Block 1, 0:16","lines":{json.dumps(goes, separators=(",", ":"))}'
        in phone.render(plan).decode()
    )
    assert cues.words(plan) == ("A1", "A2", "move", "change")


def test_a_person_has_a_letter_for_each_place_though_the_ball_is_alike() -> None:
    """What a person feeds alike has one letter, but not from two places."""
    plan = plan_of("    4 balls   steady\n    4 balls   steady\n        feeder    1.5 m left of centre\n")
    one, two = plan.shots
    assert abs(one.launch.speed_mps - two.launch.speed_mps) < 2.5 and len(set(letters(plan).of.values())) == 2
