"""What the feed sheet says, and that it is safe to open."""

import re
from html.parser import HTMLParser

import pytest

from feedwright.compiler.model.plan import Plan, ReplyRecord, Shot
from feedwright.targets.outputs.court.svg import Drawing
from feedwright.targets.outputs.sheet import front, layout, panels, words
from feedwright.targets.outputs.sheet import html as html_form
from feedwright.targets.outputs.sheet.html import CSS
from feedwright.targets.outputs.sheet.layout import document
from feedwright.targets.outputs.sheet.letters import Letters, letters, listed, places
from feedwright.targets.outputs.sheet.page import sheet
from feedwright.targets.outputs.sheet.rows import row

from .. import shipped
from .more_plans import everywhere, ladder, ten_rows
from .plans import COURT, make_plan, make_shot

HOSTILE = [
    "<script>alert(1)</script>",
    '" onload="alert(1)',
    "' style='x",
    "</title></style><img src=x onerror=alert(1)>",
    "&lt;b&gt; &amp; {program} {0.__class__} %s $x",
    "abc\u202egnp.exe\u2066",
    "nul\0bell\x07sep\u2028line",
    "W" * 300,
    "反手" * 60,
]


DRAWN = Drawing("<svg/>", 60.0, 60.0, ())


def render(plan: Plan) -> bytes:
    return html_form.render(document(plan))


