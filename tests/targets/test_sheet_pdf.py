"""The feed sheet as it leaves the printer: measured from the PDF."""

import re
from math import ceil
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.grammar.units import clock
from feedwright.targets.outputs.sheet import partner, pdf
from feedwright.targets.outputs.sheet.fit import FOOT, TOP, Chunk, Item, flow, used
from feedwright.targets.outputs.sheet.layout import FEW, document
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.panels import shown
from feedwright.targets.outputs.sheet.play import MOST_BOXES

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
    key = repr(plan), paper, large, date
    if key not in PRINTED:
        PRINTED[key] = measure.pages(pdf.render(document(plan, paper, large, date)))
    return PRINTED[key]


@pytest.mark.parametrize(
    ("machine", "paper"), [(False, "a4"), (True, "a4"), (True, "letter"), *[(False, "letter")] * WHOLE]
)
def test_ten_kinds_of_ball_take_few_pages_and_every_page_is_clean(machine: bool, paper: str) -> None:
    found = printed(ten_rows(machine), paper)
    assert len(found) <= FEW
    for page in found:
        assert (page.width, page.height) == pytest.approx(SIZES[paper], abs=0.5)
        assert measure.smallest(page) >= 13.95  # 14 pt, less the rounding of the file
        assert measure.overlapping(page) == []
        assert measure.outside(page, MARGIN) == []


@pytest.mark.parametrize("machine", [False, True])
def test_every_value_of_a_row_is_17_points_and_as_planned(machine: bool) -> None:
    plan = ten_rows(machine)
    seen = "".join(measure.text(page, least=16.95) for page in printed(plan))
    (part,) = sheet(plan).parts
    assert len(part.rows) == 10
    for row in part.rows:
        for upper, lower in row.cells:
            assert measure.bare(upper) in seen and measure.bare(lower) in seen
        if machine:
            assert measure.bare("".join(row.dials) + row.spin) in seen


def crowded(machine: bool) -> Plan:
    """The ten kinds five times over, so that all small print has to go."""
    plan = ten_rows(machine)
    alike = [shot.model_copy(update={"settings": plan.shots[0].settings}) for shot in plan.shots]
    more = [
        (n, one.model_copy(update={"id": f"{one.id} {n}", "feed": f"{one.feed} {n}"}))
        for n in range(5)
        for one in alike
    ]
    shots = tuple(shot for _, shot in more)
    block = plan.blocks[0].model_copy(update={"shots": tuple(shot.id for shot in shots)})
    launches = tuple(ball.model_copy(update={"shot": f"{ball.shot} {n % 5}"}) for n, ball in enumerate(plan.launches))
    return plan.model_copy(update={"shots": shots, "blocks": (block,), "launches": launches})


def test_a_crowded_sheet_still_tells_a_machine_the_rhythm() -> None:
    planned = document(crowded(machine=True))
    (head,) = [i.data for page in planned.pages for i in page if i.kind == "head" and "Block" in i.data["text"]]
    assert head["aside"].replace("\u00a0", " ").endswith("every 4 s")
    (told, *_) = [i.data["text"] for page in planned.pages for i in page if "For all" in str(i.data.get("text"))]
    said = "For all balls: upper wheel 2850 rpm, lower wheel 2410 rpm, up 11.5 deg, head 7 deg."
    assert told.replace("\u00a0", " ") == said


def test_the_file_says_nothing_of_suspects() -> None:  # false is the default (ISO 32000-1, table 321)
    assert measure.pages(pdf.render(document(make_plan(True))))[0].pdf.doc.catalog["MarkInfo"] == {"Marked": True}


def test_the_letters_of_rows_and_strip_are_the_largest() -> None:
    plan = ten_rows(machine=False)
    chars = [char for page in printed(plan) for char in page.chars]
    assert len([c for c in chars if c["text"] == "E" and c["size"] >= 19.9]) == 1 + 6  # its row, and six of sixty
    strip = "".join(c["text"] for c in chars if 19.9 <= c["size"] < 20.1 and c["text"] in "ABCDEFGHJK")
    order = [sheet(plan).parts[0].rows[int(ball.first.removeprefix("ball-"))].letter for ball in plan.launches]
    assert "".join(order) in strip


