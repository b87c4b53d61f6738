"""The log summed up, shown and advised on, against a plain reading of its rows."""

import io
import random
import re
from collections import defaultdict
from contextlib import closing
from dataclasses import replace
from itertools import groupby
from pathlib import Path

import pytest
from rich.console import Console

from feedwright.compiler.model.chance import Goal, chance_of_hits, needed_share
from feedwright.targets.log.advice import CLOSING, advice, rung_hit_half
from feedwright.targets.log.figures import (
    Count,
    Figures,
    LadderFigures,
    Scope,
    VariationFigures,
    count_rungs,
    figures,
    most,
)
from feedwright.targets.log.page import render
from feedwright.targets.log.progress import Rules, Standing, Verdict, step, tally
from feedwright.targets.log.record import Recorder
from feedwright.targets.log.store import open_to_read
from feedwright.targets.log.terminal import CELLS, bar, show

from ..targets.test_sheet import HOSTILE, Reader
from .plans import LADDER, RUNGS, at, climbing

ALL = Scope()
HIT, MISS, OPEN = Verdict.HIT, Verdict.MISS, Verdict.NOT_JUDGED


def played(path: Path, practices: int = 6, program: str = "Baseline pairs") -> list[str]:
    """Practices of all blocks and of the ladder stepped by its rules; the label where each ladder stood at its end."""
    chance, plan, ends = random.Random(5), climbing(program), []
    ladder = plan.blocks[-1].ladder
    assert ladder is not None
    for day in range(practices):
        with Recorder(plan, path) as recorder:
            now = 86400 * day
            for launch in plan.launches:
                if launch.shot:
                    verdict = chance.choice([HIT, HIT, MISS, OPEN])
                    recorder.ball(launch.block, launch.shot, None, at(now := now + 4), verdict)
            standing = Standing(recorder.starting_rung(LADDER))
            assert ladder.labels[standing.rung] == (ends[-1] if ends else ladder.labels[0])
            for _ in range(12):
                verdict = chance.choice([HIT, HIT, HIT, MISS])
                recorder.ball(LADDER, RUNGS[standing.rung], standing.rung, at(now := now + 4), verdict)
                standing = step(Rules.of(ladder), standing, verdict, standing.rung)
        ends.append(ladder.labels[standing.rung])
    return ends


@pytest.fixture
def log(tmp_path: Path) -> Path:
    ends = played(tmp_path / "p.db")
    assert len(set(ends)) > 1  # the ladder moved, so that starting where it ended means something
    return tmp_path / "p.db"


def summed(path: Path, scope: Scope = ALL, latest: int | None = None) -> Figures:
    with closing(open_to_read(path)) as database:
        found = figures(database, scope, latest)
        count_rungs(database, found)
    return found


def test_the_sums_agree_with_every_row_read_plainly(log: Path) -> None:
    lanes: dict[tuple[object, ...], list[Verdict]] = defaultdict(list)
    rungs: dict[str, list[str]] = defaultdict(list)
    words = {"hit": HIT, "miss": MISS, "not judged": OPEN}
    with closing(open_to_read(log)) as database:
        for practice, block, variation, label, verdict in database.execute(
            "SELECT practice, block, variation, label, verdict FROM log ORDER BY started, ball"
        ):
            lanes[practice, block, variation].append(words[verdict])
            if label:
                rungs[label].append(verdict)
    found = summed(log)
    for one in found.variations:
        mine = [tally(verdicts) for (_, _, variation), verdicts in lanes.items() if variation == one.variation]
        assert one.total.hits == sum(t.hits for t in mine) > 0
        assert one.total.misses == sum(t.misses for t in mine) > 0
        assert one.total.not_judged == sum(t.not_judged for t in mine)
        assert one.total.best == max(t.best for t in mine)
    (ladder,) = found.ladders
    assert {label: count.judged for label, count in ladder.rungs.items()} == {k: len(v) for k, v in rungs.items()}
    assert len(ladder.ends) == 6


