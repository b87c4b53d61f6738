"""The feed sheet as it leaves the printer: measured from the PDF."""

from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.feeders import ProfileShelf
from feedwright.targets.sheet import partner, pdf
from feedwright.targets.sheet.layout import document, shown
from feedwright.targets.sheet.page import sheet

from . import measure
from .more_plans import HOSTILE, RIGHT_TO_LEFT, everywhere, family, ladder, ten_rows
from .plans import make_plan

pytest.importorskip("typst", reason="the extra pdf is not installed")
SIZES = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}  # ISO 216 and ANSI/ASME Y14.1, pt
MARGIN = 12 / 25.4 * 72


def printed(plan: Plan, paper: str = "a4", large: bool = False, date: str = "") -> list[object]:
    return measure.pages(pdf.render(document(plan, paper, large, date)))


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("machine", [False, True])
def test_a_block_of_ten_rows_is_one_page(machine: bool, paper: str) -> None:
    front, page = printed(ten_rows(machine), paper)
    assert (page.width, page.height) == pytest.approx(SIZES[paper], abs=0.5)
    assert measure.smallest(page) >= 13.95  # 14 pt, less the rounding of the file
    assert measure.smallest(front) >= 13.95
    assert measure.overlapping(page) == []
    assert measure.outside(page, MARGIN) == []


@pytest.mark.parametrize("machine", [False, True])
def test_every_value_of_a_row_is_17_points_and_as_planned(machine: bool) -> None:
    plan = ten_rows(machine)
    seen = measure.text(printed(plan)[1], least=16.95)
    (part,) = sheet(plan).parts
    assert len(part.rows) == 10
    for row in part.rows:
        for upper, lower in row.cells:
            assert measure.bare(upper) in seen and measure.bare(lower) in seen
        if machine:
            assert measure.bare("".join(row.dials)) in seen and measure.bare(row.beneath) in seen


def test_a_crowded_page_still_tells_a_machine_the_rhythm() -> None:
    plan = ten_rows(machine=True)
    assert "60balls,mixed,inthisorder,every4s" in measure.text(printed(plan, "letter")[1])
    slow = plan.shots[0].model_copy(update={"interval_s": 5.0})
    mixed = plan.model_copy(update={"shots": (slow, *plan.shots[1:])})
    assert "Aevery5s;BCDEFGHJKevery4s" in measure.text(printed(mixed)[1])


def test_the_letters_of_rows_and_strip_are_the_largest() -> None:
    plan = ten_rows(machine=False)
    page = printed(plan)[1]
    assert len([c for c in page.chars if c["text"] == "E" and c["size"] >= 19.9]) == 1 + 6  # its row, and six of sixty
    strip = "".join(c["text"] for c in page.chars if 19.9 <= c["size"] < 20.1 and c["text"] in "ABCDEFGHJK")
    order = [sheet(plan).parts[0].rows[int(ball.first.removeprefix("ball-"))].letter for ball in plan.launches]
    assert "".join(order) in strip


def test_hits_and_misses_have_boxes_that_no_word_covers() -> None:
    page = printed(make_plan(machine=False))[2]
    boxes = measure.ticks(page)
    assert len(boxes) == 8 + 3 + 5 + 3  # goals of 8 and 5 in a row, three misses each
    for box in boxes:
        for word in measure.words(page):
            beside = word["x1"] <= box["x0"] + 0.6 or word["x0"] >= box["x1"] - 0.6
            assert beside or word["bottom"] <= box["top"] + 3 or word["top"] >= box["bottom"] - 3, word["text"]


@pytest.mark.parametrize("machine", [False, True])
def test_fonts_are_embedded(machine: bool) -> None:
    for page in printed(make_plan(machine)):
        for font in page.page_obj.resources["Font"].values():
            inside = font.resolve()["DescendantFonts"]
            descriptor = inside[0].resolve()["FontDescriptor"].resolve()
            assert {"FontFile2", "FontFile3"} & set(descriptor)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("form", [document, partner.document])
@pytest.mark.parametrize("machine", [False, True])
def test_as_many_pages_as_planned_and_each_tells_its_number(machine: bool, form: object, paper: str) -> None:
    planned = form(make_plan(machine), paper)  # type: ignore[operator]
    found = measure.pages(pdf.render(planned))
    assert len(found) == len(planned.pages)
    for number, page in enumerate(found, start=1):
        assert f"page{number}of{len(found)}" in measure.text(page)
        assert measure.overlapping(page) == []
        assert measure.outside(page, MARGIN) == []


