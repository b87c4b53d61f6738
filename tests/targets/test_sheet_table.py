"""The table of balls on the feed sheet: a row for each letter, in the cells that the paper has room for."""

import re

from feedwright.targets.machine.replay.places import first_balls
from feedwright.targets.outputs.sheet import front, html, phone
from feedwright.targets.outputs.sheet.fit import Item, lines
from feedwright.targets.outputs.sheet.layout import at_the_foot, document, fact
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.panels import ASIDE, LEAST, VALUE, shown

from .. import shipped
from ..whole import WHOLE
from .more_plans import ten_rows
from .plans import make_plan


def test_a_ball_with_the_settings_of_an_earlier_one_says_so_on_paper_and_says_them_on_a_phone() -> None:
    """A machine's settings stand once; a card shows one ball alone."""
    one, two = ten_rows(machine=True).shots[:2]
    plan = ten_rows(machine=True)
    same = two.model_copy(update={"settings": dict(one.settings)})
    alike = plan.model_copy(update={"shots": (one, same, *plan.shots[2:])})
    told = {item.data["letter"]: item.data for page in document(alike).pages for item in page if item.kind == "row"}
    assert [told[letter]["like"] for letter in "ABC"] == ["", "as A", ""]
    assert told["A"]["dials"] and not told["B"]["dials"] and not told["B"]["spin"]
    pages = html.render(document(alike)).decode(), phone.render(alike).decode()
    assert "<div>as A</div>" in pages[0] and "as A<" not in pages[1]


def test_a_count_without_room_stands_under_its_row() -> None:
    """Large print leaves the place, the height and the ball their lines; no word of theirs is broken apart."""
    plan = make_plan(machine=False)
    told = [item.data for page in document(plan, large=True).pages for item in page if item.kind == "row"]
    assert [len(row["cells"]) for row in told] == [3, 3]
    assert shown("count 1 2 3 feed, every 4 s") in told[0]["under"][0]
    heads = [item.data["cells"] for page in document(plan, large=True).pages for item in page if item.kind == "heads"]
    assert heads == [["lands", "over the net", "ball, km/h"]]


def test_a_spin_takes_two_lines_where_the_places_then_take_two_in_place_of_four() -> None:
    form = document(shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("08"))))
    cells = [item.data["cells"] for page in form.pages for item in page if item.kind == "row"]
    room = [mm - ASIDE for mm in form.columns[1:]]
    deep = [[sum(lines(text, mm, VALUE) for text in cell) for cell, mm in zip(row, room, strict=True)] for row in cells]
    assert [max(row) for row in deep] == [2, 2, 2, 2, 3, 3] and all(row[0] == 2 for row in deep)
    assert [row[2][0] for row in cells][4:] == ["some backspin"] * 2


def test_a_table_that_goes_on_has_its_headings_on_the_next_page_and_two_rows_at_least() -> None:
    for machine in (True, False):
        pages = document(ten_rows(machine), large=True).pages
        more = [[item.kind for item in page] for page in pages if any(item.kind == "row" for item in page)]
        starts = [kinds[kinds.index("row") - 1 :][:3] for kinds in more]
        assert len(more) > 1 and all(start == ["heads", "row", "row"] for start in starts)
        rows = [item.data["letter"] for page in pages for item in page if item.kind == "row"]
        assert rows == list("ABCDEFGHJK")


def test_rounds_on_a_line_say_their_balls_and_rests_in_order() -> None:
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("20")))
    texts = [str(item.data.get("text")).replace("\u00a0", " ") for page in document(plan).pages for item in page]
    # As the script says: 8 balls, rest 20 s, 8 balls, rest 20 s.
    assert "Each of the 2 rounds: 8 balls, then rest 20 s, then 8 balls, then rest 20 s." in texts


def test_a_ball_that_waits_for_a_serve_has_no_rhythm_beside_it() -> None:
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("99")))
    texts = [str(item.data.get("text")).replace("\u00a0", " ") for page in document(plan).pages for item in page]
    rest = "rest 5 s after every 1 point: “Serve to the other side.”"
    assert f"2 points, 2 balls, in this order; next serve 10.5 s after a point's last ball; {rest}" in texts


