"""What a check says of each ball: facts apart, the same figures everywhere, and proposals that keep the wish."""

import json
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from feedwright.compiler.fit import COARSE
from feedwright.compiler.model.compiled import Compiled
from feedwright.compiler.model.program import FixedBy
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.reach import ASKED
from feedwright.compiler.report.render import given
from feedwright.compiler.trace import trajectories
from feedwright.compiler.verdicts import rows
from feedwright.compiler.verify import verify
from feedwright.grammar.edits import Remedy
from feedwright.grammar.facts import Difference, Metres
from feedwright.grammar.finding import Finding
from feedwright.grammar.source import Source, Span
from feedwright.programs import ScriptShelf
from feedwright.targets.command.summary import _table, as_json, sum_up
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.dry import dry_run
from feedwright.targets.machine.replay.places import places, shelf
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.phone import render as phone
from feedwright.targets.outputs.show.page import render as page
from feedwright.targets.outputs.show.terminal import render as terminal
from feedwright.targets.outputs.table import render
from feedwright.targets.outputs.verdict import PLAIN, by_word, worst

from .shipped import OF_A_KIND, PROGRAMS
from .shipped import compiled as of_path

HEAD = """\
program "Tuesday at Brackenmoor"
    surface   hard
    player    right-handed, 1.75 m tall
    feeder    machine club, on centre, on baseline, behind a screen

"""
FEED = """\
feed steady
    side      middle
    depth     1 to 4 m inside baseline
    stance    1 m behind baseline
    height    1 m over net
    spin      topspin 600 rpm
    interval  5 s

"""
SESSION = """\
session "Practice"
    10 balls  steady
"""


@cache
def compiled(*changes: tuple[str, str], before: str = HEAD) -> Compiled:
    feed = FEED
    for line, instead in changes:
        feed = re.sub(rf"^    {line} .*$", f"    {line} {instead}", feed, flags=re.M)
    return compile_source(Source("verdict.feed", before + feed + SESSION), ProfileShelf(None), ScriptShelf(None))


def only(found: Compiled, code: str) -> Finding:
    (finding,) = (f for f in found.findings if f.code == code)
    return finding


def mended(found: Compiled, finding: Finding, which: int = 0) -> Compiled:
    remedy, text = finding.remedies[which], found.source.text
    new = text[: remedy.span.start] + remedy.text + text[remedy.span.end :]
    return compile_source(Source("verdict.feed", new), ProfileShelf(None), ScriptShelf(None))


def test_check_and_sheet_call_the_same_side_left(capsys: pytest.CaptureFixture[str]) -> None:
    """Both give the feeder's sides: a right-hander's forehand, at the player's right, is at the feeder's left."""
    found = of_path(next(path for path in OF_A_KIND if path.stem.startswith("08")))
    assert found.plan
    sum_up(found)
    printed = dict(re.findall(r"^(\w+) .*? \d+\.\d \d\.\d([LR]) ", capsys.readouterr().out, flags=re.M))
    on_paper = {row.letter: re.search(r"\b(left|right)\b", " ".join(row.cells[0])) for row in sheet(found.plan).rows}
    both = [(side, on_paper[letter]) for letter, side in printed.items()]
    assert {side for side, _ in both} == {"L", "R"}
    assert all(told and told[0][0].upper() == side for side, told in both)


# ---- facts apart


def test_a_ball_that_skims_the_cord_is_told_and_the_proposal_keeps_two_standard_deviations() -> None:
    """Of a normal distribution 97.7 % lie above two standard deviations under its mean: any table of it."""
    found = compiled(("height", "0 m over net"), ("spin", "backspin 1200 rpm"))
    finding = only(found, "net-often")
    assert found.evaluation and found.evaluation.scatterings["steady"].over_net < 0.9
    assert finding.remedies
    after = mended(found, finding)
    assert after.evaluation and after.evaluation.scatterings["steady"].over_net >= 0.977
    assert not [f for f in after.findings if f.code == "net-often"]
    # And it says what it gives up.
    assert {one.what for one in finding.remedies[0].cost} >= {"height over net", "pace"}


