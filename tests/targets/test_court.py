"""The pictures of the court, measured from their SVG."""

import re
import xml.etree.ElementTree as ET
from itertools import combinations, product
from math import dist
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedwright.compiler.model.plan import Plan, Shot
from feedwright.targets.outputs.court import screen
from feedwright.targets.outputs.court.pictures import MOST, CourtPicture, Tag, joined, pictures
from feedwright.targets.outputs.court.placing import Box
from feedwright.targets.outputs.court.svg import SMALL_MM, Drawing, draw
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.page import sheet

from ..shipped import PROGRAMS
from ..shipped import plan as shipped
from ..whole import WHOLE, share
from .more_plans import family, ten_rows
from .plans import make_plan, make_shot

SVG = "{http://www.w3.org/2000/svg}"
LEAST_MM = 60.0
"""Width of a court that is read at arm's length (our own choice)."""


def moved(number: int, x: float, y: float, full: bool = False) -> Shot:
    shot = make_shot(machine=False)
    landing = None if full else (x, y)
    predicted = shot.predicted.model_copy(update={"landing_m": landing, "contact_m": (x, y + 2.0, 1.0)})
    return make_shot(machine=False, id=f"ball {number}", zone_m=(x - 1, x + 1, y - 1, y + 1), predicted=predicted)


def one_picture(shots: dict[str, list[Shot]]) -> CourtPicture:
    return CourtPicture(None, tuple(shots), tuple(Tag(letter, tuple(balls)) for letter, balls in shots.items()))


def parsed(drawing: Drawing) -> tuple[ET.Element, ET.Element]:
    """The receiving half, and the whole court beside it."""
    half = ET.fromstring(drawing.svg)
    whole = next(group for group in half.iter(f"{SVG}g") if group.attrib.get("class") == "whole")
    half.remove(whole)
    return half, whole


def marks(half: ET.Element) -> list[Box]:
    """Dots, diamonds and the feeder's square, as drawn."""
    found = [Box(float(c.attrib["cx"]), float(c.attrib["cy"]), 2.2, 2.2) for c in half.iter(f"{SVG}circle")]
    for path in (path for path in half.iter(f"{SVG}path") if path.attrib["class"] == "met"):
        x, y, size = map(float, re.findall(r"-?[\d.]+", path.attrib["d"])[:3])
        found.append(Box(x, y + size, 2 * size, 2 * size))
    for rect in half.iter(f"{SVG}rect"):
        if rect.attrib.get("class") == "feeder":
            x, y, side = (float(rect.attrib[key]) for key in ("x", "y", "width"))
            found.append(Box(x + side / 2, y + side / 2, side, side))
    return found


def labels(half: ET.Element) -> list[tuple[str, Box]]:
    found = []
    for group in half.iter(f"{SVG}g"):
        if group.attrib.get("class") == "label":
            rect, text = group.find(f"{SVG}rect"), group.find(f"{SVG}text")
            assert rect is not None and text is not None and text.text
            x, y, width, height = (float(rect.attrib[key]) for key in ("x", "y", "width", "height"))
            found.append((text.text, Box(x + width / 2, y + height / 2, width, height)))
    return found


