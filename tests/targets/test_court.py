"""The picture of the court, measured from its SVG."""

import xml.etree.ElementTree as ET
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedwright.compiler.model.plan import Plan, Shot
from feedwright.targets.outputs.sheet.court import court

from .plans import make_plan, make_shot

SVG = "{http://www.w3.org/2000/svg}"
Measured = tuple[float, float, float, float]
"""x from, x to, y from, y to, mm."""


def moved(number: int, x: float, y: float, full: bool = False) -> Shot:
    shot = make_shot(machine=False)
    landing = None if full else (x, y)
    predicted = shot.predicted.model_copy(update={"landing_m": landing, "contact_m": (x, y + 2.0, 1.0)})
    return make_shot(machine=False, id=f"ball {number}", zone_m=(x - 1, x + 1, y - 1, y + 1), predicted=predicted)


def frames(picture: ET.Element) -> list[tuple[str, Measured]]:
    """Each label's frame, as drawn, with its text; and the text lies inside the frame and the picture."""
    width, height = (float(part) for part in picture.attrib["viewBox"].split()[2:])
    found = []
    for group in picture.iter(f"{SVG}g"):
        rect, text = group.find(f"{SVG}rect"), group.find(f"{SVG}text")
        assert rect is not None and text is not None and text.text
        x, y, w, h = (float(rect.attrib[key]) for key in ("x", "y", "width", "height"))
        middle, base, size = (float(text.attrib[key]) for key in ("x", "y", "font-size"))
        # Ascenders reach 0.75 em up and descenders 0.22 em down in Helvetica and its kin (font tables, from memory).
        half = float(text.attrib["textLength"]) / 2
        assert x <= middle - half and middle + half <= x + w
        assert y <= base - 0.75 * size + 0.3 and base + 0.22 * size - 0.6 <= y + h
        assert x >= -0.01 and y >= -0.01 and x + w <= width + 0.01 and y + h <= height + 0.01
        found.append((text.text, (x, x + w, y, y + h)))
    return found


def overlapping(labels: list[tuple[str, Measured]]) -> list[tuple[str, str]]:
    return [
        (a, b)
        for (a, one), (b, two) in combinations(labels, 2)
        if one[0] < two[1] and two[0] < one[1] and one[2] < two[3] and two[2] < one[3]
    ]


def test_the_measure_sees_an_overlap() -> None:
    assert overlapping([("A", (0, 2, 0, 2)), ("B", (1, 3, 1, 3)), ("C", (2, 4, 0, 1))]) == [("A", "B")]


@pytest.mark.parametrize("machine", [False, True])
def test_labels_of_the_plan_keep_apart(machine: bool) -> None:
    plan = make_plan(machine)
    labels = frames(ET.fromstring(court(plan, {"A": [plan.shots[0]], "B": [plan.shots[1]]})[0]))
    assert [text for text, _ in labels] == ["A", "B", "reply A", "reply B", "machine" if machine else "you"]
    assert overlapping(labels) == []


def test_twenty_balls_on_one_spot_keep_their_letters_apart(person_plan: Plan) -> None:
    lettered = {f"A{n}": [moved(n, 2.5, 9.9)] for n in range(1, 21)}
    labels = frames(ET.fromstring(court(person_plan, lettered)[0]))
    assert len(labels) == 22
    assert overlapping(labels) == []


def test_two_places_of_one_letter_are_both_drawn(person_plan: Plan) -> None:
    labels = frames(ET.fromstring(court(person_plan, {"A": [moved(1, -1.5, 9.9), moved(2, 1.5, 9.9)]})[0]))
    letters = [place for text, place in labels if text == "A"]
    assert len(letters) == 2
    assert letters[0][1] < letters[1][0]  # one left of the other, none in the middle


places = st.tuples(st.floats(-5.5, 5.5), st.floats(0.5, 13.0), st.booleans())


@settings(max_examples=60, deadline=None)
@given(st.lists(places, min_size=1, max_size=12))
def test_labels_keep_apart_wherever_the_balls_land(spots: list[tuple[float, float, bool]]) -> None:
    lettered = {chr(65 + n): [moved(n, x, y, full)] for n, (x, y, full) in enumerate(spots)}
    labels = frames(ET.fromstring(court(make_plan(machine=False), lettered)[0]))
    assert len(labels) == len(spots) + 2
    assert overlapping(labels) == []


def test_letters_are_21_points_and_words_14(person_plan: Plan) -> None:
    picture = ET.fromstring(court(person_plan, {"A": [person_plan.shots[0]]})[0])
    assert picture.attrib["width"].endswith("mm")  # so that one unit is one millimetre
    for text in picture.iter(f"{SVG}text"):
        points = float(text.attrib["font-size"]) / 25.4 * 72
        assert points >= (21 if text.text == "A" else 14)
        assert (text.attrib["font-weight"] == "bold") == (text.text == "A")


def test_marks_lie_where_the_plan_says(person_plan: Plan) -> None:
    """The picture is to scale: the dot's place on it, between the outer baseline corners, is the landing's on court."""
    picture = ET.fromstring(court(person_plan, {"A": [person_plan.shots[0]]})[0])
    dot = next(picture.iter(f"{SVG}circle"))
    lines = [{key: float(line.attrib[key]) for key in ("x1", "y1", "x2", "y2")} for line in picture.iter(f"{SVG}line")]
    far = min((line for line in lines if line["y1"] == line["y2"]), key=lambda line: line["y1"])
    net = max((line for line in lines if line["y1"] == line["y2"]), key=lambda line: line["x2"] - line["x1"])
    scale = (far["x2"] - far["x1"]) / (2 * person_plan.court.doubles_half_width_m)
    x, y = person_plan.shots[0].predicted.landing_m or (0.0, 0.0)
    # 0.01 mm is the rounding of the file, twice.
    assert float(dot.attrib["cx"]) == pytest.approx((far["x1"] + far["x2"]) / 2 + scale * x, abs=0.02)
    assert float(dot.attrib["cy"]) == pytest.approx(net["y1"] - scale * y, abs=0.02)


def test_black_and_white_only_and_no_dash_for_two_things(person_plan: Plan) -> None:
    picture = ET.fromstring(court(person_plan, {"A": [person_plan.shots[0]]})[0])
    colours = {element.attrib[key] for element in picture.iter() for key in ("fill", "stroke") if key in element.attrib}
    assert colours == {"black", "white", "none"}
    dashes = [e.attrib["stroke-dasharray"] for e in picture.iter() if "stroke-dasharray" in e.attrib]
    assert len(dashes) == len(set(dashes)) == 3  # the zone, the flight after the bounce, the reply


def test_no_bounce_has_a_square_frame_and_no_dot(person_plan: Plan) -> None:
    picture = ET.fromstring(court(person_plan, {"A": [moved(1, 1.0, 2.0, full=True)]})[0])
    assert list(picture.iter(f"{SVG}circle")) == []
    frame = next(picture.iter(f"{SVG}g")).find(f"{SVG}rect")
    assert frame is not None and float(frame.attrib["rx"]) == 0
