"""Whose ball it is, on paper, on a phone and for a voice: players with names, and players in line."""

from array import array

import pytest

from feedwright.compiler.model.plan import LaunchTime, LoadRecord, Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs import band, cues, turns
from feedwright.targets.outputs.sheet import html, layout, phone
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.rows import row
from feedwright.targets.outputs.sheet.strip import breadth, strips

from .more_plans import ladder, spread_out, ten_rows
from .plans import make_plan

CHANGE_S, EVERY = 15.0, 4


def changed_after(plan: Plan, every: int) -> tuple[LaunchTime, ...]:
    """The launches, with the time of a change after each turn."""
    late = [(n // every) * (CHANGE_S - plan.shots[0].interval_s) for n in range(len(plan.launches))]
    return tuple(
        ball.model_copy(update={"at_s": round(ball.at_s + more, 4)})
        for ball, more in zip(plan.launches, late, strict=True)
    )


def for_two(machine: bool = True) -> Plan:
    """Two players who change after four balls; each has balls of their own."""
    plan = ten_rows(machine)
    runa, odd = (plan.player.model_copy(update={"name": name, "in_line": 1}) for name in ("runa", "odd"))
    half = len(plan.shots) // 2
    shots = tuple(
        shot.model_copy(update={"player": "runa" if n < half else "odd"}) for n, shot in enumerate(plan.shots)
    )
    launches = tuple(
        ball.model_copy(update={"shot": shots[n % half + half * (n // EVERY % 2)].id})
        for n, ball in enumerate(changed_after(plan, EVERY))
    )
    block = plan.blocks[0].model_copy(update={"end_s": launches[-1].at_s + 5.0})
    loads = tuple(LoadRecord(player=name, balls=len(launches) // 2, duration_s=60.0) for name in ("runa", "odd"))
    totals = plan.totals.model_copy(update={"loads": loads, "duration_s": block.end_s})
    return plan.model_copy(
        update={"player": runa, "others": (odd,), "shots": shots, "launches": launches, "blocks": (block,)}
        | {"totals": totals}
    ).sealed()


def in_line(count: int, every: int) -> Plan:
    plan = ten_rows(machine=True)
    player = plan.player.model_copy(update={"in_line": count, "rotate_every": every})
    return plan.model_copy(update={"player": player, "launches": changed_after(plan, every)})


@pytest.fixture(scope="module")
def pair() -> Plan:
    return for_two()


def test_paper_names_the_player_of_each_ball_picture_turn_and_count(pair: Plan) -> None:
    page = html.render(layout.document(pair)).decode().replace("\u00a0", " ")
    named = letters(pair).of
    for shot in pair.shots:
        assert f"for {shot.player}" in page
    mine = ", ".join(named[shot.id] for shot in pair.shots if shot.player == "odd" and shot.variation == "rally")
    assert f"{mine} · odd" in page, "over a picture, and at the boxes for the counts"
    assert "15 s</bdi> <i><bdi>odd</bdi></i>" in page
    assert "The players change after every 4 balls: runa, odd. At each change leave 15 s between two balls" in page


def test_a_phone_names_the_player_on_each_card_and_says_the_change(pair: Plan) -> None:
    (part,) = sheet(pair).parts
    balls = [card for card in phone._cards(pair, part, "") if card["kind"] == "ball"]
    players = {shot.id: shot.player for shot in pair.shots}
    assert [card["where"].rpartition(" · ")[2] for card in balls] == [players[ball.first] for ball in pair.launches]
    told = {n: card["lines"][0] for n, card in enumerate(balls) if "comes" in "".join(card["lines"])}
    assert list(told) == list(range(EVERY, len(balls), EVERY))
    assert told[EVERY] == "odd comes: 15 s after the ball before."


def test_a_voice_calls_the_name_at_each_change(pair: Plan) -> None:
    voice = {word: array("h", [1]) * 2000 for word in cues.words(pair)}
    said = [sound for _, sound in cues.sounds(pair, voice) if sound in ("runa", "odd", cues.CHANGE)]
    assert said == ["runa" if n % 2 == 0 else "odd" for n in range(-(-len(pair.launches) // EVERY))]


def test_a_block_of_one_player_has_its_balls_numbered_and_its_name_in_the_words(pair: Plan) -> None:
    alone = [ball.model_copy(update={"shot": pair.shots[n % 2].id}) for n, ball in enumerate(pair.launches)]
    plan = pair.model_copy(update={"launches": tuple(alone)})
    steps = [item.data for page in layout.document(plan).pages for item in page if item.kind == "step"]
    groups = [group for step in steps for strip in step["strips"] for group in strip]
    assert groups[0]["mark"] == "1" and not any(group["turn"] for group in groups)
    assert any("for runa" in step["text"] for step in steps)


def test_players_in_line_are_numbered_by_their_place_and_wait_for_the_change() -> None:
    plan = in_line(4, 3)
    taken = turns.turns(plan, plan.blocks[0])
    assert [turn.who for turn in taken[:6]] == ["1", "2", "3", "4", "1", "2"]
    assert {turn.wait for turn in taken[1:]} == {"15 s"} and not taken[0].wait
    assert turns.rule(plan, plan.blocks).endswith("after every 3 balls. At each change leave 15 s between two balls")
    order = ("A",) * len(plan.launches)
    lines = strips(order, 186.0, taken)
    assert sum(len(group["letters"]) for line in lines for group in line) == len(order)
    assert all(breadth(line) <= 186.0 for line in lines)
    assert [group["wait"] for line in lines for group in line if group["wait"]] == ["15 s"], "the same for all: once"


def test_players_in_line_see_their_turns_also_where_all_balls_are_alike() -> None:
    plan = in_line(4, 3)
    one = plan.blocks[0].shots[0]
    balls = tuple(ball.model_copy(update={"shot": one}) for ball in plan.launches)
    block = plan.blocks[0].model_copy(update={"shots": (one,)})
    plan = plan.model_copy(update={"launches": balls, "blocks": (block,)})
    for page, waits in ((html.render(layout.document(plan)), 2), (phone.render(plan), 4)):
        text = page.decode().replace("\u00a0", " ")
        assert "A each time" in text and text.count("15 s") >= waits
    strips_ = [i.data["strips"] for page in layout.document(plan).pages for i in page if i.kind == "step"]
    letters_ = [letter for lines in strips_ for line in lines for group in line for letter in group["letters"]]
    assert letters_ == ["A"] * len(balls)


def test_no_turn_is_told_where_one_player_plays() -> None:
    plan = make_plan(machine=True)
    plan = plan.model_copy(update={"player": plan.player.model_copy(update={"in_line": 1, "rotate_every": None})})
    assert turns.rule(plan, plan.blocks) == "" and not turns.changes(plan, plan.blocks)


def test_a_second_bounce_stands_on_every_sheet_however_brief() -> None:
    plan = ten_rows(machine=True)
    late = plan.shots[0].model_copy(
        update={"predicted": plan.shots[0].predicted.model_copy(update={"bounces": 2}), "spread": None}
    )
    told = row(plan, "A", [late])
    assert told.told == ("met after the second bounce",) and told.told[0] in told.small
    assert not row(plan, "B", [plan.shots[1]]).told


@pytest.mark.parametrize(("interval", "said"), [(3.5, "1.5 s after a hit"), (1.5, "0.5 s before a hit")])
def test_a_rhythm_of_contacts_is_fed_by_the_hit_before(interval: float, said: str) -> None:
    """Ball n meets the player `interval` after ball n - 1, so it leaves its own flight of 2 s before that."""
    shot = ten_rows(machine=False).shots[0]
    flown = shot.predicted.model_copy(update={"contact_s": 2.0})
    words = {**shot.words, "interval": f"{interval} s between contacts"}
    shot = shot.model_copy(update={"interval_s": interval, "predicted": flown, "words": words})
    told = row(ten_rows(machine=False), "A", [shot])
    assert told.cells[-1] == (said, f"contacts every {interval} s")
    told = row(ten_rows(machine=True), "A", [shot])
    assert told.told == (f"feed {said}",) and f"contacts every {interval} s" in told.small


def test_a_band_to_one_side_names_no_other_side() -> None:
    shot = next(shot for shot in ten_rows(machine=True).shots if shot.predicted.landing_m)
    height = shot.predicted.contact_m[2]
    spread = spread_out(machine=True).shots[0].spread
    assert spread is not None
    more = spread.model_copy(update={"least_drag_contact_m": height + 0.39, "most_drag_contact_m": height + 0.004})
    assert band.heights([shot.model_copy(update={"spread": more})]) == "up to 0.39 m higher"


def test_a_ladder_for_players_in_line_shows_no_box_without_letters() -> None:
    """The hits decide the order, so no letter can stand behind the player's box."""
    climb = ladder(machine=True)
    many = climb.model_copy(update={"player": climb.player.model_copy(update={"in_line": 2, "rotate_every": 2})})
    steps = [step for part in sheet(many).parts for turn in part.rounds for step in turn.steps]
    assert any(len(step.turns) > 1 and not step.order for step in steps)
    assert not any(step.told for step in steps if not step.order)


def test_each_of_several_players_ticks_the_balls_of_each_round() -> None:
    script = """program "Three"
    surface   hard
    player    called ada, right-handed, 1.68 m tall
    player    called bea, right-handed, 1.70 m tall
    player    called cleo, left-handed, 1.72 m tall
    feeder    machine academy, on centre, on baseline, behind a screen

variation back "back into the court"
    reply     0 to 9 m inside baseline
    goal      4 of 6

feed rally aims back
    side      backhand wing
    depth     1 to 4 m inside baseline
    stance    2.5 m behind baseline
    height    1.2 m over net
    interval  4 s

session "Rounds"
    3 rounds
        6 balls   rally for ada
        6 balls   rally for bea
        6 balls   rally for cleo
"""
    made = compile_source(
        Source("three.feed", script), ProfileShelf(None), ScriptShelf(None), remedies=False, sample=False
    )
    assert made.plan, made.findings
    scores = [item.data for page in layout.document(made.plan).pages for item in page if item.kind == "score"]
    assert [(one["letters"].split()[-1], one["boxes"]) for one in scores] == [
        ("ada", [6, 6, 6]), ("bea", [6, 6, 6]), ("cleo", [6, 6, 6]),
    ]  # fmt: skip
