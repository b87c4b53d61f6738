"""The balls that LANGUAGE.md and GUIDE.md tell with their figures are the ones computed with."""

import re
from pathlib import Path

import pytest

from feedwright.compiler.model.shots import SolvedShot
from feedwright.compiler.resolve import resolve
from feedwright.compiler.solve import solve
from feedwright.grammar.parse import parse
from feedwright.grammar.source import Source
from feedwright.targets.machine.feeders import ProfileShelf

GRAMMAR = Path(__file__).parent.parent / "grammar"
LANGUAGE, GUIDE, PRACTICES = (
    (GRAMMAR / page).read_text("utf-8") for page in ("LANGUAGE.md", "GUIDE.md", "PRACTICES.md")
)
BASELINE = 23.77 / 2  # from the net: ITF Rules of Tennis, rule 1
VOLLEY = "height at least hip, on the full\nheight at most shoulder\nheight 0.7 m over net\nspin flat"


def balls(feeder: str, *feeds: str, more: str = "", player: str = "1.75 m tall") -> list[SolvedShot]:
    """The feeds, in lines, each to the middle."""
    told = "".join(f"feed ball{i}\n side middle\n interval 6 s\n{_indented(feed)}" for i, feed in enumerate(feeds))
    head = f'program "x"\n surface hard\n player right-handed, {player}\n feeder {feeder}\n{_indented(more)}'
    program, slips = resolve(parse(Source("x.feed", head + told))[0], ProfileShelf(), {})
    assert program and not slips
    shots = solve(program, program.feeds)
    assert not shots.misses
    return [shots.shots[name] for name in program.feeds]


def _indented(lines: str) -> str:
    return "".join(f" {line}\n" for line in lines.splitlines())


def table(head: str, page: str = LANGUAGE) -> list[list[str]]:
    (found,) = re.findall(rf"^\| {re.escape(head)}.*\n\|[ -|]+((?:\n\|.*)+)", page, re.M)
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in found.strip().splitlines()]


def figures(text: str) -> list[float]:
    return [float(one) for one in re.findall(r"\d+(?:\.\d+)?", text)]


def test_the_paces_of_volleys_by_racket() -> None:
    rows = table("the player | racket `on baseline`")
    assert len(rows) == 4
    for column, place in ((1, "on baseline"), (2, "on service line")):
        stances = [figures(row[0])[0] for row in rows]
        shots = balls(
            f"person racket, {place}, behind a screen", *(f"stance {at} m from net\n{VOLLEY}" for at in stances)
        )
        for row, shot in zip(rows, shots, strict=True):
            pace, over_net = (*figures(row[column]), 0.7)[:2]
            assert round(shot.speed * 3.6) == pace
            assert shot.predicted.clearance == pytest.approx(over_net, abs=0.05)


def test_the_low_volley_of_a_child() -> None:
    """Body heights of a child, invented."""
    (told,) = re.findall(r"child 2 m, `(height 0\.3 m over net)` leaves at\s+33 km/h and arrives 0\.6 m high", LANGUAGE)
    body = (
        "court red\nball stage 3\nbody knee 0.35 m, hip 0.6 m, waist 0.75 m, chest 0.9 m, shoulder 1.02 m, head 1.3 m"
    )
    lines = f"stance 2 m from net\nheight at least knee, on the full\nheight at most chest\n{told}\nspin flat"
    (shot,) = balls("person racket, 3 m from net, behind a screen", lines, more=body, player="scatter beginner")
    assert round(shot.speed * 3.6) == 33 and shot.predicted.contact[2] == pytest.approx(0.6, abs=0.05)


@pytest.mark.parametrize("feeder", ["machine club", "machine academy", "person racket"])
def test_a_smash_after_a_bounce(feeder: str) -> None:
    lines = re.findall(r"For a smash after a bounce write `(.*?)`, `(.*?)` and `(.*?)`", LANGUAGE)[0]
    (row,) = re.findall(r"^\| a ball for an overhead .*after a bounce (.*) \|$", GUIDE, re.M)
    assert set(re.findall("`(.*?)`", row)) == set(lines)
    (shot,) = balls(f"{feeder}, on baseline, behind a screen", "\n".join(lines))
    assert shot.predicted.contact[2] == pytest.approx(2.2, abs=0.05)
    assert shot.predicted.clearance == pytest.approx(4, abs=0.15)
    assert shot.predicted.contact_time == pytest.approx(2.8, abs=0.1) and shot.predicted.bounces == 1
    nearer = "\n".join(re.findall(r"racket on the service line, `(.*?)` and `(.*?)` bring", LANGUAGE)[0])
    (near,) = balls("person racket, on service line, behind a screen", f"{nearer}\nheight 2.2 m, falling")
    assert near.predicted.contact[2] == pytest.approx(2.2, abs=0.05)


