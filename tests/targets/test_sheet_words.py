"""Numbers of a plan in words on the feed sheet."""

from itertools import pairwise
from pathlib import Path

import pytest

from feedwright.compiler import moves
from feedwright.compiler.model.plan import GoalRecord, Plan
from feedwright.targets.machine.replay.places import arming, places
from feedwright.targets.outputs.sheet import front, html, phone, words
from feedwright.targets.outputs.sheet.fit import lines, width
from feedwright.targets.outputs.sheet.layout import document
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.manner import waits
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.panels import shown
from feedwright.targets.outputs.sheet.rows import row, without_computer
from feedwright.targets.outputs.sheet.rungs import keeper

from .. import shipped
from ..log.plans import climbing
from ..whole import WHOLE
from .plans import COURT, make_plan, make_shot


# Lines: ITF Rules of Tennis, Rule 1: service line 6.40 m from the net, baseline 11.885 m, singles 8.23 m wide.
@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (9.885, 9.885, "2 m inside baseline"),
        (8.885, 10.885, "1–3 m inside baseline"),
        (11.885, 11.885, "on baseline"),
        (12.385, 12.385, "0.5 m behind baseline"),
        (11.585, 12.085, "from 0.3 m inside to 0.2 m behind baseline"),
        (5.9, 5.9, "0.5 m short of service line"),
        (6.9, 7.4, "0.5–1 m past service line"),
        (2.0, 2.0, "2 m from net"),
    ],
)
def test_depth_is_told_from_the_nearest_line(low: float, high: float, said: str) -> None:
    assert words.along(low, high, COURT) == said


@pytest.mark.parametrize(
    ("x", "said"),
    [
        (0.1, "on the middle"),
        (1.0, "1 m right of middle"),
        (-1.0, "1 m left of middle"),
        (3.115, "1 m inside right singles line"),
        (-3.115, "1 m inside left singles line"),
        (-4.615, "0.5 m outside left singles line"),
    ],
)
def test_sides_are_the_feeders(x: float, said: str) -> None:
    assert words.across(x, x, COURT) == said


@pytest.mark.parametrize(
    ("x", "said"),
    [
        (0.1, "on the middle"),
        (-1.0, "1 m left of middle"),
        (3.115, "1 m in from right"),
        (-4.615, "0.5 m outside left"),
        (4.115, "on right sideline"),
    ],
)
def test_sides_in_a_table(x: float, said: str) -> None:
    assert words.aside(x, x, COURT) == said


@pytest.mark.parametrize(
    ("height", "said"),
    [(0.12, "just over"), (0.35, "½ racket"), (0.7, "1 racket"), (1.05, "1½ rackets"), (2.1, "3 rackets")],
)
def test_heights_over_the_net_in_rackets(height: float, said: str) -> None:
    assert words.rackets(height, height) == said


@pytest.mark.parametrize(
    ("heights", "said"),
    [
        ((0.9, 1.2), ["1¼ rackets", "1¾ rackets"]),  # both 1½ to the half
        ((0.7, 1.05), ["1 racket", "1½ rackets"]),
        ((1.0, 1.1), ["1½ rackets", "1½ rackets"]),  # less than 0.15 m apart
    ],
)
def test_heights_that_differ_do_not_read_alike(heights: tuple[float, float], said: list[str]) -> None:
    plan = make_plan(machine=False)
    over = [s.predicted.model_copy(update={"net_clearance_m": h}) for s, h in zip(plan.shots, heights, strict=True)]
    shots = tuple(s.model_copy(update={"predicted": p}) for s, p in zip(plan.shots, over, strict=True))
    part = sheet(plan.model_copy(update={"shots": shots})).parts[1]
    assert [feed.cells[1][0] for feed in part.rows] == said


@pytest.mark.parametrize(
    ("asked", "over", "said"),
    [
        ("into gap, at least 0.7 m over net, 65 km/h", 0.7, "into gap, at least 0.7 m (1 racket) over net, 65 km/h"),
        ("at least 0.1 m over net", 0.1, "at least 0.1 m over net"),  # no half of a racket
        ("deep", None, "deep"),
    ],
)
def test_a_reply_s_height_is_told_in_rackets_where_the_script_has_it(asked: str, over: float, said: str) -> None:
    assert words.also_in_rackets(asked, over) == said