def test_a_ball_at_its_limit_breaks_it_half_of_the_time_and_the_proposal_keeps_two_standard_deviations() -> None:
    """Half of a symmetrical distribution lies above its mean, and 97.7 % of a normal one under its mean and two
    deviations: any table of it."""
    found = compiled(("height", "2 m over net"), ("depth", "1 to 9 m inside baseline"))
    assert found.shots
    speed = found.shots.shots["steady"].speed * 3.6
    at = HEAD.rstrip() + f"\n    limit     pace at most {speed:.1f} km/h\n\n"
    found = compiled(("height", "2 m over net"), ("depth", "1 to 9 m inside baseline"), before=at)
    finding = only(found, "bound-often")
    assert found.evaluation and found.evaluation.scatterings["steady"].kept[FixedBy.PACE][0] == pytest.approx(
        0.5, abs=0.1
    )
    after = mended(found, finding)
    assert after.evaluation and after.evaluation.scatterings["steady"].kept[FixedBy.PACE][0] >= 0.977
    assert not [f for f in after.findings if f.code == "bound-often"]
    assert finding.remedies[0].cost


def test_plan_sheet_and_replay_say_how_many_balls_keep_a_limit_and_refuse_one_that_is_broken() -> None:
    found = of_path(next(path for path in PROGRAMS if path.stem.startswith("33")))
    assert found.plan and found.evaluation
    for shot in found.plan.shots:
        for limit in shot.limits:
            what = next(what for what, words in ASKED.items() if words == limit.of)
            assert limit.share_kept == pytest.approx(found.evaluation.scatterings[shot.id].kept[what][0], abs=1e-4)
    facts = dict(sheet(found.plan).front.facts)
    shares = [one.share_kept_least or 0.0 for s in found.plan.shots for one in s.limits if "shoulder" in one.words[0]]
    assert re.match(
        f"no ball met above shoulder: at {11 - int(10 * min(shares))} in ten that break it STOP, tell the coach; the "
        r"machine keeps pace at most 75 km/h in \d+-100% of the balls; the machine keeps height at least 0\.8 m over ",
        facts["Limits"],
    )
    feeder = ProfileShelf(None).load("academy")
    assert feeder and not verify(found.plan, feeder)
    ball, *rest = found.plan.shots
    lowered = {"most": 0.5, "words": ("limit nothing above shoulder", "no higher than knee")}
    limits = [limit.model_copy(update=lowered) if limit.unit == "m" and limit.most else limit for limit in ball.limits]
    lower = ball.model_copy(update={"limits": tuple(limits)})
    forged = found.plan.model_copy(update={"shots": (lower, *rest)}).sealed()
    said = "Ball soft: it does not keep `limit nothing above shoulder` and `no higher than knee`."
    assert verify(forged, feeder) == [said]


def test_net_zone_and_height_are_told_apart() -> None:
    """A machine that repeats well passes the net with every ball and may yet miss a zone of a hand's breadth."""
    found = compiled(("depth", "2 to 2.3 m inside baseline"))
    assert {f.code for f in found.findings} == {"zone-small"}
    person = HEAD.replace("machine club, on centre, on baseline", "person racket, on centre, 1 m behind service line")
    volley = compiled(("depth", "1 to 9 m inside baseline"), before=person)
    assert "height-varies" not in {f.code for f in volley.findings}


def test_many_equal_balls_are_a_note_and_no_warning() -> None:
    text = (
        HEAD + FEED + SESSION.replace("10 balls  steady", "3 min     steady\n    rest      1 min\n    3 min     steady")
    )
    found = compile_source(Source("verdict.feed", text), ProfileShelf(None), ScriptShelf(None))
    assert [(f.code, f.severity.value) for f in found.findings] == [("many-alike", "note")]
    assert "accept many-alike" in " ".join(found.findings[0].advice)


# ---- proposals keep the wish


def test_much_topspin_does_not_become_another_spin() -> None:
    finding = only(compiled(("spin", "topspin 2600 rpm")), "feeder-limit")
    spins = [remedy.text for remedy in finding.remedies if "spin" in remedy.text or "flat" in remedy.text]
    assert spins and all(text.startswith("spin topspin") for text in spins)


