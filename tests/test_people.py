"""Several players: each gets the balls that fit their hand and body, in their turns, and has a load of their own."""

from collections import Counter
from functools import cache
from itertools import groupby

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.model.player import BODY_SHARES
from feedwright.compiler.pipeline import Compiled, compile_source
from feedwright.compiler.service.script import opened, renamed
from feedwright.compiler.service.writing import offers
from feedwright.compiler.verify import verify
from feedwright.grammar.finding import Severity
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs.sheet.front import front
from feedwright.targets.outputs.turns import rule, turns

ANNA = "called anna, right-handed, 1.62 m tall, scatter beginner"
BEN = "called ben, left-handed, 1.86 m tall, scatter tournament"
SCRIPT = """program "Anna and Ben"
    surface   hard
{players}
    feeder    machine academy, on centre, 0.5 m behind baseline, behind a screen

accept reply-unlikely

zone cross
    side      backhand wing
    depth     deep

variation rally "deep and clear of the net"
    reply     into cross, at least 1 m over net

feed steady aims rally
    side      backhand wing
    depth     1 to 3.5 m inside baseline
    stance    2.5 m behind baseline
    height    waist, falling
    spin      topspin 900 rpm
    interval  4 s

session "Two"
{session}
"""
TURNS = "    rotation  changing every 3 balls, changeover 10 s"


@cache
def played(players: str, session: str) -> Compiled:
    text = SCRIPT.format(players=players, session=session)
    return compile_source(Source("people.feed", text), ProfileShelf(None), remedies=False)


def plan_of(players: str, session: str) -> Plan:
    made = played(players, session)
    assert made.plan, made.findings
    return made.plan


def two(session: str) -> Plan:
    return plan_of(f"    player    {ANNA}\n    player    {BEN}\n{TURNS}", session)


def alone(player: str) -> Plan:
    return plan_of(f"    player    {player}", "    8 balls   steady")


BOTH = "    8 balls   steady\n    rest      30 s\n    for ben\n        1 min     steady\n    2 balls   steady for anna"


def test_each_gets_the_ball_of_a_script_of_their_own() -> None:
    """What a player is given beside another is what the player would be given alone: launch, flight and replies."""
    shots = {shot.player: shot for shot in two(BOTH).shots}
    for name, player in (("anna", ANNA), ("ben", BEN)):
        (own,) = alone(player).shots
        same = shots[name].model_copy(update={"id": own.id, "variation": own.variation, "player": own.player})
        assert same.model_copy(update={"player": name}) == own.model_copy(update={"player": name})


def test_hand_and_stature_are_the_players_own() -> None:
    """The waist is 0.620 of the stature (Winter 2009, as in compiler/model/player.py), and the backhand of a
    right-hander is on the left, at positive x."""
    shots = {shot.player: shot for shot in two(BOTH).shots}
    for name, stature, side in (("anna", 1.62, 1), ("ben", 1.86, -1)):
        x, _, z = shots[name].predicted.contact_m
        # 0.05 m: how far settings in steps may be from what is asked before the check tells
        assert z == pytest.approx(stature * BODY_SHARES["waist"], abs=0.05) and x * side > 0
    zones = {v.id: v.reply.zone_m for v in two(BOTH).variations}
    across = [zones[shots[name].variation or ""] for name in ("anna", "ben")]
    assert across[0] and across[1] and across[0][:2] == (-across[1][1], -across[1][0]), "a zone by the hand is mirrored"
    anna, ben = (shots[name].reply for name in ("anna", "ben"))
    assert anna and ben and anna.share_good < ben.share_good, "a beginner scatters more than a tournament player"


def test_a_distance_to_the_side_of_a_stroke_is_by_the_players_own_hand() -> None:
    """The backhand of a right-hander is on the left, at positive x."""
    players = f"    player    {ANNA}\n    player    {BEN}\n{TURNS}"
    text = SCRIPT.format(players=players, session="    8 balls   steady")
    text = text.replace("into cross", "deep, 0.5 to 3 m to own forehand side").replace(
        "    side      backhand wing\n    depth     1", "    side      1 to 2 m to the backhand side\n    depth     1"
    )
    plan = compile_source(Source("people.feed", text), ProfileShelf(None), remedies=False).plan
    assert plan
    asked = {variation.id: variation.reply.zone_m for variation in plan.variations}
    zones = {shot.player: (shot.zone_m, asked[shot.variation or ""]) for shot in plan.shots}
    assert [fed and fed[:2] for fed, _ in zones.values()] == [(1.0, 2.0), (-2.0, -1.0)]
    assert [reply and reply[:2] for _, reply in zones.values()] == [(-3.0, -0.5), (0.5, 3.0)]