def test_hits_and_misses_have_boxes_that_no_word_covers() -> None:
    pages = printed(make_plan(machine=False))
    boxes = [(page, box) for page in pages for box in measure.ticks(page)]
    assert len(boxes) == 1 + 2 + 2  # to tick a streak that was reached, in each block that has its balls
    fields = [(page, box) for page in pages for box in measure.fields(page)]
    assert len(fields) == 3 * 5  # hits, misses, streak
    for page, box in boxes + fields:
        for word in measure.words(page):
            beside = word["x1"] <= box["x0"] + 0.6 or word["x0"] >= box["x1"] - 0.6
            assert beside or word["bottom"] <= box["top"] + 3 or word["top"] >= box["bottom"] - 3, word["text"]


@pytest.mark.parametrize("machine", [False, True])
def test_fonts_are_embedded(machine: bool) -> None:
    for page in printed(make_plan(machine)):
        for font in page.page_obj.resources["Font"].values():
            inside = font.resolve()["DescendantFonts"]
            assert {"FontFile2", "FontFile3"} & set(inside[0].resolve()["FontDescriptor"].resolve())


@pytest.mark.parametrize(
    ("machine", "form", "paper"),
    [
        (machine, form, paper)
        for machine in (False, True)
        for form in (document, partner.document)
        for paper in ("a4", "letter")
        if WHOLE or (machine + (form is document) + (paper == "a4")) % 2
    ],
)
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
        if WHOLE or (n % 4 == 0 and machine == n // 4 % 2)
    ],
)  # fmt: skip
def test_hostile_text_is_printed_as_it_is(title: str, machine: bool) -> None:
    """Some of them; in HTML all (test_sheet.py)."""
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
        found = printed(ladder(machine))
        seen = "".join(measure.text(page) for page in found)
        rule = (
            f"{'It starts' if machine else 'Start'} on A1, or where the last practice ended. Up after 3 hits in a row, "
            "down after 2 misses in the last 4 balls; then count afresh. Stay on A5 after more hits, on A1 "
            "after more misses. "
        )
        rule += "Rub out a rung's old ticks." if machine else "Who waits ticks hits, crosses misses on the rung; rub"
        assert rule.replace(" ", "") in seen
        for n in range(1, 6):
            assert f"A{n}fed{70 + n}km/h" in seen
        # None of the goal, which counts otherwise; without a computer as many as have room, for the last balls.
        assert sum(len(measure.ticks(page)) for page in found) == 5 * (3 if machine else MOST_BOXES)
        assert sum(len(measure.fields(page)) for page in found) == 5 * 2 + 2  # hits, misses; the last rung, the streak


def test_a_family_is_one_row_for_a_hand() -> None:
    (part,) = sheet(family(machine=False)).parts
    assert [row.letter for row in part.rows] == ["A"]
    assert part.rows[0].cells[0] == ("1.7–2.7 m inside baseline", "1.5 m in from right")
    assert len(sheet(family(machine=True)).parts[0].rows) == 5


def test_words_of_two_columns_do_not_touch() -> None:
    """A millimetre and more between them: 1.5 are planned, less what letters stand out of their boxes."""
    for machine in (False, True):
        page = printed(family(machine))[1]
        words = measure.words(page)
        head = [word for word in words if word["text"] == "over"][-1]  # that of the table, under the variation's
        end = next((word["top"] for word in words if word["text"] == "Block"), page.height)
        under = [word for word in words if head["bottom"] < word["top"] < end]
        # Lines that have the second column: those of a machine's settings have not.
        lines = {round(word["top"]) for word in under if abs(word["x0"] - head["x0"]) < 0.5}
        inside = [word for word in under if round(word["top"]) in lines and word["x0"] < head["x0"] - 0.5]
        assert len(inside) > 8
        touching = [w["text"] for w in inside if w["size"] > 16 and head["x0"] - 2.8 < w["x1"] < head["x0"] + 30]
        assert touching == []