def test_where_a_deep_ball_is_as_high_as_the_waist() -> None:
    (told,) = re.findall(
        r"the waist ([\d.]+) m behind the baseline where it is flat and ([\d.]+) m with `(.*?)`; "
        r"it rises to it ([\d.]+) to ([\d.]+) m",
        LANGUAGE,
    )
    flat, turned, spin, *early = told
    ball = "depth 1.5 m inside baseline\nheight 1.5 m over net\nstance where it is waist high, "
    feeds = [f"{ball}{way}\nspin {turn}" for way in ("falling", "rising") for turn in ("flat", spin)]
    met = [shot.predicted.contact[1] - BASELINE for shot in balls("machine academy, on centre, on baseline", *feeds)]
    assert met == pytest.approx([float(at) for at in (flat, turned, *early)], abs=0.06)


def test_tosses_by_hand() -> None:
    before, beside = table("the person stands | the ball lands")
    away, lands, (time, pace), (height, _, softer, _, softest) = map(figures, before)
    side = "person basket, on the player's side, 3 m from net"
    for ball, met in ((2, height), (2, softer), (3, softest)):
        kind = "" if met == height else f"ball stage {ball}"
        lines = f"depth {3 + lands[0]} m from net\nstance {3 + away[0]} m from net\ntime {time} s to contact"
        (shot,) = balls(side, lines, more=kind)
        assert shot.predicted.contact[2] == pytest.approx(met, abs=0.02) and round(shot.speed * 3.6) == pace
    (left, nearer), (on,), (time, pace), (met,) = map(figures, beside)
    lines = f"depth {7 + on} m from net\nstance {7 + nearer} m from net\ntime {time} s to contact"
    (shot,) = balls(f"person basket, on the player's side, 7 m from net, {left} m left of centre", lines)
    assert shot.predicted.contact[2] == pytest.approx(met, abs=0.02) and round(shot.speed * 3.6) == pace


def test_what_spin_does_to_a_slow_ball() -> None:
    rows = table("`spin` | over the net")
    assert len(rows) == 4
    lines = "depth 8.5 m from net\nstance 2 m behind baseline\npace 75 km/h"
    shots = balls("machine club, on baseline, behind a screen", *(f"{lines}\nspin {row[0].strip('`')}" for row in rows))
    for row, shot in zip(rows, shots, strict=True):
        assert [shot.predicted.clearance, shot.predicted.contact[2]] == pytest.approx(
            [figures(cell)[0] for cell in row[1:]], abs=0.05
        )


def test_the_lob_of_six_metres() -> None:
    """What the page says of heights at the top, over the net and of where the lob is struck."""
    (told,) = re.findall(r"flat ball of (.*?) at the top passes (.*?) over the net", LANGUAGE)
    tops, over = ([float(one) for one in re.findall(r"\d+(?:\.\d+)?", part)] for part in told)
    lines = "depth 2 m behind service line\nstance on baseline\nspin flat\nheight {} m at the top"
    shots = balls("machine academy, on baseline, behind a screen", *(lines.format(top) for top in tops))
    assert [shot.predicted.peak for shot in shots] == pytest.approx(tops, abs=0.05)
    assert [shot.predicted.clearance for shot in shots] == pytest.approx(over, abs=0.05)
    (struck,) = re.findall(r"tops at six metres and is struck ([\d.]+) m from the net", LANGUAGE)
    lob = "depth 0.8 m behind service line\nheight 2.4 m, on the full\nheight 6 m at the top\nspin flat"
    (shot,) = balls("machine academy, on baseline, behind a screen", lob)
    assert shot.predicted.contact[1] == pytest.approx(float(struck), abs=0.05)