def test_the_heading_of_a_block_tells_the_rhythm_of_each_of_its_balls() -> None:
    """All members of a family in one letter, in whichever round they come: each has its interval. Of these sheets none
    is so full that the heading leaves out when the block ends."""
    for number in ("03", "08", "10", "13", "24"):
        plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith(number)))
        data = sheet(plan)
        heads = {item.data["text"]: item.data["aside"].replace("\u00a0", " ") for page in document(plan).pages
                 for item in page if item.kind == "head" and item.data["text"].startswith("Block ")}  # fmt: skip
        intervals: dict[str, set[float]] = {}
        for shot in plan.shots:
            intervals.setdefault(letters(plan).of[shot.id], set()).add(shot.interval_s)
        for part in data.parts:
            title = f"Block {part.number} · {part.starts} to {part.ends} · {part.balls} balls"
            said: dict[str, float] = {}
            for named, seconds in re.findall(r"(?:([A-Z](?:–[A-Z]|, [A-Z])*) )?(?:every )?([\d.]+) s", heads[title]):
                first, _, last = named.partition("–")
                of = map(chr, range(ord(first), ord(last) + 1)) if last else named.split(", ") if named else ()
                said |= dict.fromkeys(of or (row.letter[0] for row in part.rows), float(seconds))
            asked = {row.letter: intervals[row.letter] for row in part.rows}
            assert {row.letter: {said.get(row.letter[0])} for row in part.rows} == asked, (number, title, heads[title])


def test_two_balls_that_are_thrown_alike_say_how_high_each_is_met() -> None:
    """Program 26: the volleys F1 at the waist and F2 at the shoulder, of an adult of 1.68 m: the plan's contacts."""
    plan = shipped.plan(shipped.FOLDER / "26-hand-feeding-only.feed")
    rows = [item.data for page in document(plan).pages for item in page if item.kind == "row"]
    named = letters(plan).of
    met = {named[one.id]: one.predicted.contact_m[2] for one in plan.shots if named[one.id] in ("F1", "F2")}
    for letter, height in met.items():
        (under,) = (one["under"] for one in rows if one["letter"] == letter)
        assert [text.replace("\u00a0", " ") for text in under] == [f"met {round(height, 1):g} m high"]
    assert len(set(met.values())) == 2


def test_a_table_of_settings_alone_leaves_landing_and_height_over_the_net_to_the_words_at_the_picture() -> None:
    """Program 24. The service line is 6.40 m from the net (ITF Rules of Tennis, Rule 1)."""
    plan = shipped.plan(shipped.FOLDER / "24-doubles.feed")
    assert not any(item.data["cells"] for page in document(plan).pages for item in page if item.kind == "heads")
    texts = {one["title"].partition(":")[0]: " ".join(one["texts"]).replace("\u00a0", " ")
             for page in document(plan).pages for item in page if item.kind == "panels"
             for one in item.data["panels"]}  # fmt: skip
    seen = [one.predicted for one in plan.shots if letters(plan).of[one.id][0] in "AB"]
    short = sorted(6.40 - one.landing_m[1] for one in seen if one.landing_m)
    over = sorted(one.net_clearance_m for one in seen if one.net_clearance_m is not None)
    assert len(short) == len(over) == 4
    told = [f"{round(ends[0], 1):g}–{round(ends[-1], 1):g} m" for ends in (short, over)]
    assert f"Lands {told[0]} short of service, {told[1]} over the net." in texts["A1, A2, B1, B2"]
    assert "On the full, 4.5 m from net, 3 m over the net. Met at 2.4 m." in texts["G1, G2"]  # as the script says