def test_names_of_settings_stand_in_one_line() -> None:
    page = printed(make_plan(machine=True))[1]
    tops = {word["text"]: word["top"] for word in measure.words(page) if word["text"] in ("upper", "up", "head")}
    assert len(tops) == 3 and max(tops.values()) - min(tops.values()) < 0.1


def test_short_blocks_share_a_page_and_a_block_is_not_broken_without_need() -> None:
    heads = [[i.data["text"] for i in page if i.kind in ("head", "again")] for page in document(make_plan(False)).pages]
    assert [text[:7] for page in heads for text in page] == ["The bal", "Block 1", "Block 2", "Block 3"]


def test_rests_stay_with_their_block_and_tell_the_next_settings() -> None:
    """What a machine is set to for a block of one kind of ball stands at the rest before it, what changes first."""
    plan = shipped.plan(next(shipped.FOLDER.glob("05-*.feed")))
    notes = [
        (i.data["clock"], note)
        for page in document(plan).pages
        for i in page
        if i.kind == "step"
        for note in i.data["notes"]
    ]
    was, now = ({key: f"{value:g}" for key, value in shot.settings.items()} for shot in plan.shots[1:3])
    assert [key for key in now if now[key] != was[key]] == ["elevation", "topspin"]
    told = f"up {now['elevation']} deg (was {was['elevation']}), topspin {now['topspin']} (was {was['topspin']})"
    told += f"; as before: speed {now['speed']}, side {now['azimuth']} deg, every 5 s"
    assert ("5:00", f"Set to C: {told}") in [(clock, note.replace("\u00a0", " ")) for clock, note in notes]
    assert "(was" not in sheet(plan).dials and sheet(plan).dials.count(",") == len(
        now
    )  # all of the first ball, and its interval
    assert [clock for clock, _ in notes] == ["2:00", "5:00", "8:00"]


def test_the_clock_stands_whole_on_the_first_page_before_what_is_read_once_or_on_the_second() -> None:
    plan = make_plan(machine=False)
    pause = plan.blocks[1]
    blocks = tuple(
        block.model_copy(
            update={"index": 2 * n + k, "start_s": 36.0 * n + 16.0 * k, "end_s": 36.0 * n + 16.0 + 20.0 * k}
        )
        for n in range(18)
        for k, block in enumerate((plan.blocks[0], pause))
    )
    full, notes = plan.model_copy(update={"blocks": blocks}), ("one word after the other " * 40,)
    first, second, *_ = document(full).pages
    assert [item.kind for item in first].count("clock") == 18 and second[0].data["label"] in ("Counting", "How to read")
    first, second, *_ = document(full.model_copy(update={"notes": notes})).pages
    assert [item.kind for item in second][:19] == ["clock"] * 18 + ["head"]  # the balls go on below it
    assert "clock" not in {item.kind for item in first}
    (whole, _) = document(plan.model_copy(update={"blocks": blocks[:2]})).pages
    assert [item.kind for item in whole].count("clock") == 1


def test_a_chunk_stays_on_one_page_and_a_page_that_goes_on_says_so() -> None:
    again, step = Item("again", 5.0, {}), Item("step", 8.0, {})
    pages = flow([Chunk((step, step)), Chunk((step, step), (again,)), Chunk((step,), (again,))], 22.0)
    assert [[item.kind for item in page] for page in pages] == [
        ["step", "step"], ["again", "step", "step"], ["again", "step"]
    ]  # fmt: skip
    high = Chunk((step, step, step), (again,))  # higher than a page: broken
    assert [[item.kind for item in page] for page in flow([high], 22.0)] == [["step", "step"], ["again", "step"]]