def test_the_place_gives_way_before_the_pace_and_the_pace_before_height_and_spin() -> None:
    kinds = {"depth": 0, "stance": 0, "side": 0, "pace": 1, "time": 1, "height": 2, "spin": 2}
    found = compiled(
        ("side", "backhand wing"), ("depth", "1 to 3.5 m inside baseline"), ("height", "shoulder, falling"),
        ("spin", "topspin 1800 rpm"),
    )  # fmt: skip
    finding = only(found, "phase-not-there")
    order = [kinds[remedy.text.split()[0]] for remedy in finding.remedies]
    assert len(order) >= 3 and order == sorted(order)
    assert all(remedy.cost for remedy in finding.remedies)


def test_a_block_that_empties_the_hopper_is_interrupted_and_its_lines_are_proposed() -> None:
    text = HEAD + FEED + SESSION.replace("10 balls  steady", "130 balls  steady")
    found = compile_source(Source("verdict.feed", text), ProfileShelf(None), ScriptShelf(None))
    finding = only(found, "collect-added")
    assert [remedy.text.split() for remedy in finding.remedies] == [
        ["collect", "2", "min", "when", "empty"],
        ["65", "balls", "steady", "collect", "2", "min", "65", "balls", "steady"],
    ]
    after = mended(found, finding)
    assert not [f for f in after.findings if f.code == "collect-added"]
    assert after.totals and found.totals and after.totals.balls == found.totals.balls == 130


# ---- the table


@pytest.mark.parametrize("path", OF_A_KIND, ids=lambda path: path.stem)
def test_the_table_has_the_figures_and_letters_of_the_plan_at_80_columns(
    path: object, capsys: pytest.CaptureFixture[str]
) -> None:
    found = of_path(path)  # type: ignore[arg-type]
    assert found.plan
    told = rows(found)
    assert {row.ball: row.letter for row in told} == letters(found.plan).of
    for row, shot in zip(told, found.plan.shots, strict=True):
        assert row.scattering and shot.spread and round(row.scattering.in_zone, 4) == shot.spread.share_in_zone
    sum_up(found)
    printed = capsys.readouterr().out.splitlines()
    assert max(map(len, printed)) <= 80
    assert [line for line in printed if line.endswith(("-", ","))] == [
        line
        for line in printed
        if (
            line.startswith(("good replies", "  ", "each player", "balls of each", "of 100 balls", "met with", "(^)"))
            and line.endswith(",")
        )
        or line.endswith(" min,")
        or re.match(r"\d+ (min|balls) .*(mix|cycle|score) .*,$", line)  # a block in the words of the script
    ]


def test_a_volley_whose_height_may_vary_asks_for_no_care() -> None:
    """On the full the place is the side and the height; a check warns of either, and here of none."""
    plan = of_path(next(path for path in PROGRAMS if path.stem.startswith("04"))).plan
    assert plan and {tuple(shot.accepted) for shot in plan.shots} == {("height-varies",)}
    assert all(by_word(plan, shot)[0][0] == "accepted" for shot in plan.shots)


def test_what_the_script_accepts_is_told_by_check_page_sheet_and_phone(capsys: pytest.CaptureFixture[str]) -> None:
    """One rule for all: no problem and no proposal, but never left out, and never called care."""
    narrow = ("depth", "2 to 2.3 m inside baseline")
    asked, found = compiled(narrow), compiled(narrow, before=f"accept zone-small\n\n{HEAD}")
    assert not found.findings and [finding.code for finding in found.accepted] == ["zone-small"]
    sum_up(found)
    printed = capsys.readouterr().out
    assert "no problems; 1 warning accepted" in printed and "\n(^) accepted: zone-small of A\n" in printed
    assert as_json(found)["balls"][0]["accepted"] == ["zone-small"]  # type: ignore[index]
    assert asked.plan and found.plan
    for plan, word in ((asked.plan, "care"), (found.plan, "accepted")):
        (shot,) = plan.shots
        assert worst(plan, shot) == word
        assert word in page(plan, trajectories(plan)).decode()
        assert f"{PLAIN[word]} {word}" in terminal(plan, trajectories(plan))
        front = dict(sheet(plan).front.facts)
        assert ("Accepted" in front) is (word == "accepted")
        assert (">by the coach: a zone too small" in phone(plan).decode()) is (word == "accepted")