def holds(plan: Plan, picture: CourtPicture, zoom: float = 1.0) -> None:
    """What every picture keeps to: labels inside, apart, off the marks, at their dots; the court to scale and large."""
    drawing = draw(plan, picture, zoom)
    half, whole = parsed(drawing)
    found, spots = labels(half), marks(half)
    ends = [float(line.attrib[key]) for line in whole.iter(f"{SVG}line") for key in ("x1", "x2")]
    assert drawing.width - SMALL_MM / zoom - 0.01 <= min(ends) and max(ends) <= drawing.width + 0.01
    assert all(box is not None for _, box in drawing.labels)
    named = [text for text, _ in drawing.labels][: len(picture.tags)]
    assert sorted(text for text, _ in found) == sorted(named)
    assert all(text in (tag.text, tag.short) for text, tag in zip(named, picture.tags, strict=True))
    for (_, one), (_, two) in combinations(found, 2):
        assert not one.touches(two, 0.0)
    for _, box in found:
        assert box.x - box.width / 2 >= -0.01 and box.x + box.width / 2 <= drawing.width + 0.01
        assert box.y - box.height / 2 >= -0.01 and box.y + box.height / 2 <= drawing.height + 0.01
        assert not any(box.touches(mark, -0.1) for mark in spots)  # less the rounding of the file
    lines = [line for line in half.iter(f"{SVG}line") if line.attrib["class"] == "line"]
    wide = max(float(line.attrib["x2"]) - float(line.attrib["x1"]) for line in lines)
    assert wide * zoom >= LEAST_MM


@pytest.mark.parametrize("number", ["03", "04", "16", "20", "24", "26"])
def test_a_screen_stands_in_one_place_before_the_feeder_and_no_ball_passes_through_it(number: str) -> None:
    """By hand, with a racket and from a machine, from both sides of the net. The words of the sheet give that place."""
    plan = shipped(next(path for path in PROGRAMS if path.stem.startswith(number)))
    without = plan.model_copy(update={"feeder": plan.feeder.model_copy(update={"screen": False})})
    places = set()
    for picture in pictures(plan, letters(plan)):
        _, whole = parsed(draw(plan, picture))
        left, top, factor, at = map(float, whole.attrib["data-scale"].split())
        (bar,) = (line.attrib for line in whole.iter(f"{SVG}line") if line.attrib["class"] == "cover")
        sides = sorted((float(bar["x1"]), float(bar["x2"])))
        for way in (line.attrib for line in whole.iter(f"{SVG}line") if line.attrib["class"] == "way"):
            x, y, to_x, to_y = (float(way[key]) for key in ("x1", "y1", "x2", "y2"))
            there = x + (to_x - x) * (y - float(bar["y1"])) / (y - to_y)
            assert to_y < float(bar["y1"]) < y and not sides[0] < there < sides[1]
        edge = (float(bar["x1"]) - at) / factor + left - plan.feeder.place_m[0]
        ahead = top - float(bar["y1"]) / factor - plan.feeder.place_m[1]
        side = "left" if float(bar["x2"]) < float(bar["x1"]) else "right"
        near = "right" if side == "left" else "left"
        places.add(f"{ahead:.1f} m in front, {near} edge {f'{abs(edge):.1f}'.removesuffix('.0')} m to {{}} {side}")
        assert (edge < 0) is (side == "left") and 'class="cover"' not in draw(without, picture).svg
    (told,) = places
    whose = "the machine's" if plan.feeder.kind == "machine" else "your"
    assert screen.where(plan).startswith(told.format(whose))


def test_a_screen_stands_on_the_side_from_which_the_replies_come() -> None:
    """That of program 14 feeds to the right."""
    for number, side in (("14", 1), ("13", -1), ("24", -1)):
        plan = shipped(next(path for path in PROGRAMS if path.stem.startswith(number)))
        x = plan.feeder.place_m[0]
        assert {(shot.predicted.contact_m[0] > x) - (shot.predicted.contact_m[0] < x) for shot in plan.shots} == {side}
        found = screen.screen(plan)
        assert found and found.side == side


