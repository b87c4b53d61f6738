"""Courts and their lines against the ITF Rules of Tennis, rules 1 and 2 and the appendix on 10-and-under tennis."""

import re

import pytest

from feedwright.compiler.assemble import court_record
from feedwright.compiler.model.court import courts
from feedwright.compiler.model.plan import Plan
from feedwright.targets.outputs.court.pictures import pictures
from feedwright.targets.outputs.court.svg import draw
from feedwright.targets.outputs.lines import court_lines
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.show import figures, terminal

from .requests import program_of
from .shipped import FOLDER
from .shipped import plan as shipped

LENGTH, SINGLES, DOUBLES, SERVICE, MARK = 23.77, 8.23, 10.97, 6.40, 0.10
"""Rule 1, metres: length, widths, from the net to the service line, length of a centre mark."""
RANGES = {"red": ((10.97, 12.80), (4.27, 6.10), (0.80, 0.838)), "orange": ((17.68, 18.29), (6.10, 8.23), (0.80, 0.914))}
"""The appendix, metres: length, width, height of the net."""


@pytest.mark.parametrize("name", RANGES)
def test_a_junior_court_lies_in_the_ranges_and_its_net_is_the_highest(name: str) -> None:
    court = courts(False)[name]
    (shortest, longest), (narrowest, widest), (_, highest) = RANGES[name]
    assert shortest <= 2 * court.half_length <= longest
    assert narrowest <= 2 * court.half_width <= widest
    # A ball that clears the highest net clears every net that the rules allow.
    assert court.cord(0.0) == court.cord(court.half_width) == highest


def by_the_rules(outer: float) -> set[tuple[float, float, float, float]]:
    """x and y from, x and y to, of all lines of a full court."""
    y, service, half = LENGTH / 2, SERVICE, SINGLES / 2
    return {
        (-outer, -y, outer, -y), (-outer, y, outer, y), (-half, -service, half, -service),
        (-half, service, half, service), (0.0, -service, 0.0, service), (0.0, -y, 0.0, MARK - y),
        (0.0, y, 0.0, y - MARK),
        *((x, -y, x, y) for x in (-outer, -half, half, outer)),
    }  # fmt: skip


def rounded(lines: set[tuple[float, ...]]) -> set[tuple[float, ...]]:
    return {tuple(round(value, 3) + 0.0 for value in line) for line in lines}


@pytest.mark.parametrize("name", ["singles", "doubles", "green"])
def test_a_full_court_has_the_lines_of_the_rules(name: str) -> None:
    """A singles game on a court for both has the doubles sidelines too; the service lines end at those of singles."""
    drawn = {(*one, *other) for one, other in court_lines(court_record(courts(False)[name]))}
    assert rounded(drawn) == rounded(by_the_rules(DOUBLES / 2))


def on_paper(plan: Plan) -> set[tuple[float, ...]]:
    """The small drawing of the whole court."""
    svg = draw(plan, pictures(plan, letters(plan))[0]).svg
    lines = _lines(svg[svg.index('class="whole"') :])
    width = max(x for line in lines for x in line[::2]) - min(x for line in lines for x in line[::2])
    scale, middle = width / DOUBLES, (max(line[0] for line in lines) + min(line[0] for line in lines)) / 2
    net = (max(line[1] for line in lines) + min(line[1] for line in lines)) / 2
    return {((a - middle) / scale, (net - b) / scale, (x - middle) / scale, (net - y) / scale) for a, b, x, y in lines}


def _lines(svg: str) -> list[tuple[float, ...]]:
    found = re.findall(r'<line class="line" x1="(\S+)" y1="(\S+)" x2="(\S+)" y2="(\S+)"', svg)
    return [tuple(map(float, line)) for line in found]


@pytest.mark.parametrize(
    ("program", "outer"), [("01", DOUBLES), ("02", DOUBLES), ("21", DOUBLES), ("20", 6.5), ("19", 5.5)]
)
def test_the_receiving_half_is_drawn_as_the_rules_have_it(program: str, outer: float) -> None:
    """Singles, doubles, green, orange and red, from half a metre under the net upwards."""
    plan = shipped(next(FOLDER.glob(f"{program}-*.feed")))
    svg = draw(plan, pictures(plan, letters(plan))[0]).svg
    large = svg[: svg.index('class="whole"')]
    lines, (net,) = _lines(large), re.findall(r'<line class="net" x1="(\S+)" y1="(\S+)"', large)
    left, right = min(line[0] for line in lines), max(line[2] for line in lines)
    scale, middle = (right - left) / outer, (left + right) / 2
    found = {((a - middle) / scale, (float(net[1]) - b) / scale, (x - middle) / scale, (float(net[1]) - y) / scale)
             for a, b, x, y in lines}  # fmt: skip
    asked = {
        (a, max(b, -0.5), x, max(y, -0.5))
        for a, b, x, y in ((*one, *other) for one, other in court_lines(plan.court))
        if max(b, y) > -0.5
    }
    assert len(found) == len(asked)
    # A figure is rounded to 0.01 mm, 2 mm on court, and the scale is measured from two such figures.
    assert all(any(max(abs(p - q) for p, q in zip(a, b, strict=True)) < 0.01 for b in found) for a in asked)


def test_a_doubles_court_is_drawn_whole_as_the_rules_have_it() -> None:
    asked, found = by_the_rules(DOUBLES / 2), on_paper(shipped(FOLDER / "02-first-script.feed"))
    assert len(found) == len(asked)
    # On paper a figure is rounded to 0.01 mm, some 5 mm on court, and the scale is measured from two such figures.
    assert all(any(max(abs(p - q) for p, q in zip(a, b, strict=True)) < 0.02 for b in found) for a in asked)


def test_a_doubles_court_in_the_terminal_has_all_four_sidelines() -> None:
    plan = shipped(FOLDER / "02-first-script.feed")
    picture = pictures(plan, letters(plan))[0]
    rows = terminal.above(plan, picture, figures.balls(plan), 0)
    net = next(row for row in rows if "===" in row)
    scale, left = DOUBLES / (net.rindex("=") - net.index("=")), net.index("=")
    service = [row for row in rows if "--" in row][1]
    below = rows[rows.index(service) + 1]
    places = [(n - left) * scale - DOUBLES / 2 for n, sign in enumerate(below) if sign == "|"]
    # A character is a third of a metre wide, and a line and the net's end are within half of it of their places.
    asked = (-DOUBLES / 2, -SINGLES / 2, 0.0, SINGLES / 2, DOUBLES / 2)
    assert all(abs(a - b) <= scale for a, b in zip(places, asked, strict=True))
    assert service.count("-") * scale == pytest.approx(SINGLES, abs=2 * scale)


def test_a_wing_of_a_doubles_court_is_that_of_a_singles_court() -> None:
    """The page on the language gives a wing as 0.8 to 2.3 m from the centre; only narrower courts shrink it."""
    wings = {
        name: program_of("club", name, side="right wing").feeds["one"].side for name in ("singles", "doubles", "red")
    }
    assert (-wings["doubles"].high, -wings["doubles"].low) == pytest.approx((0.8, 2.3))
    assert wings["singles"] == wings["doubles"] and wings["red"].aim > wings["singles"].aim