def test_a_warning_without_a_share_is_accepted_in_its_own_words() -> None:
    """A smash is over the head, which no share of the picture says."""
    plan = of_path(next(path for path in PROGRAMS if path.stem.startswith("15"))).plan
    assert plan
    told = [dict(by_word(plan, shot))["accepted"] for shot in plan.shots if "over-the-head" in shot.accepted]
    assert told and all("over the player's head (over-the-head)" in words for words in told)


def test_what_asks_for_care_is_marked_in_word_and_shape(capsys: pytest.CaptureFixture[str]) -> None:
    found = compiled(("depth", "2 to 2.3 m inside baseline"))
    sum_up(found)
    assert re.search(r"^ *A steady .*\n +\(!\) zone-small$", capsys.readouterr().out, re.M)
    impossible = compiled(("height", "9 m over net"))
    sum_up(impossible)
    assert re.search(r"steady +impossible\n +\(x\) ", capsys.readouterr().out)


def test_a_ball_that_others_would_miss_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    low = (("depth", "4 to 7 m inside baseline"), ("height", "0.5 m over net"), ("spin", "backspin 900 rpm"))
    found = compiled(*low, ("stance", "on baseline"), before=HEAD.replace("hard", "grass"))
    (ball,) = found.plan.shots if found.plan else ()
    assert ball.spread and None in (ball.spread.least_drag_contact_m, ball.spread.most_drag_contact_m)
    sum_up(found)
    assert re.search(r"make, m: A 0\.\d\d-0\.\d\d or not after its bounce\n", capsys.readouterr().out)


def test_json_has_the_same_rows() -> None:
    found = compiled(("depth", "2 to 2.3 m inside baseline"))
    (ball,) = json.loads(json.dumps(as_json(found)))["balls"]
    assert (ball["letter"], ball["ball"], ball["marks"]) == ("A", "steady", ["zone-small"])
    scattering = found.evaluation.scatterings["steady"] if found.evaluation else None
    assert scattering and ball["share_in_zone"] == round(scattering.in_zone, 3)
    assert ball["contact_phase"] in ("rising", "falling", "top") and ball["bounces"] == 1
    low, high = sorted(ball["contact_height_ends_m"])  # with the most and the least drag
    assert low < ball["contact_m"][2] < high


# ---- ladders


def ladder(rungs: str, *rules: str) -> Compiled:
    lines = "".join(f"        {rule}\n" for rule in rules)
    text = HEAD + FEED.replace("height    1 m over net", "pace      80 km/h")
    text += f'session "Practice"\n    ladder    steady, up to 20 balls, {rungs}\n{lines}'
    return compile_source(Source("verdict.feed", text), ProfileShelf(None), ScriptShelf(None))


def test_harder_climbs_to_the_faster_ball_however_the_rungs_are_written() -> None:
    found = ladder("pace 100, 80, 90 km/h", "from 90 km/h", "harder 3 in a row", "easier 2 misses in 3")
    assert found.plan
    rule = found.plan.blocks[0].ladder
    assert rule and rule.labels == ("80 km/h", "90 km/h", "100 km/h") and rule.start == 1
    speeds = {shot.id: shot.launch.speed_mps for shot in found.plan.shots}
    assert [speeds[rung] for rung in rule.shots] == sorted(speeds.values())


def test_a_ladder_leaves_less_and_less_time() -> None:
    """Each rung reaches the player after its time, as near as the settings of the machine come."""
    found = ladder("time 1.6, 1.4, 1.8 s to contact", "from 1.6 s to contact", "harder 3 in a row")
    assert found.plan and (rule := found.plan.blocks[0].ladder)
    assert rule.labels == ("1.8 s", "1.6 s", "1.4 s") and rule.start == 1
    times = {shot.id: shot.predicted.contact_s for shot in found.plan.shots}
    assert [times[rung] for rung in rule.shots] == pytest.approx([1.8, 1.6, 1.4], abs=COARSE[FixedBy.TIME])


def test_it_starts_on_the_rung_that_is_written_first() -> None:
    found = ladder("pace 100, 80, 90 km/h", "harder 3 in a row")
    assert found.plan and found.plan.blocks[0].ladder and found.plan.blocks[0].ladder.start == 2