def test_a_part_of_the_log_is_summed_as_if_it_were_all(log: Path, tmp_path: Path) -> None:
    whole = summed(log)
    assert [j.total for j in summed(log, Scope("Baseline pairs")).variations] == [j.total for j in whole.variations]
    assert [j.total for j in summed(log, latest=99).variations] == [j.total for j in whole.variations]
    assert list(summed(log, latest=2).practices) == list(whole.practices)[-2:]
    assert len(summed(log, Scope(None, "2026-05-03T00:00:00.000Z")).practices) == 4
    assert not summed(log, Scope("Another")).variations


def test_the_longest_row() -> None:
    assert [most(balls) for balls in ("", "n", "m", "h", "hhmhhnhmh", "nhnhn")] == [0, 0, 0, 1, 3, 2]
    chance = random.Random(1)
    for _ in range(200):
        balls = "".join(chance.choices("hhmn", k=30))
        plain = max((len(list(g)) for x, g in groupby(balls.replace("n", "")) if x == "h"), default=0)
        assert most(balls) == plain
        judged = balls.replace("n", "")
        assert most(balls, 7) == max(judged[at : at + 7].count("h") for at in range(len(judged)))
    assert [most(balls, 3) for balls in ("", "n", "hh", "hmh", "hmmhnh")] == [0, 0, 2, 2, 2]


def test_the_terminal_shows_shares_rows_and_rungs(log: Path) -> None:
    screen = io.StringIO()
    show(summed(log), Console(file=screen, width=80))
    text = screen.getvalue()
    assert all(len(line) <= 80 for line in text.splitlines())
    for one in summed(log).variations:
        line = next(line for line in text.splitlines() if line.startswith(one.name))
        cells = line.split()
        assert cells[1:4] == [str(one.total.judged), str(one.total.hits), f"{one.total.share:.0%}"]
        assert cells[-2:] == [str(one.total.best), "-" if one.goal is None else str(one.goal.hits)]
    assert "last rung of each practice: " in text and "km/h" in text
    assert all(heading in text for heading in ("judged", "hit", "share", "95 % interval"))


def test_a_name_of_seventeen_letters_stands_on_one_line_of_eighty_columns(log: Path) -> None:
    found = summed(log)
    found.variations[0].variation = "straight-forehand"
    screen = io.StringIO()
    show(found, Console(file=screen, width=80))
    assert "\nstraight-forehand " in screen.getvalue()


def test_the_bar_has_the_share_inside_its_interval() -> None:
    assert bar(Count(0, 1000), None) == "o" + "." * (CELLS - 1)
    assert bar(Count(1000, 0), None) == "." * (CELLS - 1) + "o"
    assert bar(Count(5, 5), 0.9) == "....----o----.|.."  # Wilson of 5 in 10: 0.237 to 0.763 (R, prop.test; from memory)


def test_the_page_is_whole_and_fetches_nothing(log: Path) -> None:
    page = render(summed(log)).decode()
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert not reader.open
    assert "default-src 'none'; style-src 'unsafe-inline'" in page
    assert not {"script", "img", "link", "iframe", "a", "form", "image", "use", "foreignobject"} & reader.tags
    assert not {
        name for name in reader.attributes if name in ("src", "href", "xlink:href", "style") or name[:2] == "on"
    }
    assert "url(" not in page and "@import" not in page and page.count("<svg") == page.count("<h3") == 3
    dots = len(re.findall("<circle", page))
    assert dots == 3 * 6  # two variations and a ladder, six practices
    days = [re.findall(rf'text-anchor="{end}">(\d{{4}}-\d\d-\d\d)<', page) for end in ("start", "end")]
    first, last = (at(86400 * day).astimezone().date().isoformat() for day in (0, 5))
    assert days == [[first], [last]]  # one scale for all
    assert page.index("What the counts say") < page.index("<table") < page.index("<svg")


