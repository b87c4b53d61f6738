"""The feed sheet as it leaves the printer: measured from the PDF."""

import re
from collections import Counter
from math import ceil
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets.outputs.sheet import partner, pdf
from feedwright.targets.outputs.sheet.fit import Item, pack
from feedwright.targets.outputs.sheet.layout import Document, document, shown
from feedwright.targets.outputs.sheet.page import sheet

from .. import shipped
from ..whole import WHOLE
from . import measure
from .more_plans import HOSTILE, RIGHT_TO_LEFT, everywhere, family, ladder, ten_rows
from .plans import make_plan

pytest.importorskip("typst", reason="the extra pdf is not installed")
SIZES = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}  # ISO 216 and ANSI/ASME Y14.1, pt
MARGIN = 12 / 25.4 * 72


PRINTED: dict[tuple[str, str, bool, str], list[object]] = {}
"""Each paper once, by its plan's whole content: it takes half a second to print and read."""


def printed(plan: Plan, paper: str = "a4", large: bool = False, date: str = "") -> list[object]:
    key = plan.model_dump_json(), paper, large, date
    if key not in PRINTED:
        PRINTED[key] = measure.pages(pdf.render(document(plan, paper, large, date)))
    return PRINTED[key]


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
            assert measure.bare("".join(row.dials) + row.spin) in seen


def test_a_crowded_page_still_tells_a_machine_the_rhythm() -> None:
    plan = ten_rows(machine=True)
    assert "60balls,mixed,inthisorder,every4s" in measure.text(printed(plan, "letter")[1])
    slow = plan.shots[0].model_copy(update={"interval_s": 5.0})
    mixed = plan.model_copy(update={"shots": (slow, *plan.shots[1:])})
    assert "Aevery5s;B,C,D,E,F,G,H,J,Kevery4s" in measure.text(printed(mixed)[1])


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
    found = printed(make_plan(machine), paper) if form is document else measure.pages(pdf.render(planned))
    assert len(found) == len(planned.pages)
    for number, page in enumerate(found, start=1):
        assert f"page{number}of{len(found)}" in measure.text(page)
        assert measure.overlapping(page) == []
        assert measure.outside(page, MARGIN) == []


def test_large_print_is_a_fifth_larger() -> None:
    planned = document(ten_rows(machine=False), large=True)
    found = printed(ten_rows(machine=False), large=True)
    assert len(found) == len(planned.pages)
    assert min(measure.smallest(page) for page in found) >= 16.7  # 14 pt times 1.2, less rounding
    assert all(measure.overlapping(page) == [] for page in found)


def test_same_plan_same_bytes_and_a_date_only_when_asked() -> None:
    plan = make_plan(machine=True)
    assert pdf.render(document(plan)) == pdf.render(document(plan))
    dated = printed(plan, date="2026-05-31")
    assert all("2026-05-31" in measure.text(page) for page in dated)
    assert not any(re.search(r"\d{4}-\d{2}-\d{2}", measure.text(page)) for page in printed(plan))


