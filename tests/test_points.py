"""Points and serves, from the script to the plan: what is played when, and that nothing unchecked can follow a miss."""

import json
from collections import Counter
from functools import cache
from itertools import pairwise
from math import hypot
from typing import Any

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.verify import verify
from feedwright.grammar.source import Source
from feedwright.targets.document import PlanRefused, read, render
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs import cues
from feedwright.targets.outputs.sheet import words
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.phone import render as phone

from . import shipped

BALLS = """\
program "Points at Brackenmoor"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine {machine}, on centre, on baseline, behind a screen

feed slow
    side      middle
    depth     1 to 4 m inside baseline
    stance    4 m behind baseline
    pace      67 km/h
    spin      topspin 600 rpm
    interval  {interval}

feed middling, like slow
    pace      {middling}

feed fast, like slow
    pace      108 km/h

"""


@cache
def compiled(rest: str, machine: str = "academy", interval: str = "4 s", middling: str = "76 km/h") -> Compiled:
    text = BALLS.format(machine=machine, interval=interval, middling=middling) + rest
    return compile_source(Source("points.feed", text), ProfileShelf(), plan=True)


def plan_of(rest: str, **more: str) -> Plan:
    found = compiled(rest, **more)
    assert found.plan, [finding.headline for finding in found.findings]
    return found.plan


RUSH = "point rush\n    plays slow, then middling, then fast\n"
AGAIN = RUSH + "    if missed, from the start\n"
SAID = "Point served: serve at the bell or call; 1.5 s after it A, then B."
SERVED = "point served\n    player serves, then 1.5 s\n    plays slow, then fast\n"


def shots(plan: Plan, block: int = 0) -> list[str]:
    return [ball.first for ball in plan.launches if ball.block == block]


def times(plan: Plan, block: int = 0) -> list[float]:
    return [ball.at_s for ball in plan.launches if ball.block == block]


def test_a_point_counts_as_one_and_its_balls_come_in_their_order() -> None:
    plan = plan_of(RUSH + 'session "s"\n    3 points rush\n')
    assert shots(plan) == ["slow", "middling", "fast"] * 3 and times(plan) == [4.0 * n for n in range(9)]
    assert [point.name for point in plan.blocks[0].points] == ["rush"] * 3
    assert (plan.totals.balls, plan.totals.points) == (9, 3)
    assert all(not ball.any_of for ball in plan.launches)


def test_the_families_of_a_point_do_not_go_in_step() -> None:
    """Two families of two: after either first ball either second one comes, in shares that hardly differ."""
    families = "feed opener, like slow\n    side left wing, right wing\n\n"
    families += "feed closer, like opener\n    pace 76 km/h\n\n"
    plan = plan_of(families + 'point pair\n    plays opener, then closer\n\nsession "s"\n    60 points pair\n')
    pairs = Counter(zip(shots(plan)[::2], shots(plan)[1::2], strict=True))
    assert len(pairs) == 4 and min(pairs.values()) >= 8
    assert Counter(shots(plan)[::2]) == {"opener 1": 30, "opener 2": 30}
    assert Counter(shots(plan)[1::2]) == {"closer 1": 30, "closer 2": 30}


def test_a_short_interval_inside_a_point_is_kept_unless_the_point_begins_again() -> None:
    """After a miss the first ball may come where the second was due; it needs its longer interval."""
    quick = "feed quick, like fast\n    interval 2.5 s\n"
    inside = quick + "point pair\n    plays slow, then quick\n"
    session = 'session "s"\n    3 points pair\n'
    assert times(plan_of(inside + session, interval="6 s")) == [0, 2.5, 8.5, 11, 17, 19.5]
    again = inside + "    if missed, from the start\n" + session
    assert times(plan_of(again, interval="6 s")) == [0, 6, 12, 18, 24, 30]
    assert "point-slower" in [finding.code for finding in compiled(again, interval="6 s").findings]


def test_a_game_is_told_to_every_reader_of_the_plan() -> None:
    plan = plan_of(RUSH + 'session "s"\n    3 points rush\n        first to 2\n    2 points rush\n')
    assert [(block.first_to, block.words) for block in plan.blocks] == [
        (2, "3 points rush, first to 2"),
        (None, "2 points rush"),
    ]
    told = sheet(plan).parts
    rules = [(row.rule, row.boxes, row.counted) for part in told for row in part.points if row.name == "game"]
    assert rules == [("Game: as soon as 2 are won or lost, go on with what comes next.", 2, "lost")]
    assert [row.counted for part in told for row in part.points if row.name == "rush"] == ["won of 3", "won of 2"]


