"""A ball met on the full has a place, across the court and in height: in every picture, and in words."""

import re
import xml.etree.ElementTree as ET

import pytest

from feedwright.compiler.trace import trajectories
from feedwright.targets.outputs.court.pictures import pictures
from feedwright.targets.outputs.court.svg import deviations, draw
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.show import drawing, figures, page, terminal, views

from .. import shipped
from .plans import make_plan

SVG = "{http://www.w3.org/2000/svg}"
REACH_M = 0.35
"""Height above and below the asked one within which the ball counts (our own choice, which `height-varies` tells)."""
PLAN = shipped.plan(next(shipped.FOLDER.glob("04-*.feed")))
PASSING = next(n for n, shot in enumerate(PLAN.shots) if shot.id == "passing")
"""In the middle, which is 0.75 m to each side of it, and 1.1 m high, 2.5 m from the net."""


def of_class(root: ET.Element, *kinds: str) -> list[ET.Element]:
    return [element for element in root.iter() if element.attrib.get("class", "").split()[:1] in [[k] for k in kinds]]


def test_a_plan_has_the_place_of_a_ball_on_the_full_and_of_no_other() -> None:
    assert PLAN.shots[PASSING].place_m == pytest.approx((-0.75, 0.75, 1.1 - REACH_M, 1.1 + REACH_M))
    bounces = shipped.plan(next(shipped.FOLDER.glob("02-*.feed")))
    assert {shot.place_m for shot in bounces.shots} == {None}


def test_from_above_its_ends_and_its_spread_across_are_to_scale() -> None:
    picture = next(one for one in pictures(PLAN, letters(PLAN)) if PLAN.shots[PASSING] in one.shots)
    root = ET.fromstring(draw(PLAN, picture, more=True).svg)
    left, _, factor, at = map(float, root.attrib["data-scale"].split())

    def across(path: ET.Element) -> list[float]:
        return [(float(x) - at) / factor + left for x in re.findall(r"M([-\d.]+)", path.attrib["d"])]

    ends = [across(path) for path in of_class(root, "zone") if "stroke-dasharray" not in path.attrib]
    assert [pytest.approx((-0.75, 0.75), abs=0.005)] == [one for one in ends if abs(sum(one)) < 0.1][:1]
    (ball,) = (
        one for one in root.iter(f"{SVG}g") if one.attrib.get("data-ball") == str(PASSING) and of_class(one, "met")
    )
    sides, _ = deviations(PLAN.shots[PASSING])
    found = {path.attrib["class"]: across(path) for path in of_class(ball, "spread")}
    assert found == {f"spread s{n}": pytest.approx((-n * sides, n * sides), abs=0.005) for n in (1, 2)}
    assert not list(root.iter(f"{SVG}ellipse"))  # it would be of the height too


def test_the_deviations_are_those_of_the_ellipse_across_and_upwards() -> None:
    """An ellipse of 0.5 m and 0.3 m with its longer axis at 30 degrees: sqrt((0.5 cos 30)^2 + (0.3 sin 30)^2) and
    sqrt((0.5 sin 30)^2 + (0.3 cos 30)^2), elementary geometry."""
    spread = PLAN.shots[PASSING].spread
    assert spread is not None
    turned = spread.model_copy(update={"half_axes_m": (0.5, 0.3), "angle_deg": 30.0})
    shot = PLAN.shots[PASSING].model_copy(update={"spread": turned})
    assert deviations(shot) == pytest.approx((0.4583, 0.3606), abs=1e-4)
    assert deviations(shot.model_copy(update={"spread": None})) == ()


def test_from_the_side_its_heights_and_their_spread_are_to_scale() -> None:
    root = ET.fromstring(views.beside(PLAN, trajectories(PLAN), figures.balls(PLAN)))
    (ball,) = (one for one in root.iter(f"{SVG}g") if one.attrib.get("data-ball") == str(PASSING))
    heights = [-float(one.attrib["y2"]) / views.STRETCH for one in of_class(ball, "place")]
    assert heights == pytest.approx([1.1 + REACH_M, 1.1 - REACH_M, 1.1 + REACH_M])
    assert {float(one.attrib["x1"]) + float(one.attrib["x2"]) for one in of_class(ball, "place")} == {2 * 2.5}
    _, up = deviations(PLAN.shots[PASSING])
    caps = [-float(one.attrib["y1"]) / views.STRETCH for one in of_class(ball, "spread")]
    assert caps == pytest.approx([1.1 + n * up for n in (-2, -1, 1, 2)], abs=0.001)


def test_a_label_leaves_the_place_free() -> None:
    picture = next(one for one in pictures(PLAN, letters(PLAN)) if PLAN.shots[PASSING] in one.shots)
    made = draw(PLAN, picture)
    for path in of_class(ET.fromstring(made.svg), "zone"):
        if "stroke-dasharray" in path.attrib:
            left, y, right = map(float, re.findall(r"[\d.]+", path.attrib["d"]))
            for _, box in made.labels:
                assert box and (abs(box.y - y) > box.height / 2 or not left < box.x < right)


def test_page_picture_and_terminal_say_it_and_mark_it() -> None:
    paths = trajectories(PLAN)
    told = "no bounce; its place 0.8 m left to 0.8 right, 0.75–1.45 m high"
    assert dict(figures.balls(PLAN)[PASSING].figures)["Lands"] == told
    assert told in page.render(PLAN, paths).decode() and told in drawing.render(PLAN, paths, "passing").decode()
    text = terminal.render(PLAN, paths, "passing", width=120)
    assert told in re.sub(r"\s+", " ", text) and "+ contact, : its place" in text
    marked = [line.index(":") for line in text.splitlines() if re.match(r"( [0-9] m|    ) .*:$", line)]
    assert len(marked) >= 2 and len(set(marked)) == 1
    bounces = make_plan(machine=True)
    assert ": its place" not in terminal.render(bounces, trajectories(bounces))