class Reader(HTMLParser):
    """Text, tags and attributes; fails on tags that do not close in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag not in {"meta", "br"}:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open[-1:] != ["style"]:
            self.text.append(data)


def opened(plan: Plan) -> Reader:
    reader = Reader()
    reader.feed(render(plan).decode())
    reader.close()
    assert reader.open == []
    return reader


def text_of(plan: Plan) -> str:
    return "".join(opened(plan).text).replace("\u00a0", " ")


@pytest.mark.parametrize("title", HOSTILE)
def test_hostile_titles_stay_text(title: str) -> None:
    plain, hostile = opened(make_plan(machine=True)), opened(everywhere(make_plan(machine=True), title))
    assert hostile.tags == plain.tags
    assert hostile.attributes == plain.attributes
    shown = "".join(hostile.text).replace("\u00a0", " ")
    for character in "\u202e\u2066\u2028\0\x07":
        assert character not in shown
    if title.isprintable():
        assert shown.count(title) >= 5
    if "\u202e" in title:
        assert r"abc\u202egnp.exe\u2066" in shown


def test_nothing_runs_and_nothing_is_fetched(machine_plan: Plan) -> None:
    html = render(machine_plan).decode()
    reader = opened(machine_plan)
    assert "default-src 'none'; style-src 'unsafe-inline'" in html
    assert reader.tags.isdisjoint({"script", "a", "img", "link", "iframe", "object", "form", "base", "image", "use"})
    assert reader.attributes.isdisjoint({"href", "src", "style", "srcset"})
    assert not any(name.startswith("on") for name in reader.attributes)
    assert "url(" not in CSS and "@import" not in CSS
    # The name of the SVG namespace is no address that anything is fetched from.
    assert set(re.findall(r"https?://[^\"]*", html)) == {"http://www.w3.org/2000/svg"}


def test_only_the_footer_is_under_14_points(machine_plan: Plan) -> None:
    sizes = [(rule, float(size)) for rule, size in re.findall(r"([^{}]*)\{[^{}]*?([0-9.]+)pt", CSS)]
    assert len(sizes) >= 6
    assert {rule.strip() for rule, size in sizes if size < 14} == {"footer"}


def test_page_numbers_and_digest_are_on_every_page(machine_plan: Plan) -> None:
    html = render(machine_plan).decode()
    numbers = re.findall(r"page ([0-9]+) of ([0-9]+)", html)
    assert numbers == [(str(n), str(len(numbers))) for n in range(1, len(numbers) + 1)]
    assert len(numbers) == html.count('<section class="page">') == html.count(f"plan {machine_plan.digest[:12]}<")


def test_the_drawn_order_of_a_mix_can_be_followed_in_fives(person_plan: Plan) -> None:
    mix = sheet(person_plan).parts[1].rounds[0].steps[0]
    assert mix.order == ("A", "B", "A", "A", "B", "A")
    # Two players in line who change after every four balls: a group ends with a turn too.
    strip = re.findall(r'<div class="strip">(.*?)</div>', render(person_plan).decode())
    assert [re.sub("<[^>]*>", "", line) for line in strip] == ["1ABAA2BA"]
    alone = person_plan.model_copy(update={"player": person_plan.player.model_copy(update={"in_line": 1})})
    strip = re.findall(r'<div class="strip">(.*?)</div>', render(alone).decode())
    fives = [re.sub("<[^>]*>", "", five) for five in strip[0].split('<span class="five">')]
    assert fives == ["", "ABAAB", "A"], "nobody counts the balls of a single line"


@pytest.mark.parametrize(
    ("order", "said", "clock"),
    [
        ("KSKSKS", "6 balls, B, A in turn", "B, A in turn"),
        ("SKSKKS", "6 balls, in this order", "A, B in the printed order"),
    ],
)
def test_in_turn_is_said_of_a_turn_alone(person_plan: Plan, order: str, said: str, clock: str) -> None:
    feeds = iter({"S": "steady", "K": "kicker"}[sign] for sign in order)
    launches = tuple(b.model_copy(update={"shot": next(feeds)}) if b.block == 2 else b for b in person_plan.launches)
    blocks = tuple(b.model_copy(update={"order": "cycle"}) if b.index == 2 else b for b in person_plan.blocks)
    told = sheet(person_plan.model_copy(update={"launches": launches, "blocks": blocks}))
    assert told.parts[1].rounds[0].steps[0].text == said
    assert told.front.clock[1][1].startswith(f"Block 2: {clock}, then")


def test_rounds_that_are_alike_share_a_page_with_the_clock_of_each(person_plan: Plan) -> None:
    part = sheet(person_plan).parts[2]
    assert [turn.label for turn in part.rounds] == ["Rounds 1 and 2, each"]
    # 122 s and 143 s for the first block of a round, 134 s and 155 s for the second.
    assert [step.clocks for step in part.rounds[0].steps] == [("2:02", "2:23"), ("2:14", "2:35")]
    assert [step.text for step in part.rounds[0].steps] == ["3 balls, A each time", "2 balls, B each time"]


def test_a_row_has_the_time_of_its_first_ball(person_plan: Plan) -> None:
    # A ball with a longer interval than the one before leaves after its block has begun: 7 s later in both rounds.
    late = [block.index for block in person_plan.blocks if block.start_s in (134.0, 155.0)]
    launches = tuple(
        ball.model_copy(update={"at_s": ball.at_s + 7.0 * (ball.block in late)}) for ball in person_plan.launches
    )
    part = sheet(person_plan.model_copy(update={"launches": launches})).parts[2]
    assert [step.clocks for step in part.rounds[0].steps] == [("2:02", "2:23"), ("2:21", "2:42")]
    assert part.rounds[0].when(part.rounds[0].steps[1]) == "+0:19"


def test_rests_and_collects_come_with_the_clock(person_plan: Plan) -> None:
    text = text_of(person_plan)
    assert "0:16Rest 20 s" in text
    assert "1:02Collect 1 min" in text
    assert sheet(person_plan).front.clock == (
        ("0:00", "Block 1: A, then rest 20 s", "4 balls"),
        ("0:36", "Block 2: A, B mixed, then collect 1 min", "6 balls"),
        ("2:02", "Block 3: 2 rounds of A; B", "10 balls"),
    )


def test_a_person_sees_words_and_a_machine_numbers(person_plan: Plan, machine_plan: Plan) -> None:
    person, machine = text_of(person_plan), text_of(machine_plan)
    assert "some topspinbrisk 701 2 3 feedevery 4 s" in person
    assert not re.search(r"Set to|wheel|900 rpm|11\.5", person)
    assert "2850241011.57some topspin, 70 km/h" in machine
    assert "upper wheellower wheelupheadrpmrpmdegdeg" in machine
    assert "1 2 3" not in machine


def test_a_machine_that_shows_its_speed_has_it_said_once() -> None:
    plan = make_plan(machine=True)
    units = {"speed": "km/h", **plan.feeder.setting_units}
    shots = tuple(shot.model_copy(update={"settings": {"speed": 70.0, **shot.settings}}) for shot in plan.shots)
    fast = plan.model_copy(update={"shots": shots, "feeder": plan.feeder.model_copy(update={"setting_units": units})})
    (only,) = sheet(fast).parts[0].rows
    assert (only.dials[0], only.spin) == ("70", "some topspin")


def test_enough_balls_for_the_longest_run_between_collects(person_plan: Plan) -> None:
    assert dict(sheet(person_plan).front.facts)["Bring"].startswith("10 balls")


@pytest.mark.parametrize("machine", [False, True])
def test_the_cautions_are_on_the_first_page(machine: bool) -> None:
    first = render(make_plan(machine)).decode().split('<section class="page">')[1]
    for word in ("STOP", "blind", "Nobody in", "underfoot", "Shade", "children", "Local rules", "qualified"):
        assert word in first
    assert ("manual and a qualified coach" in first) is machine
    assert ("own switch" in first) == machine


def test_the_cautions_stay_on_the_first_page_whatever_else_there_is_to_say() -> None:
    plan = make_plan(machine=True).model_copy(update={"notes": tuple(f"A note, {n}." for n in range(60))})
    for paper in ("a4", "letter"):
        first, *others = document(plan, paper, large=True).pages
        assert [item.kind for item in first[:3]] == ["title", "cautions", "text"] and others


def test_a_family_for_a_hand_is_one_letter_and_for_a_machine_one_each() -> None:
    for machine, wanted in ((False, ["A", "A", "B"]), (True, ["A1", "A2", "B"])):
        plan = make_plan(machine)
        one = make_shot(machine, id="steady 1")
        deeper = one.predicted.model_copy(update={"landing_m": (2.0, 10.8)})
        two = make_shot(machine, id="steady 2", predicted=deeper)
        other = plan.shots[1]
        named = letters(plan.model_copy(update={"shots": (one, two, other)}))
        assert list(named.of.values()) == wanted


def two_sides(x: float, full: bool = False) -> tuple[Shot, Shot]:
    """A family of one feed to the left and the right, as wide as a step to each side."""

    def to(name: str, side: float) -> Shot:
        shot = make_shot(machine=False, id=name)
        landing = None if full else (side, 9.9)
        predicted = shot.predicted.model_copy(update={"landing_m": landing, "contact_m": (side, 12.885, 1.0)})
        zone = None if full else (side - 0.75, side + 0.75, 8.9, 10.9)
        return shot.model_copy(update={"predicted": predicted, "zone_m": zone})

    return to("steady 1", x), to("steady 2", -x)


@pytest.mark.parametrize(("x", "full", "apart"), [(1.0, False, 2), (0.6, False, 1), (0.9, True, 2), (0.4, True, 1)])
def test_zones_that_lie_apart_are_two_places(x: float, full: bool, apart: int) -> None:
    assert [[s.id for s in group] for group in places(two_sides(x, full))] == (
        [["steady 2"], ["steady 1"]] if apart == 2 else [["steady 2", "steady 1"]]
    )


def test_two_places_of_one_letter_are_both_told() -> None:
    plan = make_plan(machine=False)
    told = row(plan, "A", list(two_sides(1.0))).cells[0][1]
    assert told == "1 m left or right"
    assert row(plan, "A", list(two_sides(0.6))).cells[0][1] == "0.6 m left to 0.6 right"


def test_a_family_that_differs_in_height_alone_varies_no_place() -> None:
    low = make_shot(machine=False, id="steady 1")
    high = make_shot(machine=False, id="steady 2", predicted=low.predicted.model_copy(update={"net_clearance_m": 1.8}))
    lands, over = row(make_plan(machine=False), "A", [low, high]).cells[:2]
    assert lands[1] == "1.5 m in from right"
    assert over == ("2 to 2½ rackets", "1.4–1.8 m")


@pytest.mark.parametrize(
    ("spots", "said"),
    [
        ([(-2.0, -2.0), (0.0, 0.0), (2.0, 2.0)], "2 m left, middle, 2 m right"),
        ([(-3.115, -3.115), (1.0, 1.2)], "1 m in from left, 1–1.2 m right of middle"),
        ([(1.0, 2.0)], "1–2 m right of middle"),
    ],
)
def test_places_side_by_side(spots: list[tuple[float, float]], said: str) -> None:
    assert words.asides(spots, COURT) == said


@pytest.mark.parametrize(
    ("used", "said"),
    [
        (["A1", "A2", "A3", "B"], "A1–A3, B"),
        (["A1", "A2", "B1"], "A1, A2, B1"),
        (["A9", "A10", "A11", "C"], "A9–A11, C"),
        (["A", "B", "C"], "A, B, C"),
    ],
)
def test_a_run_of_letters_is_told_by_its_ends(used: list[str], said: str) -> None:
    assert listed(used) == said


@pytest.mark.parametrize(
    ("used", "said"),
    [("A1 A2 B C", "A–C"), ("A1 B D1", "A1, B, D1"), ("A1 A2 B D1 D2", "A, B, D"), ("C D1 D2", "C, D"), ("", "")],
)
def test_beside_the_boxes_a_whole_family_is_told_by_its_letter(used: str, said: str) -> None:
    named = Letters({letter: letter for letter in ("A1", "A2", "B", "C", "D1", "D2")}, {})
    assert named.short(used.split()) == said


def test_balls_without_a_variation_are_counted_too() -> None:
    plan = make_plan(machine=False)
    free = plan.shots[1].model_copy(update={"variation": None})
    pages = document(plan.model_copy(update={"shots": (plan.shots[0], free)})).pages
    counted = [(i.data["letters"], i.data["goal"]) for page in pages for i in page if i.kind == "score"]
    assert counted == [("A", "8 in a row"), ("A", "8 in a row"), ("B", ""), ("A", "8 in a row"), ("B", "")]


def test_the_clock_tells_rounds_of_a_family_once() -> None:
    """Each round draws other balls of it."""
    plan = shipped.plan(next(shipped.FOLDER.glob("10-*.feed")))
    (line,) = [what for _, what, _ in sheet(plan).front.clock if "rounds" in what]
    assert (
        line == "Block 6: 6 rounds of A1–A4, C1–C4 in the printed order; B1–B4, C1–C4 in the printed order; rest 25 s"
    )


def test_a_volley_is_measured_from_the_net() -> None:
    plan, (shot, _) = make_plan(machine=False), two_sides(1.0, full=True)
    near = shot.model_copy(update={"predicted": shot.predicted.model_copy(update={"contact_m": (1.0, 5.0, 0.9)})})
    assert row(plan, "A", [near]).cells[0] == ("full, 5 m from net", "1 m right of middle")


def test_a_ladder_counts_by_its_own_rule_alone() -> None:
    plan = ladder(True)
    goal = plan.variations[0].goal
    text = text_of(plan)
    assert goal and "Up after 3 hits in a row" in text and goal.words not in text
    assert goal.words in text_of(make_plan(True))


def test_a_ladder_leaves_room_for_where_it_ended() -> None:
    assert text_of(ladder(True)).count("Ended on rung") == 1


def test_a_ladder_that_starts_higher_up_says_one_rung_to_start_on() -> None:
    plan = ladder(True)
    fed = plan.blocks[0]
    assert fed.ladder is not None
    rules = fed.ladder.model_copy(update={"start": 2})
    text = text_of(plan.model_copy(update={"blocks": (fed.model_copy(update={"ladder": rules}), *plan.blocks[1:])}))
    assert (
        re.findall(r"It starts on (\S+),", text) == [letters(plan).of[rules.shots[2]]] and text.count("tarts on") == 1
    )


def test_each_picture_is_drawn_once_however_many_layouts_are_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    monkeypatch.setattr(panels, "draw", lambda plan, picture, scale, cut: done.append(listed(picture.letters)) or DRAWN)
    tried: list[int] = []
    monkeypatch.setattr(layout, "flow", lambda chunks, room, around: tried.append(1) or [[]] * 9)
    document(ten_rows(True))
    assert len(tried) > 6 and len(done) == len(set(done)) > 1


def test_letters_go_on_after_z_and_leave_out_i_and_o() -> None:
    shots = tuple(make_shot(machine=True, id=f"feed {n}", feed=f"feed {n}") for n in range(50))
    given = list(letters(make_plan(machine=True).model_copy(update={"shots": shots})).of.values())
    assert given[:10] == list("ABCDEFGHJK")
    assert given[22:27] == ["Y", "Z", "AA", "AB", "AC"]
    assert len(set(given)) == 50


def test_a_part_lists_its_letters_in_order_whichever_ball_comes_first(person_plan: Plan) -> None:
    swapped = person_plan.blocks[2].model_copy(update={"shots": ("kicker", "steady")})
    blocks = (*person_plan.blocks[:2], swapped, *person_plan.blocks[3:])
    part = sheet(person_plan.model_copy(update={"blocks": blocks})).parts[1]
    assert [feed.letter for feed in part.rows] == ["A", "B"]
    assert [variation.letters for variation in part.variations] == [("A",), ("B",)]


def test_members_that_a_hand_feeds_differently_are_told_apart() -> None:
    plan = make_plan(machine=False)
    low = make_shot(machine=False, id="steady 1")
    high = low.predicted.model_copy(update={"contact_m": (2.95, 12.885, 1.45)})
    named = letters(plan.model_copy(update={"shots": (low, make_shot(False, id="steady 2", predicted=high))}))
    assert list(named.of.values()) == ["A1", "A2"]


def test_a_two_handed_backhand_is_on_the_front() -> None:
    path = next(path for path in shipped.PROGRAMS if path.stem.startswith("99"))
    assert shipped.plan(path).players[0].two_hands
    assert "two-handed backhand" in dict(front.front(shipped.plan(path), ()).facts)["Player"]
    assert "two-handed" not in dict(front.front(make_plan(True), ()).facts)["Player"]


def test_what_to_expect_of_a_variation_is_of_all_its_balls_in_whichever_block() -> None:
    plan = make_plan(False)
    assert [len(block.shots) for block in plan.blocks if block.kind == "balls"] != [len(plan.shots)]
    good = dict(zip((shot.id for shot in plan.shots), (0.5, *[0.7] * (len(plan.shots) - 1)), strict=True))
    shots = [
        shot.model_copy(update={"variation": "rally", "reply": ReplyRecord(share_good=good[shot.id])})
        for shot in plan.shots
    ]
    entries = [e for part in sheet(plan.model_copy(update={"shots": shots})).parts for e in part.variations]
    assert entries and [e.reply.split("expect ")[1] for e in entries] == ["5 to 7 good replies in ten"] * len(entries)