def test_each_game_of_some_rounds_has_boxes_of_its_own() -> None:
    plan = plan_of(RUSH + 'session "s"\n    2 rounds\n        3 points rush\n            first to 2\n')
    (part,) = sheet(plan).parts
    assert [(row.name, row.boxes, row.counted) for row in part.points] == 2 * [
        ("rush", 3, "won of 3"),
        ("game", 2, "lost"),
    ]
    assert [row.rule for row in part.points[2:]] == ["Round 2, point rush:", "Round 2, points lost:"]
    assert "Round 2, point" not in phone(plan).decode(), "a phone has no boxes"


def test_points_that_are_all_alike_name_the_ball_in_place_of_an_order() -> None:
    (part,) = sheet(plan_of('point only\n    plays slow\n\nsession "s"\n    3 points only\n')).parts
    (step,) = part.rounds[0].steps
    assert step.text == "3 points, 3 balls, A each time" and not step.told


def test_a_game_is_not_interrupted_by_a_collect() -> None:
    """Nobody knows how many balls it will have, so a collect comes before it, not where the hopper would be empty. The
    hopper holds 150 balls."""
    rows = 'session "s"\n    collect 1 min when empty\n    12 points rush\n    40 points rush\n'
    assert [block.balls for block in plan_of(RUSH + rows).blocks] == [36, 114, 0, 6]
    assert [block.balls for block in plan_of(RUSH + rows + "        first to 11\n").blocks] == [36, 0, 120]


def test_a_block_of_minutes_plays_no_half_of_a_point() -> None:
    """One minute has room for 15 balls every 4 s; of points with three balls that is five, with 59 s it is four."""
    assert len(shots(plan_of(RUSH + 'session "s"\n    1 min rush\n'))) == 15
    assert len(shots(plan_of(RUSH + 'session "s"\n    56 s rush\n'))) == 12


def test_a_mix_draws_whole_points_and_a_single_ball_counts_as_one() -> None:
    plan = plan_of(RUSH + 'session "s"\n    12 points mix 2 rush, fast\n')
    drawn = [point.shots for point in plan.blocks[0].points]
    assert len(drawn) == 12 and drawn.count(("slow", "middling", "fast")) == 8 and drawn.count(("fast",)) == 4
    assert [shot for point in drawn for shot in point] == shots(plan)


def test_two_members_of_a_family_in_one_point_are_two_turns_of_it() -> None:
    varied = "feed varied, like slow\n    pace 70, 75, 80 km/h\npoint two\n    plays varied, then varied\n"
    found = compiled(varied + 'session "s"\n    6 points two\n    3 balls slow\n    3 points cycle slow, rush\n' + RUSH)
    assert found.plan
    played = shots(found.plan)
    assert all(set(played[n : n + 3]) == set(played[:3]) for n in range(0, 12, 3)) and len(set(played[:3])) == 3
    assert all(one != two for one, two in pairwise(played))


def test_the_interval_runs_until_the_serve_and_the_ball_comes_after_it() -> None:
    plan = plan_of(SERVED + 'session "s"\n    2 points served\n    2 balls slow\n')
    # 0 serve, 1.5 first, 4 s later the second; 4 s later the next serve.
    assert times(plan) == [1.5, 5.5, 11.0, 15.0] and times(plan, 1) == [19.0, 23.0]
    assert plan.serves() == [(0, 0.0), (2, 9.5)]
    assert {point.serve_s for point in plan.blocks[0].points} == {1.5}


def test_a_point_that_begins_again_comes_evenly_and_any_ball_may_follow() -> None:
    plan = plan_of(AGAIN + 'feed late, like slow\n    interval 6 s\nsession "s"\n    4 points mix rush, late\n')
    assert {round(b - a, 4) for a, b in pairwise(times(plan))} == {6.0}
    assert {ball.any_of for ball in plan.launches} == {plan.blocks[0].shots}
    assert plan.blocks[0].begins_again and plan.blocks[0].end_s == times(plan)[-1] + 6.0


def test_the_even_time_has_room_for_the_serve_and_for_the_rhythm_of_contacts() -> None:
    served = SERVED.replace("point served", "point again") + "    if missed, from the start\n"
    assert {round(b - a, 4) for a, b in pairwise(times(plan_of(served + 'session "s"\n    3 points again\n')))} == {5.5}
    plan = plan_of(
        AGAIN + 'session "s"\n    3 points rush\n', interval="4 s between contacts"
    )  # fmt: skip
    flights = {shot.id: shot.predicted.contact_s for shot in plan.shots}
    (gap,) = {round(b - a, 3) for a, b in pairwise(times(plan))}
    assert gap == pytest.approx(4 + flights["slow"] - flights["fast"], abs=2e-3)


class Shelf:
    """One script to use."""

    def names(self) -> list[str]:
        return ["points.feed"]

    def load(self, name: str) -> Source | None:
        head = BALLS.format(machine="academy", interval="6 s", middling="76 km/h")
        return Source(name, head + AGAIN) if name in self.names() else None