@pytest.mark.parametrize(
    ("title", "machine"),
    [
        pytest.param(title, machine, id=f"{n}-{machine}")
        for n, title in enumerate(HOSTILE) for machine in (False, True)
        if WHOLE or (n % 2 == 0 and machine == n // 2 % 2)
    ],
)  # fmt: skip
def test_hostile_text_is_printed_as_it_is(title: str, machine: bool) -> None:
    """Every other one; in HTML all of them (test_sheet.py)."""
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
        planned = document(ladder(machine))
        page = printed(ladder(machine))[1]
        # Right of the picture, whose letters stand in the lines of the text.
        across = next(item.data["width"] for item in planned.pages[1] if item.kind == "band")
        seen = measure.text(page.crop((MARGIN + across / 25.4 * 72, 0, page.width, page.height)))
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


def test_words_of_two_columns_do_not_touch() -> None:
    """A millimetre and more between them: 1.5 are planned, less what letters stand out of their boxes."""
    for machine in (False, True):
        page = printed(family(machine))[1]
        words = measure.words(page)
        head = [word for word in words if word["text"] == "over"][-1]  # that of the table, under the variation's
        inside = [word for word in words if word["top"] > head["bottom"] and word["x0"] < head["x0"] - 0.5]
        assert len(inside) > 10
        touching = [w["text"] for w in inside if w["size"] > 16 and head["x0"] - 2.8 < w["x1"] < head["x0"] + 30]
        assert touching == []


def test_names_of_settings_stand_in_one_line() -> None:
    page = printed(make_plan(machine=True))[1]
    tops = {word["text"]: word["top"] for word in measure.words(page) if word["text"] in ("upper", "elevation", "head")}
    assert len(tops) == 3 and max(tops.values()) - min(tops.values()) < 0.1


def blocks_of(planned: Document) -> list[list[str]]:
    """For each page the blocks that begin or go on there."""
    return [[i.data["text"] for i in page if i.kind in ("head", "again")] for page in planned.pages]


def test_two_short_blocks_share_a_page_and_long_ones_do_not() -> None:
    short = make_plan(machine=False)
    heads = blocks_of(document(short))
    assert [len(page) for page in heads] == [0, 1, 1, 1]  # the second has two variations, and notes
    plain = tuple(variation.model_copy(update={"notes": ()}) for variation in short.variations)
    blocks = (*short.blocks[:2], short.blocks[0].model_copy(update={"index": 2, "start_s": 36.0, "end_s": 52.0}))
    twice = short.model_copy(update={"variations": plain, "blocks": blocks})
    (front, both) = blocks_of(document(twice))
    assert front == [] and [text[:7] for text in both] == ["Block 1", "Block 2"]
    page = printed(twice)[1]
    assert measure.smallest(page) >= 13.95
    assert measure.overlapping(page) == []


def test_a_clock_that_does_not_fit_the_first_page_stands_whole_on_the_second() -> None:
    plan = make_plan(machine=False)
    pause = plan.blocks[1]
    blocks = tuple(
        block.model_copy(
            update={"index": 2 * n + k, "start_s": 36.0 * n + 16.0 * k, "end_s": 36.0 * n + 16.0 + 20.0 * k}
        )
        for n in range(18)
        for k, block in enumerate((plan.blocks[0], pause))
    )
    first, second, *_ = document(plan.model_copy(update={"blocks": blocks})).pages
    assert {item.kind for item in second} == {"clock"} and len(second) == 18
    assert "clock" not in {item.kind for item in first}
    (whole, _) = document(plan.model_copy(update={"blocks": blocks[:2]})).pages
    assert [item.kind for item in whole].count("clock") == 1


def test_rounds_that_go_on_a_second_page_begin_there_with_their_name() -> None:
    label, step = Item("round", 7.5, {}), Item("step", 8.0, {})
    assert [[item.kind for item in page] for page in pack([step, label, step, step], 20.0)] == [
        ["step"], ["round", "step"], ["step"]
    ]  # fmt: skip


def test_the_partner_form_gives_both_a_variation_and_changes_over_half_way() -> None:
    plan = make_plan(machine=False)
    page = measure.pages(pdf.render(partner.document(plan)))[2]
    seen = measure.text(page)
    assert "0:36to0:49:player1steady,player2changing." in seen  # 26 s of the mix, then the clock stands at 1:02
    assert "0:49to1:02:changeover.Player2steady," in seen
    assert "wheel" not in seen and "feed" not in seen.lower()


def test_the_partner_form_says_rests_and_collects_by_the_clock() -> None:
    pages = partner.document(make_plan(machine=False)).pages
    said = [(i.data["clock"], i.data["text"].replace("\u00a0", " ")) for p in pages for i in p if i.kind == "step"]
    assert [step for step in said if step[1]] == [("0:16", "Rest 20 s"), ("1:02", "Collect 1 min")]


@pytest.mark.parametrize("words", [3, 150])  # beside the picture; a page of their own
def test_the_partner_form_explains_each_variation_where_it_comes_first(words: int) -> None:
    plan = ten_rows(False)
    notes = {v.id: (" ".join([f"{v.id}-note"] * words),) for v in plan.variations}
    told = tuple(v.model_copy(update={"when": f"{v.id}-when", "notes": notes[v.id]}) for v in plan.variations)
    form = partner.document(plan.model_copy(update={"variations": told}), large=True)
    beside = [side for page in form.pages for item in page for side in (item.data, *item.data.get("side", ()))]
    texts = " ".join(text for side in beside for text in side.get("texts", ()))
    for variation in told:
        assert f"when {variation.when}" in texts and notes[variation.id][0] in texts
    room = form.height / form.scale - 8 - 13  # top and foot
    assert all(sum(item.height_mm for item in page) <= room for page in form.pages)


def test_the_partner_form_refuses_balls_that_cross_no_net() -> None:
    plan = make_plan(machine=False)
    own = plan.model_copy(update={"feeder": plan.feeder.model_copy(update={"players_side": True})})
    with pytest.raises(partner.NoRally, match="over the net"):
        partner.document(own)


def test_each_letter_of_a_partner_block_is_in_its_strip() -> None:
    plan = make_plan(machine=False)  # its rounds are three of A, then two of B
    (page,) = [page for page in partner.document(plan).pages if page[0].data["text"].startswith("Block 3")]
    strip = [letter for i in page if i.kind == "step" for s in i.data["strips"] for g in s for letter in g["letters"]]
    assert "".join(strip) == "AAABB"


def test_a_ladder_s_rungs_are_the_changing_player_s_letters() -> None:
    page = partner.document(ladder(machine=False)).pages[1]
    strip = [letter for i in page if i.kind == "step" for s in i.data["strips"] for g in s for letter in g["letters"]]
    assert strip == ["A1", "A2", "A3", "A4", "A5"]


def test_the_partner_form_keeps_the_notes_and_names_no_screen() -> None:
    plan = make_plan(machine=False)
    screened = plan.model_copy(update={"feeder": plan.feeder.model_copy(update={"screen": True})})
    seen = "".join(measure.text(page) for page in measure.pages(pdf.render(partner.document(screened))))
    assert "screen" not in seen
    assert "Turntheshouldersearly." in seen  # the variation's
    assert "Calltheletterlate." in seen  # the block's


def test_the_steady_player_stands_where_the_balls_are_met() -> None:
    plan = make_plan(machine=False)
    volleys = tuple(shot.model_copy(update={"stance_y_m": y}) for shot, y in zip(plan.shots, (2.5, 3.0), strict=True))
    for used, said in ((plan.shots, "1mbehindbaseline."), (volleys, "2.5–3mfromnet.")):
        page = measure.pages(pdf.render(partner.document(plan.model_copy(update={"shots": used}))))[2]
        assert f"Thesteadyplayerstands{said}" in measure.text(page)


# Few and many kinds of ball, a ladder, dials, rounds, hands, a small court, everything.
# Those with many pages are printed with WHOLE alone; what sets them is compared in test_sheet.py.
SOME = ("02", "04", "05", "19") + ("18", "26", "99") * WHOLE
PROGRAMS = [next(shipped.FOLDER.glob(f"{n}-*.feed")) for n in SOME]


KINDS = 5
"""As many kinds of ball in a block are always on one page; more may take two (our own choice)."""


@pytest.mark.parametrize("path", PROGRAMS, ids=lambda path: path.stem)
def test_the_programs_that_come_along_print_a_page_a_block(path: Path) -> None:
    plan = shipped.plan(path)
    planned = document(plan)
    found = printed(plan)
    assert len(found) == len(planned.pages)
    for page in found:
        assert measure.smallest(page) >= 13.95
        assert measure.overlapping(page) == []
        assert measure.outside(page, MARGIN) == []
    goes_on = [heads[0] for heads in blocks_of(planned) if heads and "continued" in heads[0]]
    # A block of many kinds takes a page more for every ten or so.
    more = {
        f"Block {part.number}, continued": ceil(len(part.rows) / (2 * KINDS))
        for part in sheet(plan).parts
        if len(part.rows) > KINDS
    }
    assert all(times <= more.get(head, 0) for head, times in Counter(goes_on).items())
    fronts = [page for page in planned.pages if not {"head", "again"} & {item.kind for item in page}]
    assert len(fronts) == 1 or path.stem == "99-every-construct"  # which is there for its sentences
    assert len(found) <= len(fronts) + len(sheet(plan).parts) + len(goes_on)