def test_a_first_ball_that_waits_for_the_next_player_has_its_time_beside_the_heading() -> None:
    """Program 34: 24 balls every 5 s from 11:40 on end at 13:40; the last left at 13:35, and the next player has the
    changeover of 15 s. 24 balls every 5 s from 13:50 on, with the interval of the last, end at 15:50."""
    page = html.render(document(shipped.plan(shipped.FOLDER / "34-three-at-the-club.feed"))).decode()
    assert "13:40 to 15:50" in page and "first ball 13:50" in page.replace("\u00a0", " ")


def test_a_sheet_without_the_numbers_of_replies_says_where_to_put_the_cones() -> None:
    """One with room says them beside the numbers at the pictures, too; one without room on its first page at the foot
    of another one: program 22."""
    for number, cones in (
        ("16", "A–G: 0.5–5 m inside baseline, any side"),
        ("26", "A–D: 0.5–5 m inside baseline, any side; E: 0.5–5 m inside baseline, 0.5–3.8 m left of middle; "
               "F: 1–5 m inside baseline, any side"),
        # The zones of program 24 as its script says them, but with the feeder's left and right; `gap` is one place
        # across, 1.5 m, of which a target takes 0.75 m to each side (LANGUAGE.md, `depth` and `side`).
        ("24", "A, B, E: into “away”: 0.5–6 m inside baseline, 0.3–4 m inside right sideline; "
               "C, D: into “behind-them”: 0.5–4.5 m inside baseline, 0.5–4.5 m inside left sideline; "
               "F: into “gap”: 1–6.5 m inside baseline, 0.8–2.3 m left of middle; G: 1–6 m inside baseline, any side"),
        # 0.3 to 2.5 m inside the sideline of a red court, half of 5.5 m from the middle, is 0.25 to 2.45 m from there.
        ("19", "C: 0.3–3 m inside baseline, any side; "
               "D: into “target”: 0.2–3 m inside baseline, 0.3–2.5 m right of middle"),
        # The script's sideline is at the player's right.
        ("31", "A: 0.5–6 m inside baseline, 0.3–3 m inside left sideline; B, C: 0.5–6 m inside baseline, any side"),
        # The corner of LANGUAGE.md, 0.3 to 1.8 m, on a court of 6.5 m in place of 8.23, at the player's right.
        ("20", "A: crosscourt (left half): 0–3.3 m left of middle; B: crosscourt (right half): 0–3.3 m right "
               "of middle; C, D: 0.3–3.3 m inside baseline, any side; E: left corner: 0.2–1.4 m inside left sideline"),
        # The script's zone, 0.5 to 2.8 m inside the player's right sideline, is at the feeder's left.
        ("22", "A, C, D: into “their-backhand”: 0.5–4.5 m inside baseline, 0.5–2.8 m inside left "
               "singles line"),
    ):  # fmt: skip
        items = [item for page in _pages(number) for item in page]
        told = {item.data["label"]: item.data["text"].replace("\u00a0", " ") for item in items if item.kind == "fact"}
        assert told.get("Cones") == cones
        assert ("coloured cones" in told["Bring"]) is (number != "16"), "places may lie over each other"
        texts = [
            text for item in items if item.kind == "panels" for one in item.data["panels"] for text in one["texts"]
        ]
        assert any("reply 0.5 to 6" in text for text in texts) is (number == "31")


def test_a_sheet_counts_the_balls_that_the_player_serves_with_between_two_collects() -> None:
    """Program 31: 10, 10 and 20 serves, a collect, then 16 and 16."""
    (told,) = (item.data["text"] for item in _pages("31")[0] if item.data.get("label") == "Bring")
    assert ", 40 more for the player's serves, " in told


def test_how_the_balls_of_a_block_come_does_not_run_into_its_heading() -> None:
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("16")))
    assert "30 balls</bdi> <span><bdi>· in this order" in html.render(document(plan)).decode().replace("\u00a0", " ")