def test_a_cycle_for_two_keeps_the_order_that_a_point_would_have() -> None:
    plan = two("    8 balls   cycle steady for anna, steady for ben")
    whose = {shot.id: shot.player for shot in plan.shots}
    assert [whose[ball.shot or ""] for ball in plan.launches] == ["anna", "ben"] * 4


def test_turns_are_counted_in_each_block_and_a_changeover_passes() -> None:
    plan = two(BOTH)
    players = {shot.id: shot.player for shot in plan.shots}
    turns = [(name, len(list(run))) for name, run in groupby(players[ball.first] for ball in plan.launches)]
    assert turns[:3] == [("anna", 3), ("ben", 3), ("anna", 2)]
    assert [name for name, _ in turns[3:]] == ["ben", "anna"] and turns[-1] == ("anna", 2)
    pairs = list(zip(plan.launches, plan.launches[1:], strict=False))
    for one, then in pairs:
        changes = players[one.first] != players[then.first]
        assert then.at_s - one.at_s >= (10 if changes else 4) - 1e-9
    feeder = ProfileShelf(None).load("academy")
    assert feeder and verify(plan, feeder) == []


def test_a_mix_draws_whose_ball_comes() -> None:
    """Six of nine for anna in any order, as the shares say; nobody takes turns, and the same feed is each one's own."""
    plan = two("    9 balls   mix 2 steady for anna, steady for ben")
    players = {shot.id: shot.player for shot in plan.shots}
    drawn = [players[ball.first] for ball in plan.launches]
    assert drawn.count("anna") == 6 and drawn.count("ben") == 3
    assert [name for name, _ in groupby(drawn)] != ["anna", "ben", "anna", "ben"]
    feeder = ProfileShelf(None).load("academy")
    assert feeder and verify(plan, feeder) == []
    (block,) = [block for block in plan.blocks if block.kind == "balls"]
    assert set(block.shots) == set(players)


def test_whose_a_whole_block_is_stands_at_its_end() -> None:
    plan = two("    6 balls   cycle steady, steady for ben\n    6 balls   mix steady for anna and ben")
    players = {shot.id: shot.player for shot in plan.shots}
    drawn = [players[ball.first] for ball in plan.launches]
    assert drawn == ["ben"] * 6 + ["anna"] * 3 + ["ben"] * 3


def test_players_in_a_line_need_no_names_for_a_changeover() -> None:
    """The next steps up after every three balls, 10 s after the last of them, and as a block begins."""
    line = "    player    right-handed, 1.72 m tall, 2 taking turns, changing every 3 balls, changeover 10 s"
    plan = plan_of(line, "    7 balls   steady\n    rest      30 s\n    2 balls   steady")
    assert [ball.at_s for ball in plan.launches] == [0, 4, 8, 18, 22, 26, 36, 70, 74]
    plan = plan_of(line, "    2 balls   steady\n    2 balls   steady")
    assert [ball.at_s for ball in plan.launches] == [0, 4, 14, 18]


@pytest.mark.parametrize(
    "line",
    [
        "2 taking turns, changing every 2 balls, changeover 10 s",
        "2 taking turns, changing every 2 points, changeover 10 s",
        "2 taking turns\n    rotation changing every 2 points, changeover 10 s",
    ],
)
def test_players_in_a_line_change_between_points_never_inside_one(line: str) -> None:
    """A point and a ball beside it count as one: two points of two balls 4 s apart, then the next player 10 s later;
    in a block of balls the same line counts balls."""
    session = "    4 points  rally\nrest      30 s\n    3 points  cycle rally, steady\nrest 30 s\n    3 balls steady"
    session = session.replace("\nrest", "\n    rest")
    script = SCRIPT.replace("session ", "point rally\n    plays steady, then steady\n\nsession ")
    text = script.format(players=f"    player    right-handed, 1.72 m tall, {line}", session=session)
    found = compile_source(Source("t.feed", text), ProfileShelf(), plan=True, remedies=False)
    assert found.plan, [one.headline for one in found.findings]
    plan, blocks = found.plan, [block for block in found.plan.blocks if block.kind == "balls"]
    at = [[ball.at_s - block.start_s for ball in plan.launches if ball.block == block.index] for block in blocks]
    late = at[1][0]
    assert at[0] == [0, 4, 8, 12, 22, 26, 30, 34]
    assert [round(s - late, 4) for s in at[1]] == [0, 4, 8, 18, 22]
    assert [round(s - at[2][0], 4) for s in at[2]] == [0, 4, 14]
    assert [[turn.balls for turn in turns(plan, block)] for block in blocks] == [[4, 4], [3, 2], [2, 1]]
    assert "after every 2 balls or points" in rule(plan, plan.blocks)


