"""How far the player goes for a ball, in the table of a check, in `show` and in a plan."""

import contextlib
import io
from functools import cache
from pathlib import Path

import pytest

from feedwright.compiler.model.compiled import Compiled
from feedwright.compiler.model.player import stroke
from feedwright.compiler.moves import reached, recognised
from feedwright.compiler.pipeline import compile_source, read_source
from feedwright.compiler.trace import trajectories
from feedwright.compiler.verify import verify
from feedwright.grammar.source import Source
from feedwright.targets.command.summary import as_json, sum_up
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.show import terminal
from feedwright.targets.outputs.show.figures import figures

PAGE = (Path(__file__).parent.parent / "grammar" / "LANGUAGE.md").read_text("utf-8")
SCRIPT = """\
program "Ways"
    surface   hard
    player    right-handed, 1.70 m tall
    feeder    machine club, on centre, on baseline, behind a screen
{limit}
feed at-the-left-hand
    side      1.5 to 3.5 m left of centre
    depth     1 to 4 m inside baseline
    stance    2.5 m behind baseline
{starts}
    height    1 m over net
    spin      topspin 900 rpm
    interval  6 s

session "Ways"
    10 balls  at-the-left-hand
"""
STARTS = "    starts    0.5 m left of centre, 1 m behind baseline"


@cache
def compiled(starts: str = "", limit: str = "") -> Compiled:
    text = SCRIPT.format(starts=starts, limit=f"    limit     {limit}\n" if limit else "")
    return compile_source(Source("ways.feed", text), ProfileShelf(), remedies=False)


def told(one: Compiled) -> list[str]:
    with contextlib.redirect_stdout(out := io.StringIO()):
        sum_up(one, legend=True)
    return out.getvalue().splitlines()


def test_the_way_is_from_where_the_player_starts_to_where_the_ball_is_in_reach() -> None:
    """Half a metre aside and a metre and a half back, by Pythagoras; the reach is 0.7 m."""
    one = compiled(STARTS)
    (shot,) = one.plan.shots
    x, y, _ = shot.predicted.contact_m
    way = ((x - 0.5 - 0.7) ** 2 + (y - 11.885 - 1.0) ** 2) ** 0.5
    assert shot.way_m == pytest.approx(way, abs=1e-3)
    assert as_json(one)["balls"][0]["way_m"] == pytest.approx(way, abs=0.01)
    lines = told(one)
    head = lines[1]
    assert lines[4][head.index("way") :].split()[0] == f"{way:.1f}B"
    assert max(map(len, lines)) <= 80 and any(line.startswith("Way:") for line in lines)
    picture = terminal.render(one.plan, trajectories(one.plan))
    assert "way" in next(line for line in picture.splitlines() if "replies" in line)
    assert f"Way:              {way:.1f} m, from where the player waits" in picture


def test_without_a_line_that_asks_nobody_is_told_of_a_way() -> None:
    one = compiled()
    assert one.plan.shots[0].way_m is None
    assert not any("Way" in line or " way " in line for line in told(one))
    assert " way" not in terminal.render(one.plan, trajectories(one.plan))


def test_a_limit_of_the_script_counts_from_the_centre_and_is_in_the_plan() -> None:
    (shot,) = compiled("", "way at most 2 m").plan.shots
    (limit,) = shot.limits
    assert (limit.of, limit.most, limit.words) == ("way", 2.0, ("limit way at most 2 m",))
    assert shot.waits_m == (0.0, shot.predicted.contact_m[1])
    assert shot.way_m == pytest.approx(shot.predicted.contact_m[0] - 0.7, abs=1e-3)
    assert limit.share_kept > 0.9  # fewer would be a warning


@pytest.mark.parametrize("forged", [{"way_m": 0.5}, {"waits_m": (3.0, 14.0)}, {"words": {"stroke": "forehand"}}])
def test_a_plan_that_tells_another_way_is_refused(forged: dict[str, object]) -> None:
    plan = compiled(STARTS).plan
    other = plan.model_copy(update={"shots": (plan.shots[0].model_copy(update=forged),)}).sealed()
    wrong = verify(other, ProfileShelf().load("club"))
    assert any("its way as" in sentence for sentence in wrong), wrong
    assert not verify(plan, ProfileShelf().load("club"))