def test_large_print_is_a_fifth_larger() -> None:
    planned = document(ten_rows(machine=False), large=True)
    found = measure.pages(pdf.render(planned))
    assert len(found) == len(planned.pages)
    assert min(measure.smallest(page) for page in found) >= 16.7  # 14 pt times 1.2, less rounding
    assert all(measure.overlapping(page) == [] for page in found)


def test_same_plan_same_bytes_and_a_date_only_when_asked() -> None:
    plan = make_plan(machine=True)
    assert pdf.render(document(plan)) == pdf.render(document(plan))
    dated = printed(plan, date="2026-05-31")
    assert all("2026-05-31" in measure.text(page) for page in dated)
    assert not any("202" in measure.text(page) for page in printed(plan))


@pytest.mark.parametrize("title", HOSTILE, ids=range(len(HOSTILE)))
@pytest.mark.parametrize("machine", [False, True])
def test_hostile_text_is_printed_as_it_is(title: str, machine: bool) -> None:
    planned = document(everywhere(make_plan(machine), title))
    found = measure.pages(pdf.render(planned))
    assert len(found) >= len(planned.pages)
    seen = "".join(measure.text(page) for page in found)
    wanted = measure.bare(shown(title))
    if title == RIGHT_TO_LEFT:  # read from the page in the order of sight
        assert sorted(wanted)[0] in seen and all(letter in seen for letter in wanted)
    elif title.isascii() or "\\u" in wanted:
        assert seen.count(wanted) >= 2 or len(title) > 200  # a long title is broken by other words of its line
    assert seen.count("Block") >= 3


def test_a_ladder_has_a_row_and_boxes_for_each_rung_and_says_when_to_climb() -> None:
    for machine in (False, True):
        page = printed(ladder(machine))[1]
        seen = measure.text(page)
        rule = (
            "Start on A1, or where the last practice ended. One rung up after 3 hits in a row; one down after 2 misses "
            "in the last 4 balls on the rung. Count afresh after each step."
        )
        # In the order of the file: by height on the page the picture's letters come between.
        assert rule.replace(" ", "") in "".join(word["text"] for word in measure.words(page))
        for n in range(1, 6):
            assert f"A{n}{70 + n}km/h" in seen
        assert len(measure.ticks(page)) == 5 * 3  # none of the goal, which counts otherwise


def test_a_family_is_one_row_for_a_hand() -> None:
    (part,) = sheet(family(machine=False)).parts
    assert [row.letter for row in part.rows] == ["A"]
    assert part.rows[0].cells[0] == ("1.7–2.7 m inside baseline", "1.5 m in from right, vary")
    assert len(sheet(family(machine=True)).parts[0].rows) == 5


def test_the_partner_form_gives_both_a_job_and_changes_over_half_way() -> None:
    plan = make_plan(machine=False)
    page = measure.pages(pdf.render(partner.document(plan)))[2]
    seen = measure.text(page)
    assert "0:36to0:49:player1holds,player2varies." in seen  # 26 s of the mix, then the clock stands at 1:02
    assert "0:49to1:02:changeover.Player2holds," in seen
    assert "wheel" not in seen and "feed" not in seen.lower()


def test_the_partner_form_refuses_balls_that_cross_no_net() -> None:
    plan = make_plan(machine=False)
    own = plan.model_copy(update={"feeder": plan.feeder.model_copy(update={"players_side": True})})
    with pytest.raises(partner.NoRally, match="over the net"):
        partner.document(own)


PROGRAMS = sorted((Path(__file__).parents[2] / "programs").glob("*.feed"))


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_the_programs_that_come_along_print_a_page_a_block(path: Path) -> None:
    plan = compile_source(Source(path.name, path.read_text("utf-8")), ProfileShelf(None), ScriptShelf(None)).plan
    assert plan is not None
    planned = document(plan)
    found = measure.pages(pdf.render(planned))
    parts = sheet(plan).parts
    assert len(found) == len(planned.pages)
    if path.stem != "99-every-construct":  # which is there for its sentences: its front page and some blocks go on
        assert len(found) == 1 + len(parts)
    for page in found:
        assert measure.smallest(page) >= 13.95
        assert measure.overlapping(page) == []
        assert measure.outside(page, MARGIN) == []