def test_one_line_says_when_players_in_a_line_change() -> None:
    twice = (
        "    player    right-handed, 1.72 m tall, 2 taking turns, changing every ball\n    rotation changing every ball"
    )
    assert [one.code for one in played(twice, "    4 balls   steady").findings if one.severity is Severity.ERROR] == [
        "duplicate"
    ]


def test_loads_add_up() -> None:
    """All balls, and all time of blocks from their first ball on: eight balls with two changeovers, a minute, two
    balls."""
    plan = two(BOTH)
    loads = {load.player: load for load in plan.totals.loads}
    assert list(loads) == ["anna", "ben"] and sum(load.balls for load in loads.values()) == plan.totals.balls
    firsts = {ball.block: ball.at_s for ball in reversed(plan.launches)}
    spent = sum(plan.blocks[block].end_s - at for block, at in firsts.items())
    assert sum(load.duration_s for load in loads.values()) == pytest.approx(spent, abs=1e-3)  # each rounds to 0.1 ms
    assert loads["anna"].balls == 5 + 2 and loads["anna"].duration_s == 2 * 4 + 10 + 2 * 4 + 2 * 4
    told = dict(front(plan, ()).facts)["Players"]
    assert "anna, right-handed, 1.62 m tall, 7 balls in 0:34 min; ben, left-handed" in told


def test_a_feed_that_one_player_gets_keeps_its_name() -> None:
    plan = two("    8 balls   steady for ben")
    assert [(shot.id, shot.player) for shot in plan.shots] == [("steady", "ben")]
    assert [load.balls for load in plan.totals.loads] == [0, 8]


def test_an_editor_renames_and_offers_players() -> None:
    text = SCRIPT.format(
        players=f"    player    {ANNA}\n    player    {BEN}\n{TURNS}", session="    8 balls   steady for "
    )
    script = opened(Source("people.feed", text), None)
    end = text.rindex("for ") + 4
    assert [offer.text for offer in offers(script, end, ProfileShelf(None))] == ["anna", "ben"]
    script = opened(Source("people.feed", text.replace("steady for ", "steady for anna and ben")), None)
    edits = renamed(script, text.index("called anna") + 8, "carla")
    assert edits and len(edits) == 2


@pytest.mark.parametrize(("every", "balls"), [(10, 40), (5, 60), (3, 120)])
def test_each_who_takes_turns_gets_the_shares_of_a_mix(every: int, balls: int) -> None:
    """Of ten balls 5, 3 and 2, counted by hand; also of players in a line without names."""
    more = "\nfeed high, like steady\n    height 1.5 m over net\nfeed low, like steady\n    height 0.8 m over net\n"
    mixed = f"    {balls} balls mix 5 steady, 3 high, 2 low"
    each = balls // 20
    text = SCRIPT.replace('\nsession "Two"', f'{more}\nsession "Two"')
    named = f"    player {ANNA}\n    player {BEN}\n    rotation changing every {every} balls"
    in_line = f"    player right-handed, 2 taking turns, changing every {every} balls"
    for players in (named, in_line):
        script = text.format(players=players, session=mixed)
        plan = compile_source(Source("people.feed", script), ProfileShelf(None), remedies=False).plan
        assert plan
        feeds = {shot.id: shot.feed for shot in plan.shots}
        turns = [(n // every % 2, feeds[ball.first]) for n, ball in enumerate(plan.launches)]
        assert Counter(turns) == {
            (turn, name): each * share
            for turn in (0, 1)
            for name, share in (("steady", 5), ("high", 3), ("low", 2))
        }  # fmt: skip