CHILD = "scatter beginner"  # the stature is then that of the court


def test_the_paces_on_smaller_courts() -> None:
    rows = table("court, ball | the feeder stands", PRACTICES)
    assert len(rows) == 8
    for kind, place, *cells in rows:
        head, place = "\n".join(re.findall("`(.*?)`", kind)), place.strip("`")
        for depth, cell in zip(("short", "midcourt", "deep"), cells, strict=True):
            # A racket has no ball under 30 km/h, and none as fast as the deepest green one.
            racket = "basket" if figures(cell)[0] <= 30 or place == "2 m from net" else "racket"
            feeder = "machine club" if "green" in kind and place == "on baseline" else f"person {racket}"
            lines = f"depth {depth}\nstance where it is knee high, falling\nspin flat\n"
            both = f"{lines}height 1 m over net", f"{lines}pace slowest"
            shots = balls(f"{feeder}, {place}, behind a screen", *both, more=head, player=CHILD)
            assert [round(shot.speed * 3.6) for shot in shots] == figures(cell), (kind, place, depth)


def test_where_balls_for_children_are_as_high_as_a_hip() -> None:
    rows = table("fed by | red | orange | green", PRACTICES)
    assert len(rows) == 4 and re.search(r"hip 0\.6 m", PRACTICES)
    for fed, *cells in rows:
        from_net = re.search(r"hand (\d) m behind the net, to (\d) m", fed)
        line = re.search("racket on the (service line|baseline), `(.*?)`", fed)
        assert from_net or line
        feeder, depth = "", ""
        if from_net:
            feeder, depth = f"person basket, {from_net[1]} m from net", f"{from_net[2]} m from net"
        elif line:
            feeder, depth = f"person racket, on {line[1]}", line[2]
        for court, stage, cell in zip(("red", "orange", "green"), (3, 2, 1), cells, strict=True):
            lines = [
                f"depth {depth}\nstance where it is 0.6 m above ground, {way}\nheight 1 m over net\nspin flat"
                for way in ("rising", "falling")
            ]
            shots = balls(f"{feeder}, behind a screen", *lines, more=f"court {court}\nball stage {stage}", player=CHILD)
            behind = [shot.predicted.contact[1] - shot.predicted.landing[1] for shot in shots if shot.predicted.landing]
            assert behind == pytest.approx(figures(cell), abs=0.06)
    (close,) = re.findall(r"close behind its bounce: `(.*?)` and `(.*?)`", PRACTICES)
    by_hand = "person basket, 1 m from net, behind a screen"
    lines = "\n".join((*close, "height 1 m over net\nspin flat"))
    (shot,) = balls(by_hand, lines, more="court red\nball stage 3", player=CHILD)
    assert 0.6 <= shot.predicted.contact[2] <= 0.97  # from the hip to the shoulder of the child on the page


def test_a_toss_and_an_easy_volley_of_the_guide() -> None:
    (toss,) = re.findall(r"^\| an underarm toss \| `(.*?)` \|$", GUIDE, re.M)
    (shot,) = balls(
        "person basket, on the player's side, 3 m from net", f"depth 5.5 m from net\nstance on service line\n{toss}"
    )
    # A ball that rises from the hand at 1 m to the top and falls to the ground is in the air for so long without drag.
    falls = [(2 * height / 9.81) ** 0.5 for height in (shot.predicted.peak - shot.origin[2], shot.predicted.peak)]
    assert shot.predicted.peak == pytest.approx(2, abs=0.05)
    assert shot.predicted.landing_time == pytest.approx(sum(falls), abs=0.06)
    ((met, over),) = re.findall(r"^\| a volley, an easy one \| `(.*?)`, `(.*?)` \|$", GUIDE, re.M)
    for feeder in ("machine club, on baseline", "person racket, on service line"):
        easy, flat = balls(
            f"{feeder}, behind a screen",
            *(f"stance 3 m from net\n{met}\n{line}\nspin flat" for line in (over, "height 0.7 m over net")),
        )
        assert easy.predicted.contact[2] == pytest.approx(
            1.43, abs=0.05
        )  # the shoulder, 0.818 of 1.75 m: Winter (2009)
        assert easy.predicted.contact_time > flat.predicted.contact_time