@pytest.mark.parametrize("number", ["04", "20", "29", "33"])
def test_of_two_places_that_cover_alike_the_screen_has_that_which_keeps_fewer_replies_from_their_zones(
    number: str,
) -> None:
    """Counted by straight ways from each contact to points all over the zone of its reply. In programs 29 and 33 the
    zones end before the screen."""
    plan = shipped(next(path for path in PROGRAMS if path.stem.startswith(number)))
    zones = {one.id: one.reply.zone_m for one in plan.variations}
    hw, hl, x, ahead = plan.court.half_width_m, plan.court.half_length_m, plan.feeder.place_m[0], plan.feeder.place_m[1]
    found = screen.screen(plan)
    assert found

    def met(edge: float, side: int) -> set[str]:
        left, right = sorted((x + edge, x + edge + 1.5 * side))
        there, caught = ahead + 1.5, set()
        for shot in plan.shots:
            low, high, far, near = zones[shot.variation or ""] or (-hw, hw, -hl, 0.0)
            from_x, from_y, _ = shot.predicted.contact_m
            for n, m in product(range(41), repeat=2):
                to_x, to_y = low + (high - low) * n / 40, far + (near - far) * m / 40
                at = from_x + (to_x - from_x) * (from_y - there) / (from_y - to_y)
                if to_y < there < from_y and left < at < right:
                    caught.add(shot.id)
        return caught

    mine = met(found.edge_m, found.side)
    share = sum(ball.first in mine for ball in plan.launches) / len(plan.launches)
    assert screen.kept_out(plan, found) == pytest.approx(share, abs=0.02)  # some zones are met by less than a step
    assert (share == 0) is (number in ("29", "33"))
    if number in ("04", "20"):
        other = met(-found.edge_m if number == "20" else -0.8, -found.side)  # 04: 0.3 m beside a ball 0.5 m to the left
        assert share < sum(ball.first in other for ball in plan.launches) / len(plan.launches)
    facts = dict(sheet(plan).front.facts)
    assert ("Screen hit" in facts) is (share > 0)


def test_where_no_place_serves_all_balls_no_screen_is_drawn() -> None:
    """From 1 m in front of the net to both corners of the service boxes: 4 m to each side on the way of 7 m."""
    plan = make_plan(machine=False)
    feeder = plan.feeder.model_copy(update={"screen": True, "place_m": (0.0, -1.0)})
    shot = plan.shots[0]
    wide = tuple(
        shot.model_copy(
            update={
                "id": name,
                "launch": shot.launch.model_copy(update={"origin_m": (0.0, -1.0, 1.0)}),
                "predicted": shot.predicted.model_copy(update={"landing_m": (x, 6.0)}),
            }
        )
        for name, x in (("one", -4.0), ("two", 4.0))
    )
    aside = plan.model_copy(update={"feeder": feeder, "shots": wide})
    assert screen.screen(aside) is None and "move it before each block" in screen.where(aside)
    # 4 m to the left on 7 m of way are 0.86 m on 1.5 m: its edge would stand 1.16 m to the left.
    one = aside.model_copy(update={"shots": wide[:1]})
    assert screen.screen(one) == screen.Screen(0.3, 1)


@pytest.mark.parametrize("machine", [False, True])
def test_a_picture_for_each_variation_with_its_letters(machine: bool) -> None:
    plan = make_plan(machine)
    found = pictures(plan, letters(plan))
    assert [(p.variation.id if p.variation else "", p.letters) for p in found] == [("rally", ("A",)), ("climb", ("B",))]
    for picture in found:
        holds(plan, picture)


def test_a_picture_has_at_most_six_labels_and_more_letters_share_those_of_their_feed() -> None:
    many = ten_rows(machine=True)  # ten feeds, five for each of two variations
    assert [len(picture.tags) for picture in pictures(many, letters(many))] == [5, 5]
    plan = family(machine=True)
    more = tuple(
        shot.model_copy(update={"id": f"{shot.feed} {n}", "feed": f"other {n % 2}"})
        for n, shot in enumerate(plan.shots, start=10)
    )
    both = plan.model_copy(update={"shots": plan.shots + more})
    (picture,) = pictures(both, letters(both))
    assert [tag.text for tag in picture.tags] == ["A1–A5", "B1–B3", "C1, C2"]
    holds(both, picture)