# Few and many kinds of ball, a ladder, dials, rounds, hands, a small court, everything.
# Those with many pages are printed with WHOLE alone; what sets them is compared in test_sheet.py.
PROGRAMS = shipped.PROGRAMS if WHOLE else [next(shipped.FOLDER.glob(f"{n}-*.feed")) for n in ("02", "05", "20")]
PAGES = [("02", 2), ("09", 3), ("16", 5), ("18", 5), ("19", 4), ("22", 5)]


MORE_PAGES = [("20", 5), ("24", 5), ("25", 4), ("26", 5), ("29", 5), ("34", 5)]


@pytest.mark.parametrize(("program", "most"), PAGES + MORE_PAGES * WHOLE)
def test_no_page_is_begun_for_a_few_lines(program: str, most: int) -> None:
    """Where small lines, rows among the pictures, or headings that say more, save the last page."""
    pages = document(shipped.plan(next(shipped.FOLDER.glob(f"{program}-*.feed")))).pages
    assert len(pages) == most


PAPERS = [(path, large) for large in (False, True)[: 1 + WHOLE] for path in PROGRAMS]
PAPERS += [] if WHOLE else [(next(shipped.FOLDER.glob("23-*.feed")), True)]  # rows side by side, with words below


@pytest.mark.parametrize(("path", "large"), PAPERS, ids=lambda value: getattr(value, "stem", str(value))[:5])
def test_the_programs_that_come_along_print_clean(path: Path, large: bool) -> None:
    plan = shipped.plan(path)
    planned = document(plan, large=large)
    found = printed(plan, large=large)
    assert len(found) == len(planned.pages)
    for page in found:
        assert measure.smallest(page) >= 13.95
        assert measure.overlapping(page) == []
        assert measure.outside(page, MARGIN) == []


def test_twenty_four_kinds_of_ball_take_at_most_a_page_for_six_minutes() -> None:
    """Six minutes are our own choice: half an hour on five pages."""
    plan = shipped.plan(next(shipped.FOLDER.glob("18-*.feed")))
    planned = document(plan)
    assert plan.totals.distinct_shots == 24 and len(planned.pages) <= ceil(plan.totals.duration_s / 360)
    room = planned.height - TOP - FOOT
    assert all(used(page) <= room for page in planned.pages)
    # Nothing stands alone on a page: neither a heading at its foot nor a last row or round at its top.
    assert all(page[-1].kind not in {"head", "again", "heads", "round"} for page in planned.pages)


def test_rows_stand_around_pictures_and_none_stands_alone_under_its_heading() -> None:
    heads, row = Item("heads", 10, {}), Item("row", 10, {})
    around = [Chunk((heads, row, row)), *(Chunk((row,), (heads,)) for _ in range(5))]
    pictures = [Chunk((Item("panels", high, {}),)) for high in (60, 78, 60)]
    told = [[item.kind for item in page] for page in flow(pictures, 100, around)]
    three = ["panels", "heads", "row", "row", "row"]
    # The second page has room for a heading and one row, and stays empty there.
    assert told == [three, ["panels"], three, ["heads", "row"]]


def test_a_terse_block_says_in_its_heading_how_its_balls_come_and_puts_a_rest_beside_the_last_letters() -> None:
    plan = shipped.plan(next(shipped.FOLDER.glob("22-*.feed")))
    items = [item for page in document(plan).pages for item in page]
    heads = [item.data for item in items if item.kind == "head" and item.data["text"].startswith("Block")]
    assert [head["aside"].replace("\u00a0", " ") for head in heads[:3]] == 3 * ["· in this order, every 5 s"]
    rests = [item.data["after"] for item in items if item.kind == "step" and item.data["after"]]
    collects = [block.start_s for block in plan.blocks if block.kind == "collect"]
    assert {clock(at) for at in collects[:2]} <= {rest["clock"] for rest in rests}
    assert all(rest["text"].startswith(("Rest", "Collect")) for rest in rests)