@pytest.mark.parametrize(
    ("starts", "hand", "cell", "said"),
    [
        (STARTS, "right", "B", "backhand"),  # the ball comes to the player's left
        (STARTS, "left", "F", "forehand"),
        ("    starts    4 m left of centre", "right", "F", "forehand"),  # and from farther left it is to the right
        ("    starts    2.7 m left of centre", "right", "", ""),
        ("", "right", "", ""),
    ],
)
def test_a_stroke_is_named_where_it_is_said_on_which_side_the_player_waits(
    starts: str, hand: str, cell: str, said: str
) -> None:
    text = SCRIPT.format(starts=starts, limit="").replace("right-handed", f"{hand}-handed")
    one = compile_source(Source("ways.feed", text), ProfileShelf(), remedies=False)
    (row,) = as_json(one)["balls"]
    assert row["stroke"] == (said or None)
    assert not starts or f"{row['way_m']:.1f}{cell} " in "\n".join(told(one))
    (shot,) = one.plan.shots
    facts = dict(figures(one.plan, shot))
    assert ("Way" in facts) is bool(starts)
    assert not starts or facts["Way"].endswith(f", to a {said}" if said else "waits")
    assert sheet(one.plan).rows[0].small.count(f", a {said}") == bool(said)


def test_a_ball_over_the_head_is_neither() -> None:
    assert [stroke("right", 1.7, 0.0, (1.0, 12.0, z)) for z in (1.6, 1.8)] == ["backhand", ""]
    assert stroke("right", None, 0.0, (-1.0, 12.0, 1.6)) == "forehand"


def test_a_two_handed_backhand_has_a_longer_way() -> None:
    text = SCRIPT.format(starts=STARTS, limit="").replace("right-handed,", "right-handed, two-handed backhand,")
    two = compile_source(Source("ways.feed", text), ProfileShelf(), remedies=False).plan
    assert two.shots[0].way_m > compiled(STARTS).plan.shots[0].way_m
    assert not verify(two, ProfileShelf().load("club"))


def test_a_wide_ball_is_met_as_much_farther_out_as_the_page_says() -> None:
    """On the straight line from the feeder; where an ordinary ball falls to the waist behind the baseline."""
    for line in ("baseline", "service line"):
        text = SCRIPT.format(starts="", limit="").replace("on baseline", f"on {line}")
        text = text.replace("2.5 m behind baseline", "where it is waist high, falling")
        (shot,) = compile_source(Source("ways.feed", text), ProfileShelf(), remedies=False).plan.shots
        assert shot.predicted.contact_m[1] > 11.885
        assert shot.predicted.contact_m[0] / shot.predicted.landing_m[0] - 1 == pytest.approx(1 / 4, abs=0.04)
    assert "about a quarter farther out than it lands" in PAGE


PLAYERS = {
    "an adult": ("singles", "1.75 m tall", True),
    "an adult who does not know it, as in a mix": ("singles", "1.75 m tall", False),
    "`court green`, 1.38 m tall": ("green", "1.38 m tall", True),
    "`court red`, 1.2 m tall": ("red", "1.2 m tall", True),
    "in a chair (`two bounces`)": ("singles", "two bounces", True),
}


def test_a_player_gets_as_far_in_a_time_as_the_page_says() -> None:
    """The sources of the times stand in `compiler/moves.py`."""
    _, rows = PAGE.split("| the player, who knows which ball comes |")
    heads, _, *lines = rows.split("\n\n")[0].splitlines()
    times = [float(cell.removesuffix(" s")) for cell in heads.strip("| ").split(" | ")]
    told = {cells[0]: [float(far) for far in cells[1:]] for cells in (line.strip("| ").split(" | ") for line in lines)}
    assert told.keys() == PLAYERS.keys()
    for name, (court, player, known) in PLAYERS.items():
        said = SCRIPT.format(starts="", limit=f"    court {court}\n").replace("1.70 m tall", player)
        seen = read_source(Source("ways.feed", said), ProfileShelf()).program
        assert seen
        for time, far in zip(times, told[name], strict=True):
            needs = [recognised(court, known) + reached(seen, far + more) for more in (0.0, 0.1)]
            assert needs[0] <= time < needs[1], (name, time)