def test_two_places_of_one_letter_are_both_named(person_plan: Plan) -> None:
    plan = person_plan.model_copy(update={"shots": (moved(1, -1.2, 9.9), moved(2, 1.2, 9.9))})
    (picture,) = pictures(plan, letters(plan))
    assert [tag.text for tag in picture.tags] == ["A", "A"]
    (_, one), (_, two) = sorted(labels(parsed(draw(plan, picture))[0]), key=lambda label: label[1].x)
    assert one.x + one.width / 2 < two.x - two.width / 2


@pytest.mark.parametrize("path", PROGRAMS if WHOLE else PROGRAMS[::11], ids=lambda path: path.stem[:2])
@pytest.mark.parametrize("zoom", [1.0, 1.2])
def test_the_pictures_of_the_programs_hold_and_name_every_ball(path, zoom: float) -> None:  # type: ignore[no-untyped-def]
    plan = shipped(path)
    found = pictures(plan, letters(plan))
    assert {shot.id for picture in found for shot in picture.shots} == {shot.id for shot in plan.shots}
    for picture in found:
        assert len(picture.tags) <= MOST
        holds(plan, picture, zoom)


places = st.tuples(st.floats(-5.4, 5.4), st.floats(0.5, 13.0), st.booleans())


@settings(max_examples=share(150))
@given(st.lists(st.lists(places, min_size=1, max_size=4), min_size=1, max_size=MOST))
def test_labels_keep_apart_and_off_the_marks_wherever_the_balls_land(
    spots: list[list[tuple[float, float, bool]]],
) -> None:
    balls = {
        chr(65 + n): [moved(10 * n + m, x, y, full) for m, (x, y, full) in enumerate(of)] for n, of in enumerate(spots)
    }
    plan = make_plan(machine=False)
    shots = tuple(shot for of in balls.values() for shot in of)
    holds(plan.model_copy(update={"shots": shots}), one_picture(balls))


def test_twenty_letters_on_one_spot_keep_apart(person_plan: Plan) -> None:
    """More than any picture has."""
    balls = {f"A{n}": [moved(n, 2.5, 9.9)] for n in range(1, 21)}
    shots = tuple(shot for of in balls.values() for shot in of)
    holds(person_plan.model_copy(update={"shots": shots}), one_picture(balls))


def test_a_label_stands_at_its_dot_or_a_line_leads_to_it(person_plan: Plan) -> None:
    alone = one_picture({"A": [moved(1, 1.0, 9.0)]})
    plan = person_plan.model_copy(update={"shots": tuple(alone.shots)})
    half, _ = parsed(draw(plan, alone))
    ((_, box),) = labels(half)
    dot = marks(half)[0]
    assert not [line for line in half.iter(f"{SVG}line") if line.attrib["class"] == "leader"]
    assert abs(box.x - dot.x) - box.width / 2 - 1.1 < 1.5 and abs(box.y - dot.y) < box.height


def test_marks_lie_where_the_plan_says(person_plan: Plan) -> None:
    """Both drawings are to scale: the dot's place between the lines is the landing's on court."""
    picture = pictures(person_plan, letters(person_plan))[0]
    x, y = person_plan.shots[0].predicted.landing_m or (0.0, 0.0)
    for drawn, digits in zip(parsed(draw(person_plan, picture)), (0.02, 0.02), strict=True):
        dot = next(drawn.iter(f"{SVG}circle"))
        lines = [
            {key: float(line.attrib[key]) for key in ("x1", "y1", "x2", "y2")}
            for line in drawn.iter(f"{SVG}line") if line.attrib["class"] in ("line", "net")
        ]  # fmt: skip
        far = min((line for line in lines if line["y1"] == line["y2"]), key=lambda line: line["y1"])
        net = next(line for line in drawn.iter(f"{SVG}line") if line.attrib["class"] == "net")
        scale = (far["x2"] - far["x1"]) / (2 * person_plan.court.doubles_half_width_m)
        # 0.01 mm is the rounding of the file, twice.
        assert float(dot.attrib["cx"]) == pytest.approx((far["x1"] + far["x2"]) / 2 + scale * x, abs=digits)
        assert float(dot.attrib["cy"]) == pytest.approx(float(net.attrib["y1"]) - scale * y, abs=2 * digits)