def test_table_and_dry_run_show_the_rung_on_which_the_ladder_starts() -> None:
    plan, club = ladder("pace 100, 90, 80 km/h", "harder 3 in a row").plan, ProfileShelf(None).load("club")
    assert plan and club
    assert {ball.unmarked(plan.blocks[0].ladder) for ball in plan.launches} == {plan.blocks[0].shots[2]}
    rows = render(plan).decode().splitlines()[-len(plan.launches) :]
    assert all("steady rung 3 " in row and " 100 " in row for row in rows)
    shown = "\n".join(dry_run(shelf(plan), [("", places(plan))], 10, club))
    assert "ball 1: steady rung 3: " in shown


def test_the_line_that_is_written_says_what_it_replaces_and_each_other_figure_its_name() -> None:
    line = Difference("stance", "2 m behind baseline", "0.75 m behind baseline", written=True)
    height = Difference("height at the player", Metres(0.04), Metres(0.75))
    remedy = Remedy(Span(Source("a.feed", "stance 2 m"), 0, 10), "stance 0.75 m behind baseline", (line, height))
    assert given(remedy) == "in place of 2 m behind baseline; height at the player 0.75 m, not 0.04 m"


def test_what_was_found_is_told_of_each_ball_of_a_family() -> None:
    where, steps = ("stance", "where it is waist high, falling"), ("depth", "1 to 5 m inside baseline, in 2 steps")
    note = only(compiled(where, steps), "ball-found")
    (other,) = note.advice
    assert note.headline.startswith("steady 1 ") and other.startswith("and steady 2: stance ")
    assert note.headline.rpartition("stance ")[2] != other.rpartition("stance ")[2]


def test_a_way_up_that_is_easier_is_told_and_what_is_proposed_turns_it() -> None:
    found = ladder("pace 100, 90, 80 km/h", "up 3 in a row")
    after = mended(found, only(found, "ladder-order"))
    assert after.plan and after.plan.blocks[0].ladder
    assert after.plan.blocks[0].ladder.labels == ("80 km/h", "90 km/h", "100 km/h")
    assert not ladder("pace 80, 90, 100 km/h", "up 3 in a row").findings


# ---- players who take turns


def test_the_next_player_has_the_changeover_and_the_others_the_interval() -> None:
    turns = HEAD.replace("1.75 m tall", "1.75 m tall, 2 taking turns, changing every 2 balls, changeover 15 s")
    found = compiled(before=turns)
    assert found.plan and not found.findings
    at = [ball.at_s for ball in found.plan.launches]
    assert [round(two - one, 3) for one, two in pairwise(at)] == [5, 15, 5, 15, 5, 15, 5, 15, 5]


def test_a_short_changeover_is_told_with_a_line_that_gives_time() -> None:
    turns = HEAD.replace("1.75 m tall", "1.75 m tall, 2 taking turns, changing every 2 balls")
    finding = only(compiled(("interval", "3 s"), before=turns), "changeover-short")
    assert [remedy.text for remedy in finding.remedies] == [", changeover 5 s"]
    assert not mended(compiled(("interval", "3 s"), before=turns), finding).findings


@pytest.mark.parametrize("accepted", ["", "accept feeder-in-the-way\n\n"])
def test_a_person_who_feeds_without_a_screen_is_always_cautioned(accepted: str) -> None:
    person = HEAD.replace(
        "machine club, on centre, on baseline, behind a screen", "person racket, 4 m left of centre, 2 m from net"
    )
    found = compiled(("depth", "1 to 9 m inside baseline"), before=person + accepted)
    assert "no-screen" in {f.code for f in found.findings}
    screened = compiled(
        ("depth", "1 to 9 m inside baseline"), before=person.replace("from net", "from net, behind a screen")
    )
    assert "no-screen" not in {f.code for f in screened.findings}


def test_a_ball_with_two_letters_has_its_figures_once() -> None:
    """A rung may be the very ball that another line plays; its row names that ball's letter."""
    first, *_ = (ball for ball in rows(of_path(OF_A_KIND[0])) if ball.shot)
    again = replace(first, letter="B9", ball="again")
    told = [line for line, _ in _table([first, again], ())]
    assert told[-1].split() == ["B9", "again", "the", "same", "ball", "as", first.letter]
    assert not any("the same ball" in line for line, _ in _table([first, replace(again, feed="other")], ()))