def test_a_sheet_without_the_numbers_of_replies_says_how_high_they_have_to_be() -> None:
    """The heights are those of the scripts, by their letters. Where no page has room, no height counts."""
    for number, heights in (
        ("15", "A, B, F from 4 m; C, D from 0.2 m; E from 0.3 m"),
        ("20", ""),
        ("31", ""),
    ):
        told = [item.data for page in _pages(number) for item in page if item.data.get("label") == "Replies"]
        assert [one["text"].replace("\u00a0", " ") for one in told] == [f"over the net: {heights}"] * bool(heights)
    plan = shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith("15")))
    counting = fact("Counting", dict(sheet(plan).front.facts)["Counting"], 186.0)
    for room, told_ in ((275.0, "Hit: place and height in metres, both as asked."), (10.0, "height not counted.")):
        (first, *_), *_ = at_the_foot(sheet(plan), plan, 186.0, LEAST, [[counting]], room)
        assert told_ in first.data["text"]


def test_every_sheet_of_a_machine_says_how_to_start_and_what_comes_first() -> None:
    """The first three balls that a replay throws, and what to do if one strays. How it goes on has no room on two."""
    full = ("09", "22")
    for path in (path for path in shipped.PROGRAMS if WHOLE or path.stem[:2] in ("05", "20", "22", "33")):
        plan = shipped.plan(path)
        facts = {item.data["label"]: item.data["text"].replace("\u00a0", " ")
                 for page in document(plan).pages for item in page if item.kind == "fact"}  # fmt: skip
        assert ("To go on" in facts) is (path.stem[:2] not in full)
        if plan.feeder.kind == "machine":
            first = [letters(plan).of[place.shots[0]] for place in first_balls(plan)]
            many = f"3 test balls {first[0]}" if len(set(first)) == 1 else f"test balls {', '.join(first)}"
            assert (
                f"{many}, nobody in front." in facts["To start"]
                or f"set to {first[0]}, nobody in front: 3" in facts["To start"]
            )
            assert "feed nobody, tell the coach" in facts["To start"] and "3 for the test" in facts["Bring"]


def test_test_balls_that_the_hopper_has_no_room_for_are_collected_first() -> None:
    """The balls of the first blocks and three more, or those of later blocks if there are more."""
    made = make_plan(machine=True)
    for hopper, told, then in ((13, "13 balls", "Else press a again"), (12, "10 balls", "Else power off")):
        feeder = made.feeder.model_copy(update={"hopper": hopper})
        facts = dict(front.front(made.model_copy(update={"feeder": feeder}), ()).facts)
        assert facts["Bring"].startswith(told) and then in facts["To start"], hopper


def _pages(number: str) -> tuple[tuple[Item, ...], ...]:
    return document(shipped.plan(next(path for path in shipped.PROGRAMS if path.stem.startswith(number)))).pages


def test_the_last_of_many_lines_of_letters_does_not_begin_a_page_alone() -> None:
    """In large print blocks of programs 22 and 34 go on over the page with their letters."""
    for number in ("22", "34"):
        path = next(path for path in shipped.PROGRAMS if path.stem.startswith(number))
        pages = [page for page in document(shipped.plan(path), large=True).pages if page[0].kind == "again"]
        alone = [[bool(item.data.get("strips")) for item in page[1:3]] for page in pages]
        assert [True, True] in alone and [True, False] not in alone


def test_the_table_stands_on_one_page_where_that_takes_no_more() -> None:
    """Of program 24 all its rows come before the pictures."""
    pages = [[item.kind for item in page] for page in _pages("24")]
    assert [n for n, kinds in enumerate(pages) if "rows" in kinds or "row" in kinds] == [1] and len(pages) == 5


def test_the_first_page_says_what_small_numbers_and_gaps_are_where_there_are_some() -> None:
    """Program 05 feeds one letter in each block, 09 has rounds, 31 neither."""
    for number, told in (
        ("05", "net's cord. Up is"),
        ("09", "net's cord. Small numbers count the balls, before a round the rounds. A gap is no pause."),
        ("31", "net's cord. Small numbers count the balls. A gap is no pause."),
    ):
        items = [item for page in _pages(number) for item in page]
        (read,) = (item.data["text"] for item in items if item.data.get("label") == "How to read")
        assert told in read