def test_the_feeder_is_drawn_where_it_stands(person_plan: Plan) -> None:
    """Across the net on the whole court alone; on the player's side large too, with its name."""
    picture = pictures(person_plan, letters(person_plan))[0]
    for side, large in (((0.0, -12.4), 0), ((1.0, 3.0), 1)):
        plan = person_plan.model_copy(update={"feeder": person_plan.feeder.model_copy(update={"place_m": side})})
        half, whole = parsed(draw(plan, picture))
        squares = [
            [r for r in drawn.iter(f"{SVG}rect") if r.attrib.get("class") == "feeder"] for drawn in (half, whole)
        ]
        assert [len(found) for found in squares] == [large, 1]
        assert [text.text for text in half.iter(f"{SVG}text")].count("you") == large
        if large:
            holds(plan, picture)


def test_black_and_white_only_and_no_dash_for_two_things(person_plan: Plan) -> None:
    picture = ET.fromstring(draw(person_plan, pictures(person_plan, letters(person_plan))[0]).svg)
    colours = {element.attrib[key] for element in picture.iter() for key in ("fill", "stroke") if key in element.attrib}
    assert colours == {"black", "white", "none"}
    dashes = {e.attrib["stroke-dasharray"]: e.attrib["class"] for e in picture.iter() if "stroke-dasharray" in e.attrib}
    assert sorted(dashes.values()) == ["target", "way", "way", "zone"]  # large and small


def test_no_bounce_has_a_square_frame_and_no_dot(person_plan: Plan) -> None:
    picture = one_picture({"A": [moved(1, 1.0, 2.0, full=True)]})
    half, _ = parsed(draw(person_plan.model_copy(update={"shots": tuple(picture.shots)}), picture))
    assert list(half.iter(f"{SVG}circle")) == []
    frame = next(group for group in half.iter(f"{SVG}g") if group.attrib["class"] == "label").find(f"{SVG}rect")
    assert frame is not None and float(frame.attrib["rx"]) == 0


@pytest.mark.parametrize(("y", "cut"), [(3.0, True), (4.5, True), (6.0, False), (9.0, False)])
def test_a_half_that_is_cut_off_keeps_the_service_line_and_all_balls(person_plan: Plan, y: float, cut: bool) -> None:
    """The service line is 6.40 m from the net (ITF Rules of Tennis, Rule 1)."""
    picture = one_picture({"A": [moved(1, 1.0, y, full=True)]})
    plan = person_plan.model_copy(update={"shots": tuple(picture.shots)})
    whole, near = draw(plan, picture), draw(plan, picture, cut=True)
    assert (near.height < 0.7 * whole.height) is cut and near.width == whole.width
    half, _ = parsed(near)
    _, top, factor, _ = map(float, half.attrib["data-scale"].split())
    rows = [float(line.attrib[key]) for line in half.iter(f"{SVG}line") for key in ("y1", "y2")]
    assert min(rows) >= 0.0 and any(row == pytest.approx((top - 6.40) * factor, abs=0.02) for row in rows)
    assert all(mark.y - mark.height / 2 >= 0.0 for mark in marks(half))


ASTRAY = ("05", "09", "12", "14", "18", "21", "25")
"""Programs whose balls land so close together that the places of labels have to be looked for."""