@pytest.mark.parametrize(
    ("setting", "value", "said"),
    [
        ("azimuth", 4.0, "right"),
        ("azimuth", -4.0, "left"),
        ("azimuth", 0.0, ""),
        ("speed", 4.0, ""),
        ("elevation", -4.0, "down"),
        ("elevation", 4.0, ""),
    ],
)
def test_an_azimuth_says_to_which_side(setting: str, value: float, said: str) -> None:
    """Azimuth is positive towards +x, the feeder's right, as in the plan."""
    assert words.turned(setting, value) == said


def test_a_span_of_heights_names_its_unit_once() -> None:
    assert words.rackets(0.7, 1.4) == "1 to 2 rackets"


@pytest.mark.parametrize(
    ("interval", "said"),
    [(3.0, "1 2 feed"), (4.5, "1 2 3 and feed"), (2.5, "1 and feed"), (4.1, ""), (30.0, ""), (1.0, "")],
)
def test_a_count_of_one_a_second(interval: float, said: str) -> None:
    assert words.counted(interval) == said
    # From one feed to the next: each word lasts a second, "and" half of one, and the next feed is the last word.
    assert not said or sum(0.5 if word == "and" else 1 for word in said.split()) == interval


def test_a_count_does_not_break_before_its_feed() -> None:
    assert shown("1 2 3 and feed") == "1 2 3\u00a0and\u00a0feed"
    assert shown("1 2 feed") == "1 2\u00a0feed"


def test_sidespin_curves_as_the_plan_says(person_plan: Plan) -> None:
    """+z spin on a ball flying along +y: lift along spin x velocity is towards -x, the feeder's left."""
    launch = person_plan.shots[0].launch.model_copy(update={"topspin_rpm": 0.0, "sidespin_rpm": 900.0})
    assert words.spin(launch) == "some sidespin, curves left"
    assert words.spin(launch.model_copy(update={"sidespin_rpm": -1600.0})) == "much sidespin, curves right"
    assert words.spin(launch.model_copy(update={"sidespin_rpm": 0.0, "topspin_rpm": -900.0})) == "some backspin"


def test_the_rules_in_words_are_the_rules_of_the_plan() -> None:
    ladder = climbing().blocks[-1].ladder
    assert ladder is not None
    assert words.ladder_rule(ladder, ["A", "B", "C"]) == (
        "Start on A, or where the last practice ended. Up after 3 hits in a row, down after 2 misses in the last 4 "
        "balls; then count afresh. Stay on C after more hits, on A after more misses."
    )
    only_up = ladder.model_copy(update={"down_misses": None, "down_in": None, "up": GoalRecord(hits=1, among=1)})
    assert "Up after 1 hit in a row, never down;" in words.ladder_rule(only_up, only_up.labels)


def test_what_it_was_made_for_names_the_air_and_from_where_the_wind_blows_as_the_feeder_looks() -> None:
    """y goes towards the player, x to the feeder's right: the frame of every plan."""
    plan = make_plan(machine=False)
    air = plan.air.model_copy(update={"wind_mps": (2.0, -3.0, 0.0), "altitude_m": 1500.0})
    told = dict(sheet(plan.model_copy(update={"air": air})).front.facts)["Made for"]
    assert "wind 3 m/s from ahead of you and 2 m/s from the left, altitude 1500 m; " in told
    assert "no wind; " in dict(sheet(plan).front.facts)["Made for"]


def test_settings_are_told_once_where_pauses_follow_each_other() -> None:
    plan = shipped.plan(next(shipped.FOLDER.glob("05-*.feed")))
    blocks = list(plan.blocks)
    blocks[2] = blocks[2].model_copy(
        update={"kind": "rest", "words": "rest 26 s", "balls": 0, "order": None, "shots": ()}
    )
    launches = tuple(ball for ball in plan.launches if ball.block != 2)
    paused = plan.model_copy(update={"blocks": tuple(blocks), "launches": launches})
    steps = [step for part in sheet(paused).parts for turn in part.rounds for step in turn.steps]
    told = [(step.kind, bool(step.dials)) for step in steps if step.kind != "balls"]
    assert told == [("rest", True), ("rest", False), ("rest", False), ("collect", True)]