def test_of_several_players_each_has_a_count(tmp_path: Path) -> None:
    plan = climbing()
    players = {"steady": "Mira", "kicker": "Odo"}
    shots = tuple(shot.model_copy(update={"player": players.get(shot.id)}) for shot in plan.shots)
    with Recorder(plan.model_copy(update={"shots": shots}).sealed(), tmp_path / "p.db") as recorder:
        for second, (block, shot, verdict) in enumerate(
            [(0, "steady", HIT), (2, "kicker", MISS), (0, "steady", OPEN), (0, "steady", MISS)]
        ):
            recorder.ball(block, shot, None, at(second), verdict)
    found = summed(tmp_path / "p.db")
    assert found.told("Baseline pairs") == ["Mira: 3 balls, 1 of 2 judged hit", "Odo: 1 ball, 0 of 1 judged hit"]
    page = render(found).decode()
    assert page.index("Goals, points and players") < page.index("Mira: 3 balls, 1 of 2 judged hit")


def test_the_names_of_rungs_stand_whole_beside_a_ladder(log: Path) -> None:
    """The words that all of them end with stand once, in the heading; the rest has room at the left."""
    found = summed(log)
    (ladder,) = found.ladders
    for labels, shown, heading in (
        (("1.25 m inside baseline", "4.25 m inside baseline"), ("1.25", "4.25"), "pace, m inside baseline;"),
        (("flat", "topspin 600 rpm", "topspin 1600 rpm"), ("flat", "topspin 1600 rpm"), "pace;"),
        (("70 km/h",), ("70",), "pace, km/h;"),
    ):
        found.ladders[:] = [replace(ladder, labels=labels, ends={n: labels[-1] for n in ladder.ends})]
        page = render(found).decode()
        assert heading in page
        for text in shown:
            (x,) = re.findall(rf'<text x="([\d.]+)"[^>]*>{text}<', page)
            assert float(x) >= 0.5 * 20 * len(text)  # half an em for a letter, in the larger print of a narrow page


def test_practices_stand_at_their_dates(tmp_path: Path) -> None:
    """The second practice is a day after the first, the third nine days after it."""
    for day in (0, 1, 10):
        with Recorder(climbing(), tmp_path / "p.db") as recorder:
            recorder.ball(0, "steady", None, at(86400 * day), HIT)
    page = render(summed(tmp_path / "p.db")).decode()
    first, second, third = (float(x) for x in re.findall(r'<circle class="dot" cx="([\d.]+)"', page))
    assert (second - first) / (third - first) == pytest.approx(0.1, abs=0.001)


def test_a_dot_is_drawn_at_its_share(tmp_path: Path) -> None:
    with Recorder(climbing(), tmp_path / "p.db") as recorder:
        for number, verdict in enumerate([HIT, HIT, HIT, MISS]):
            recorder.ball(0, "steady", None, at(number), verdict)
    page = render(summed(tmp_path / "p.db")).decode()
    low, middle, top = (float(y) for y in re.findall(r'class="axis"[^>]*y1="([\d.]+)"', page)[:3])
    (dot,) = re.findall(r'<circle[^>]*cy="([\d.]+)"', page)
    assert middle == (low + top) / 2
    assert float(dot) == pytest.approx(low + 0.75 * (top - low), abs=0.06)  # coordinates have one decimal


@pytest.mark.parametrize("title", HOSTILE)
def test_hostile_titles_stay_text(tmp_path: Path, title: str) -> None:
    played(tmp_path / "p.db", 1, program=title)
    found = summed(tmp_path / "p.db")
    reader = Reader()
    reader.feed(render(found).decode())
    assert not {"script", "img", "b"} & reader.tags and not {a for a in reader.attributes if a.startswith("on")}
    screen = io.StringIO()
    show(found, Console(file=screen, width=80, force_terminal=True))
    assert not re.search("[\x00-\x08\x0b-\x1a\u202e\u2066]", screen.getvalue())


EIGHT = Goal(8, 8)