def test_a_point_from_another_script_comes_with_its_balls() -> None:
    head = BALLS.format(machine="academy", interval="6 s", middling="76 km/h").partition("feed slow")[0]
    text = f'use "points.feed"\n{head}session "s"\n    2 points rush\n'
    found = compile_source(Source("mine.feed", text), ProfileShelf(), Shelf())
    assert found.plan and shots(found.plan) == ["slow", "middling", "fast"] * 2


# ---- what may follow a miss is checked


ORDER = "point rush\n    plays slow, then middling, then fast, then middling\n"


def test_a_change_that_only_a_miss_asks_for_is_an_error() -> None:
    """The club machine tilts by 12 degrees a second: between slow and fast 2.1 s are too short, and in the drawn order
    one never follows the other."""
    session = 'accept no-time-to-mark\nsession "s"\n    3 points rush\n'
    fixed = compiled(ORDER + session, machine="club", interval="2.1 s")
    again = compiled(ORDER + "    if missed, from the start\n" + session, machine="club", interval="2.1 s")
    assert fixed.plan and not again.plan
    told = [f for f in again.findings if f.code == "change-too-fast"]
    assert {(f.message.before, f.message.after) for f in told} >= {("slow", "fast")}  # type: ignore[attr-defined]


def test_before_a_replay_the_same_is_asked_of_the_plan_itself() -> None:
    plan = plan_of(ORDER + 'session "s"\n    3 points rush\n', machine="club", interval="2.1 s")
    club = ProfileShelf().load("club")
    assert verify(plan, club) == []
    points = tuple(point.model_copy(update={"after_miss": "from the start"}) for point in plan.blocks[0].points)
    block = plan.blocks[0].model_copy(update={"points": points})
    open_ = tuple(ball.model_copy(update={"any_of": block.shots}) for ball in plan.launches)
    forged = plan.model_copy(update={"blocks": (block,), "launches": open_}).sealed()
    (said,) = verify(forged, club)
    assert said.startswith("Ball ") and "needs" in said and "to change" in said


SKIPS = ORDER + "    if missed, next point\n"


def test_a_missed_point_keeps_the_times_of_the_others() -> None:
    goes_on, skips = (plan_of(lines + 'session "s"\n    3 points rush\n') for lines in (ORDER, SKIPS))
    assert skips.launches == goes_on.launches and skips.blocks[0].leaves_out


def changed(plan: Plan, change: Any) -> bytes:
    document = plan.data()
    change(document)
    return json.dumps(document).encode()


FORGED = {
    "a ball more than the points have": lambda p: p["blocks"][0]["points"].pop(),
    "a point with a ball of another block": lambda p: p["blocks"][0]["points"][0].update(shots=["late"] * 3),
    "balls in another order than the points": lambda p: p["launches"][0].update(shot="fast"),
    "a ball that may be another in a fixed order": lambda p: p["blocks"][0].update(
        points=[{**point, "after_miss": "goes on"} for point in p["blocks"][0]["points"]]
    ),
    "a ball that is none of those that may come": lambda p: p["launches"][0].update(any_of=["middling", "fast"]),
    "a serve that is too long ago": lambda p: p["blocks"][0]["points"][0].update(serve_s=11),
}


@pytest.mark.parametrize("change", FORGED.values(), ids=list(FORGED))
def test_a_plan_whose_points_are_not_whole_is_refused_when_read(change: Any) -> None:
    plan = plan_of(AGAIN + 'session "s"\n    2 points rush\n')
    assert read(render(plan)) == plan
    with pytest.raises(PlanRefused, match="does not have the form of a plan"):
        read(changed(plan, change))


# ---- sheet and sound


def test_the_sheet_says_how_a_point_goes_and_counts_points() -> None:
    (part,) = sheet(plan_of(AGAIN + 'session "s"\n    5 points rush\n')).parts
    (row,) = part.points
    assert (row.boxes, row.counted) == (5, "won of 5")
    assert row.ticks == "Tick a box for each point whose balls were all hit."
    assert row.rule == "Point rush: A, then B, then C. After a miss press m at the computer: it begins again with A."
    begins = plan_of(AGAIN + 'session "s"\n    5 points rush\n').blocks[0].points[0]
    for after, told in (("from the start", "begin again with A."), ("next point", "leave out the rest of the point.")):
        by_hand = words.point_rule("rush", "ABC", begins.model_copy(update={"after_miss": after}), machine=False)
        assert by_hand == f"Point rush: A, then B, then C. After a miss {told}"
    (step,) = part.rounds[0].steps
    assert step.text == "5 points, up to 15 balls, in this order" and step.groups == (3,) * 5
    (served,) = sheet(plan_of(SERVED + 'session "s"\n    2 points served\n    1 min fast\n')).parts[0].points
    assert served.rule.startswith(SAID)