def test_without_its_computer_a_machine_feeds_the_blocks_that_say_what_to_set() -> None:
    """The script of program 33 has one ball in its blocks 1, 3 and 5, the same in 1 and 5."""
    plan = shipped.plan(next(shipped.FOLDER.glob("33-*.feed")))
    data = sheet(plan)
    steps = [[step for turn in part.rounds for step in turn.steps] for part in data.parts]
    told = [[step.dials.partition(":")[0] for step in one if step.kind == "balls"] for one in steps]
    assert told == [["Set to A"], [""], ["Set to C"], [""], ["Set to A"]]
    assert "Without one of them feed only Blocks 1, 3, 5, where it says Set to;" in dict(data.front.facts)["You feed"]
    assert not data.dials and not any(step.dials for one in steps for step in one if step.kind != "balls")
    assert [block.index for block in plan.blocks if len(block.shots) == 1] == [0, 4, 8]
    blocks = list(plan.blocks)
    blocks[4] = blocks[4].model_copy(update={"shots": blocks[0].shots})
    same = plan.model_copy(update={"blocks": tuple(blocks)})
    assert without_computer(same, letters(plan), same.blocks[4]).startswith("Set to A, as before: speed")


@pytest.mark.parametrize("path", shipped.PROGRAMS if WHOLE else shipped.OF_A_KIND, ids=lambda path: path.stem[:2])
def test_who_sets_a_machine_stands_on_the_sheet_and_on_the_first_card_of_a_phone(path: Path) -> None:
    """A person stands in one place and sets nothing. Hits may take a ladder from any rung to any other."""
    plan = shipped.plan(path)
    data = sheet(plan)
    how = dict(data.front.facts)["You feed"]
    told = "feedwright replay on a computer sets it between balls, or the machine's own program" in how
    settings = {shot.id: shot.settings for shot in plan.shots}
    pauses = {block.index for block in plan.blocks if block.kind != "balls"}
    climbs = [{tuple(settings[rung].items()) for rung in block.ladder.shots} for block in plan.blocks if block.ladder]
    changes = any(len(rungs) > 1 for rungs in climbs) or any(
        settings[one.first] != settings[two.first] and not pauses & set(range(one.block, two.block))
        for one, two in pairwise(plan.launches)
    )
    assert told is (plan.feeder.kind == "machine" and changes)
    steps = [step for part in data.parts for turn in part.rounds for step in turn.steps]
    assert ("set it while no ball is fed" in how) is bool(data.dials or any(step.dials for step in steps))
    first = phone.render(plan).decode().replace("\\u2013", "–")
    assert all(f"{label}: {text}." in first for label, text in data.front.place) and data.front.place[-1][1] == how
    assert any("decide the rung" in step.text for step in steps) is bool(climbs)
    rules = [row.rule for part in data.parts for row in part.rungs]
    assert bool(rules) is bool(climbs)
    assert all(rule.startswith("Press h (hit) or m (miss) at the computer") is told for rule in rules)


def test_the_place_of_a_reply_is_told_without_what_cannot_be_paced_out() -> None:
    asked = (
        "0.5 to 5 m inside baseline, to 0.5 to 3 m left of middle, at least 1 m (1½ rackets) over net, topspin 900 rpm"
    )
    assert words.place(asked) == "0.5–5 m inside baseline, 0.5–3 m left of middle"
    assert words.place("deep, sidespin 400 rpm to the right, up to 80 km/h") == "deep, any side"
    assert words.place("into “pocket”, topspin 300 rpm") == "into “pocket”"
    assert words.place("at least 1 m over net") == ""


def test_left_and_right_are_the_feeders_but_for_the_coachs_own_words() -> None:
    """The player's right corner is at the left of whoever faces the player; a zone's name and a note stay as written,
    in quotes. Whoever strikes and reads the page has the script's own left and right."""
    asked = "to right corner, into left-half, 0.5 to 3 m left of centre, sidespin 400 rpm to the right"
    plan = make_plan(machine=False)
    first = plan.variations[0]
    reply = first.reply.model_copy(update={"words": asked, "over_net_m": None})
    turned = first.model_copy(update={"reply": reply, "notes": ("Play it to the right.",), "title": "out to the left"})
    told = plan.model_copy(update={"variations": (turned, *plan.variations[1:])})
    entry, own = (sheet(told, hitter=hitter).parts[0].variations[0] for hitter in (False, True))
    assert entry.reply.startswith(
        "reply to left corner, into “left-half”, 0.5 to 3 m right of middle, sidespin 400 rpm to the left"
    )
    assert (entry.title, entry.notes) == ("“out to the left”", ("“Play it to the right.”",))
    assert own.reply.startswith(f"reply {asked}") and own.title == "out to the left"
    assert "facing the player; in “quotes” the player's" in dict(front.front(told, ()).facts)["How to read"]