@pytest.mark.parametrize(
    "path",
    [path for path in PROGRAMS if (WHOLE and path.stem[:2] != "99") or path.stem[:2] in ASTRAY],
    ids=lambda path: path.stem[:2],
)
@pytest.mark.parametrize("cut", [False, True])
def test_a_label_stands_nearer_to_its_own_ball_than_to_others(path: Path, cut: bool) -> None:
    """Balls within half a metre have one mark. Program 99 feeds sixteen balls of a letter from three places, and has no
    room for one of their labels."""
    plan = shipped(path)
    for picture in pictures(plan, letters(plan)):
        drawing = draw(plan, picture, cut=cut)
        left, top, factor, at = map(float, parsed(drawing)[0].attrib["data-scale"].split())
        for tag, (text, box) in zip(picture.tags, drawing.labels, strict=False):  # after them the feeder's word
            far: dict[bool, list[float]] = {True: [], False: []}
            for x, y in (spot for other in picture.tags for spot in other.spots):
                drawn = at + (x - left) * factor, (top - y) * factor
                assert box and text in (tag.text, tag.short)
                far[any(dist((x, y), own) < 0.5 for own in tag.spots)].append(dist(box.edge(drawn), drawn))
            assert min(far[True]) < min(far[False], default=99.0), text


def test_balls_that_come_to_one_dot_share_a_label_on_paper_if_it_is_a_short_one() -> None:
    """In 33 all balls land within half a metre, in 20 those of a ladder; in 16 too many letters do for one label."""
    for number, found in (("33", [["A–C"]]), ("20", [["A1", "A2"], ["B1", "B2"], ["C", "D"], ["E", "E"], ["F", "F"]])):
        plan = shipped(next(path for path in PROGRAMS if path.stem.startswith(number)))
        named = letters(plan)
        made = [joined(picture, named) for picture in pictures(plan, named)]
        assert [[tag.text for tag in picture.tags] for picture in made] == found
        for before, picture in zip(pictures(plan, named), made, strict=True):
            assert {shot.id for shot in before.shots} == {shot.id for shot in picture.shots}
            assert [text for text, _ in draw(plan, picture).labels] == [tag.text for tag in picture.tags]
    plan = shipped(next(path for path in PROGRAMS if path.stem.startswith("16")))
    assert all(joined(picture, letters(plan)) == picture for picture in pictures(plan, letters(plan)))


def test_all_balls_of_a_feed_have_its_letter_alone_where_more_has_no_room() -> None:
    """D1–D4 land between A1–A4 and A5–A8, nearer to the net than all of them have room for a broad label."""
    plan = shipped(next(path for path in PROGRAMS if path.stem.startswith("21")))
    picture = pictures(plan, letters(plan))[0]
    assert [tag.short for tag in picture.tags if tag.text == "D1–D4"] == ["D"]
    assert [text for text, _ in draw(plan, picture).labels] == ["A5–A8", "A1–A4", "D"]


def test_a_half_is_not_cut_off_where_large_labels_then_have_no_room() -> None:
    plan = shipped(next(path for path in PROGRAMS if path.stem.startswith("15")))
    picture = pictures(plan, letters(plan))[1]
    whole, near, large = draw(plan, picture), draw(plan, picture, cut=True), draw(plan, picture, 1.2, cut=True)
    assert near.height < whole.height and large.height == draw(plan, picture, 1.2).height
    assert all(box is not None for _, box in large.labels)


def test_the_ball_in_front_lies_over_the_others_and_moves_no_label() -> None:
    """Four balls of one feed come to the same place."""
    plan = shipped(next(path for path in PROGRAMS if path.stem.startswith("10")))
    picture = pictures(plan, letters(plan))[0]
    first = plan.shots.index(picture.shots[0])
    plain, front = draw(plan, picture), draw(plan, picture, front=picture.shots[0].id)
    last = [
        [one for one in parsed(drawing)[0].iter(f"{SVG}g") if one.attrib.get("class") == "ball"][-1].attrib["data-ball"]
        for drawing in (plain, front)
    ]
    assert last[0] != str(first) == last[1] and plain.labels == front.labels