def test_the_sheet_says_when_the_next_serve_comes() -> None:
    plan = plan_of(SERVED + 'session "s"\n    2 points served\n')
    last, (_, following) = plan.launches[1].at_s, plan.serves()[1]
    (step,) = sheet(plan).parts[0].rounds[0].steps
    assert step.said == f"2 points, 4 balls, in this order; next serve {following - last:g} s after a point's last ball"
    page = phone(plan).decode()
    assert page.count(f"{step.said}.") == 1, "on the card of the first ball"
    assert "Tick a box" not in page and SAID in page
    first, second = sheet(plan).rows
    assert (first.every, second.every) == ("1.5 s after the serve", "every 4 s")
    (both,) = (row for row in sheet(plan_of(SERVED + 'session "s"\n    2 points served\n    1 min slow\n')).rows
               if row.letter == "A")  # fmt: skip
    assert both.every.startswith("every ")


def test_balls_of_a_family_are_told_as_one_or_the_other() -> None:
    """Each point has one ball of each feed, whichever member of its family."""
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("32")))
    rules = [point.rule for part in sheet(plan).parts for point in part.points]
    assert rules[0] == "Point learn: A1 or A2, then B1 or B2, then C1 or C2."
    assert rules[1].endswith("After a miss press m at the computer: it begins again with A1 or A2.")
    assert letters(plan).either(shot.id for shot in plan.shots[:3]) == "one of A1, A2, B1"


def test_the_sheet_says_the_time_at_which_balls_of_a_point_come() -> None:
    slower = "feed late, like slow\n    interval 6 s\n"
    head = sheet(plan_of(AGAIN + slower + 'session "s"\n    4 points mix rush, late\n')).parts[0]
    assert {row.every for row in head.rows} == {"every 6 s"}
    both = sheet(plan_of(AGAIN + slower + 'session "s"\n    4 points mix rush, late\n    1 min slow\n')).parts[0]
    assert {row.every for row in both.rows} == {"every 6 s", "every 4 or 6 s"}


def test_the_sound_track_has_a_tone_at_each_serve_and_leads_up_to_it() -> None:
    plan = plan_of(SERVED + 'session "s"\n    2 points served\n')
    heard = cues.sounds(plan)
    served = [round(first / cues.RATE - cues.LEAD_S, 3) for first, sound in heard if sound == cues.SERVE]
    assert served == [second for _, second in plan.serves()]
    assert all(a + len(cues.samples(sound)) <= b for (a, sound), (b, _) in pairwise(heard))


# ---- recovered from the serve


CORNER = """\
feed corner, like fast
    side      right corner
    interval  8 s
point one
    player    serves, then {} s
    plays     corner
session "s"
    2 points one
"""


def test_a_ball_too_soon_after_the_serve_is_told_and_the_remedy_mends_it() -> None:
    """Landing 0.7 s and the stroke 0.15 s; between them the way from the middle of the baseline to 0.7 m from
    the ball and a step of 0.8 m, from rest with 7.5 m/s² to at most 5 m/s, back at 0.7
    of that."""
    soon = compiled(CORNER.format("0.3"))
    assert soon.shots
    flown = soon.shots.shots["corner"].predicted
    way = hypot(abs(flown.contact[0]) - 0.7, (flown.contact[1] - 11.885) / 0.7) - 0.8
    assert way > 5**2 / 7.5 / 2
    needed = 0.7 + 0.15 + 5 / 7.5 + (way - 5**2 / 7.5 / 2) / 5
    (told,) = [f for f in soon.findings if f.code == "no-time-after-serve"]
    assert told.message.needed == pytest.approx(needed, abs=1e-6)  # type: ignore[attr-defined]
    (remedy, *_) = told.remedies
    delay = float(remedy.text.split()[-2])
    assert delay - 0.5 < needed - flown.contact_time <= delay
    assert "no-time-after-serve" not in {f.code for f in compiled(CORNER.format(f"{delay:g}")).findings}


@pytest.mark.parametrize(
    ("plays", "takes"), [("slow", 0.0), ("slow, then fast", 4.0), ("slow, then slow, then fast", 8.0)]
)
def test_a_serve_comes_so_long_after_the_serve_before_however_many_balls_a_point_has(plays: str, takes: float) -> None:
    """Arithmetic on the line: nobody has to subtract the balls between."""
    rows = f'point p\n    player serves every 20 s, then 2 s\n    plays {plays}\nsession "s"\n    4 points p\n'
    plan = plan_of(rows)
    begins = [at for at in times(plan) if round((at - 2) % 20, 4) == 0]
    assert begins == [2, 22, 42, 62] and [second for _, second in plan.serves()] == [0, 20, 40, 60]
    assert times(plan)[-1] == 62 + takes
    assert {shot.feed for shot in plan.shots} == {one.strip() for one in plays.split(", then ")}