def test_a_heading_has_each_line_of_a_round_as_often_as_it_is_fed() -> None:
    plan = make_plan(machine=False)
    last = plan.blocks[4].model_copy(update={"index": 8, "start_s": 164.0, "end_s": 176.0})
    rounds = (*plan.blocks[4:6], last.model_copy(update={"round": (1, 2)}))
    played = plan.model_copy(update={"blocks": (*plan.blocks[:4], *rounds)})
    assert sheet(played).parts[2].script == "“3 balls steady” · “2 balls kicker” · “3 balls steady”"


def test_an_amount_with_a_name_is_told_as_what_the_balls_were_computed_with() -> None:
    plan = make_plan(machine=False)
    source = plan.source.model_copy(update={"given": {"rhythm": "9 s", "idle": "5 s"}, "set": ("rhythm",)})
    made = dict(front.front(plan.model_copy(update={"source": source}), ()).facts)["Made for"]
    assert made.endswith("; with rhythm 9 s in place of the amount in the script, idle 5 s")


def test_rounds_that_are_alike_are_read_down_the_page_from_the_times_at_which_each_begins() -> None:
    plan = make_plan(machine=False)
    ((turn,),) = (part.rounds for part in sheet(plan).parts[2:])
    assert turn.heading == "Rounds 1 and 2, each from 2:02, 2:23"
    # 122 s and 143 s; the second step begins 12 s later.
    assert [turn.when(step) for step in turn.steps] == ["+0:00", "+0:12"]
    pages = html.render(document(plan)).decode(), phone.render(plan).decode()
    assert all("2:02, 2:23" in page and "+0:12" in page and "2:14, 2:35" not in page for page in pages)


def test_a_ball_to_dig_out_is_not_met_on_the_ground() -> None:
    shot = make_shot(machine=False)
    low = shot.model_copy(update={"predicted": shot.predicted.model_copy(update={"contact_m": (0.5, 12.0, 0.04)})})
    assert "contact 0.04 m" in row(make_plan(machine=False), "A", [low]).small


def test_text_without_room_still_ends() -> None:
    assert lines("a word", 0.0, 14.0) > 1
    assert lines("1 2 3 4 feed", width("1 2 3 4 feed", 17.0), 17.0) == 1


def test_where_the_player_starts_is_in_the_coachs_words() -> None:
    """Only where it is the same for every ball of the row."""
    plan, centre, beside = make_plan(machine=False), {"starts": "on centre"}, {"starts": "1 m left of centre"}
    shots = [make_shot(machine=False).model_copy(update={"words": said}) for said in (centre, beside, {})]
    assert "; player starts “on centre”" in row(plan, "A", [shots[0], shots[0]]).small
    for differing in ([shots[0], shots[1]], [shots[0], shots[2]], [shots[2]]):
        assert "starts" not in row(plan, "A", differing).small


def test_the_sheet_says_who_counts_and_what() -> None:
    """The letters of a mix keep the counts apart for whoever has a hand free; a player alone can count one line."""
    plan, machine = make_plan(machine=False), make_plan(machine=True)
    one = plan.player.model_copy(update={"in_line": 1, "rotate_every": None})
    alone, at_a_switch = (made.model_copy(update={"player": one}) for made in (plan, machine))
    unmixed = machine.model_copy(update={"player": one, "blocks": machine.blocks[1:2]})
    after = "after the block, without letters aloud. "
    for made, who, told in (
        (plan, f"Who waits crosses out missed letters, counts {after}", "most in a row, whoever hits"),
        (
            alone,
            "The player counts aloud, in a mix one line, named before; write after the block. A helper ",
            "most in a row",
        ),
        (at_a_switch, f"Cross out missed letters, count {after}", "most in a row"),
        (unmixed, "The player counts aloud, you write after the block. ", "most in a row"),
    ):
        counting = dict(front.front(made, ()).facts)["Counting"]
        assert counting.startswith(who) and counting.endswith(f"Streak: {told}")


@pytest.mark.parametrize(("number", "last", "metres"), [
    ("15", "1 m behind baseline", 1.0), ("29", "1 m behind baseline", 1.0), ("17", "on baseline", 0.0),
])  # fmt: skip
def test_in_a_mix_of_deep_and_near_balls_the_player_waits_where_all_can_be_met(
    number: str, last: str, metres: float
) -> None:
    """In time by the dash of a tennis player (compiler/moves.py gives its sources), which the sheet does not use."""
    path = next(path for path in shipped.PROGRAMS if path.stem.startswith(number))
    plan, program = shipped.plan(path), shipped.compiled(path).program
    steps = [step for part in sheet(plan).parts for turn in part.rounds for step in turn.steps]
    told = [step.waits for step in steps if step.waits]
    assert told[-1] == f"Player waits for each ball {last}."
    mixes = [block for block in plan.blocks if block.order == "mix"]
    assert [block.words for block in plan.blocks if waits(plan, block)][-1] == mixes[-1].words
    deep = 11.885 + metres  # the baseline: ITF Rules of Tennis, Rule 1
    for shot in plan.shots:
        if shot.id in mixes[-1].shots:
            x, y, _ = shot.predicted.contact_m
            beside = max(abs(x) - program.player.reach_at(x), 0.0)
            way = moves.as_far(program, beside, y - deep) - moves.STEP_M
            run = moves.mover(program, dash=True).time(way)
            assert moves.RECOGNISED_S + moves.STROKE_S + run < shot.predicted.contact_s, shot.id