def asked(stroke: str, more: str = "", hand: str = "right-handed", aims: str = "") -> Compiled:
    """The ball of the script, to be taken with this stroke: a line of it, or of its variation."""
    line = f"    stroke    {stroke}\n"
    text = SCRIPT.format(starts=f"{STARTS}\n{more}{'' if aims else line}", limit="").replace("right-handed", hand)
    if aims:
        goal = f'variation {aims} "long"\n    reply     0 to 6 m inside baseline\n{line}\n'
        text = text.replace("feed at-the-left-hand", f"{goal}feed at-the-left-hand aims {aims}")
    return compile_source(Source("ways.feed", text), ProfileShelf(), remedies=False)


@pytest.mark.parametrize(
    ("stroke", "hand", "clear"),
    [
        ("backhand", "right-handed", -0.7),  # the ball comes to the player's left
        ("backhand", "right-handed, two-handed backhand", -0.5),
        ("forehand", "right-handed", 0.3),  # and a forehand has it to the right, so nearer it may be either
        ("forehand", "left-handed", -0.7),
        ("backhand", "left-handed, two-handed backhand", 0.3),
    ],
)
def test_the_way_leads_to_the_side_of_the_stroke_that_is_asked(stroke: str, hand: str, clear: float) -> None:
    """From half a metre left of the centre and a metre behind the baseline, by Pythagoras."""
    one = asked(stroke, hand=hand)
    (shot,) = one.plan.shots
    x, y, _ = shot.predicted.contact_m
    assert shot.way_m == pytest.approx(((x - 0.5 + clear) ** 2 + (y - 11.885 - 1.0) ** 2) ** 0.5, abs=1e-3)
    assert not verify(one.plan, ProfileShelf().load("club"))
    assert as_json(one)["balls"][0]["stroke"] == stroke
    assert sheet(one.plan).rows[0].small.count(f", a {stroke}") == 1
    assert dict(figures(one.plan, shot))["Way"].endswith(f", to a {stroke}")
    assert ("run-round" in {finding.code for finding in one.findings}) is (clear > 0)


def test_a_variation_says_the_stroke_for_all_its_balls_and_a_feed_for_itself() -> None:
    whole = asked("forehand", aims="long")
    assert whole.plan.shots[0].way_m == asked("forehand").plan.shots[0].way_m
    assert (
        asked("forehand", "    stroke    backhand\n", aims="long").plan.shots[0].way_m
        == asked("backhand").plan.shots[0].way_m
    )
    assert whole.plan.shots[0].words["stroke"] == "forehand"


def test_a_bound_of_the_way_and_the_time_to_get_there_count_the_stroke() -> None:
    """A forehand at the backhand side asks for a metre more of way, so the ball is aimed a metre nearer."""
    aims = [
        asked(stroke, "    way       at most 2.6 m\n").plan.shots[0].predicted.contact_m[0]
        for stroke in ("forehand", "backhand")
    ]
    assert aims[0] < aims[1]
    program = compiled(STARTS).program
    assert program
    for one, body in (("forehand", 0.3), ("backhand", -0.7)):
        assert reached(program, 2.0, asked=one) == pytest.approx(reached(program, 2.0 + body + 0.7), abs=1e-9)


def test_without_a_place_to_wait_the_stroke_alone_is_told() -> None:
    text = SCRIPT.format(starts="    stroke    forehand", limit="")
    one = compile_source(Source("ways.feed", text), ProfileShelf(), remedies=False)
    (shot,) = one.plan.shots
    assert shot.way_m is None and dict(figures(one.plan, shot))["Stroke"] == "forehand"
    lines = told(one)
    assert lines[4][lines[1].index("way") :].split()[0] == "F"
    (note,) = [finding for finding in one.findings if finding.code == "run-round"]
    assert "to the backhand side of the centre" in note.message.text()