def one(hits: int, misses: int, goal: Goal | None = EIGHT, planned: int = 36) -> VariationFigures:
    return VariationFigures("Pairs", "lift", goal, planned, Count(hits, misses))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (
            one(30, 70),
            ["Give lift (Pairs) more time: 30 of 100 (30%,", "8 in a row within 36 balls", "a chance of 0.1%"],
        ),
        (one(95, 5), ["needs no more time", "95 of 100"]),
        (one(5, 5), ["too few for advice"]),
        (one(30, 30, goal=None), ["no goal to compare with"]),
        (one(30, 30, planned=6), ["too short for a goal of 8 in a row"]),
        # The binomial tail of 10 or more in 16 at one half is 14893/65536 (exact count of the sequences).
        (one(30, 30, Goal(10, 16), 16), ["more time", "10 of 16 within 16 balls", "a chance of 23%"]),
    ],
)
def test_one_sentence_a_variation_with_its_numbers(given: VariationFigures, words: list[str]) -> None:
    (sentence,) = advice(Figures({}, [given], []))
    assert all(word in sentence for word in words)
    assert sentence.endswith(".") and sentence.count(". ") == 0 and "\n" not in sentence
    if given.needed is not None and given.total.judged >= 20:
        assert f"{given.needed:.0%}" in sentence
        assert given.goal and given.chance == chance_of_hits(*given.goal, given.planned, given.total.share)


def test_the_furthest_from_its_goal_comes_first_and_no_order_is_praised() -> None:
    sentences = advice(Figures({}, [one(60, 40), one(30, 70), one(1, 1)], []))
    assert [sentence.split(" of ")[0][-2:] for sentence in sentences[:2]] == ["30", "60"]
    assert "do not show that one order of practice teaches better" in CLOSING


def test_the_rung_hit_half_the_time_is_the_last_with_the_share_that_is_needed() -> None:
    needed = needed_share(EIGHT, 40)
    assert needed is not None and 0.6 < needed < 0.75
    rungs = {"80": Count(90, 10), "85": Count(75, 25), "90": Count(50, 50), "95": Count(9, 1)}
    ladder = LadderFigures("Pairs", "rocket", "pace", EIGHT, 40, ("80", "85", "90", "95"), rungs=rungs)
    assert rung_hit_half(ladder, needed) == "85"
    (sentence,) = advice(Figures({}, [], [ladder]))
    assert "rung hit half the time is 85:" in sentence and f"{needed:.0%}" in sentence and "75 of 100" in sentence
    assert "95:" not in sentence  # ten balls are too few
    ladder.rungs = {"80": Count(50, 50)}
    assert "below 80" in advice(Figures({}, [], [ladder]))[0]
    ladder.rungs = {"80": Count(5, 0)}
    assert "is unknown" in advice(Figures({}, [], [ladder]))[0]
    ladder.rungs = {"80": Count(99, 1)}
    assert "80 or above" in advice(Figures({}, [], [ladder]))[0]
    ladder.planned = 5
    assert "8 in a row do not fit into 5 balls" in advice(Figures({}, [], [ladder]))[0]


def test_a_ladder_begins_where_the_last_one_ended_if_that_rung_is_still_there(log: Path) -> None:
    with Recorder(climbing(), log) as recorder:
        for number in range(3):
            recorder.ball(LADDER, RUNGS[1], 1, at(86400 * 9 + number), HIT)
        assert recorder.starting_rung(LADDER) == 2  # three in a row: one up
        with pytest.raises(ValueError, match="no ladder"):
            recorder.starting_rung(0)
    for plan, rung in (
        (climbing(labels=("85 km/h", "90 km/h", "95 km/h")), 1),
        (climbing(labels=("60 km/h", "65 km/h", "70 km/h")), 0),
        (climbing(program="Another"), 0),
    ):
        with Recorder(plan, log) as recorder:
            assert recorder.starting_rung(LADDER) == rung