def test_a_ladder_by_hand_that_counts_misses_among_the_last_balls_needs_a_helper() -> None:
    """Program 20; a streak alone needs none, nor does a ladder whose rung a computer sets."""
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("20")))
    assert ", a helper (beside you), " in dict(sheet(plan).front.facts)["Bring"]
    for change in ({"down_misses": None, "down_in": None}, {}):
        blocks = tuple(
            block.model_copy(update={"ladder": block.ladder.model_copy(update=change)}) if block.ladder else block
            for block in plan.blocks
        )
        feeder = plan.feeder if change else plan.feeder.model_copy(update={"kind": "machine", "how": "machine"})
        assert not any(keeper(plan.model_copy(update={"feeder": feeder}), block) for block in blocks)


def test_where_the_player_waits_is_said_of_a_mix_alone_and_first_by_the_script() -> None:
    """Of balls whose next one is known nobody waits half-way."""
    plan = make_plan(machine=False)
    block, (near, far) = plan.blocks[0], plan.shots[:2]
    near, far = near.model_copy(update={"stance_y_m": 4.0}), far.model_copy(update={"stance_y_m": 12.0})
    mix = block.model_copy(update={"order": "mix", "shots": (near.id, far.id)})
    apart = plan.model_copy(update={"shots": (near, far)})
    assert waits(apart, mix) and not waits(apart, mix.model_copy(update={"order": "cycle"})) and not waits(plan, mix)
    said = tuple(shot.model_copy(update={"waits_m": (-1.0, 9.885), "way_m": 1.0}) for shot in (near, far))
    told = waits(plan.model_copy(update={"shots": said}), mix)
    assert told == "Player waits for each ball 2 m inside baseline, 1 m left of middle."


@pytest.mark.parametrize(("number", "told"), [
    ("11", "after a rest it feeds on by itself; after a collect or p (pause) press a, "),
    ("33", "after a rest of 1 min it feeds on by itself; after one of 2 min or p (pause) press a, "),
])  # fmt: skip
def test_a_sheet_says_what_to_type_and_after_which_rests_a_machine_feeds_on_by_itself(number: str, told: str) -> None:
    """As the balls that a replay arms at once: what it does not arm waits for a person."""
    plan = shipped.plan(next(shipped.FOLDER.glob(f"{number}-*.feed")))
    facts = dict(sheet(plan).front.facts)
    assert facts["To go on"].startswith(told)
    assert f"feedwright replay {Path(plan.source.name).stem}.plan.json --test-balls" in facts["To start"]
    run, waits = places(plan), set()
    while run:
        run = run[len(arming(run)) :]
        waits |= {place.block for place in run[:1]}
    long = [block for block in plan.blocks if block.kind == "collect" or block.words.endswith(" 2 min")]
    assert waits == {block.index + 1 for block in long}


def test_a_machine_that_nobody_measured_and_a_court_without_painted_lines_say_so() -> None:
    """A red court is 10.97 to 12.80 m by 4.27 to 6.10 m with a net of at most 0.838 m, an orange 17.68 to 18.29 m by
    6.10 to 8.23 m with one of at most 0.914 m (ITF Rules of Tennis, appendix on tennis for ages of ten and under)."""
    made = [dict(front.front(make_plan(machine), ()).facts)["Made for"] for machine in (True, False)]
    assert ["measured by the coach on ______, else do not feed" in text for text in made] == [True, False]
    red, orange, full = (
        dict(sheet(shipped.plan(next(shipped.FOLDER.glob(f"{number}-*.feed")))).front.facts).get("Court", "")
        for number in ("19", "20", "21")
    )
    assert red.startswith("11 x 5.5 m, service line ") and "the net (0.84 m)" in red
    assert orange.startswith("18 x 6.5 m, service line 4.8 m from the net (0.91 m)") and not full
