"""The picture: terminal, page and the server that keeps it fresh."""

import http.client
import json
import math
import re
import xml.etree.ElementTree as ET
from base64 import b64encode
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from itertools import combinations
from pathlib import Path
from threading import Thread

import pytest

from feedwright.targets.outputs import band, boxes, landings, verdict
from feedwright.targets.outputs.court.pictures import pictures
from feedwright.targets.outputs.court.svg import draw
from feedwright.targets.outputs.sheet import front
from feedwright.targets.outputs.sheet.letters import letters
from feedwright.targets.outputs.show import drawing as drawn
from feedwright.targets.outputs.show import figures, page, terminal, views, watch

from .. import shipped
from .more_plans import HOSTILE, everywhere, family, ladder, spread_out, straight
from .plans import make_plan

SVG = "{http://www.w3.org/2000/svg}"


def shown(plan):  # type: ignore[no-untyped-def]
    return terminal.render(plan, straight(plan))


@pytest.mark.parametrize("width", [40, 80, 120])
@pytest.mark.parametrize("machine", [False, True])
def test_the_terminal_keeps_to_its_width_and_tells_every_ball(machine: bool, width: int) -> None:
    plan = make_plan(machine)
    text = terminal.render(plan, straight(plan), width=width)
    assert max(map(len, text.splitlines())) <= width
    for word in ("A", "B", "steady", "kicker", "1.42 m", "2.10 m", "1.03 m"):
        assert word in text
    assert "\x1b" not in text


def test_what_is_not_computed_is_said_and_what_is_is_shown() -> None:
    assert shown(make_plan(machine=True)).count("not computed") >= 4
    text = re.sub(r"\s+", " ", terminal.render(spread_out(True), straight(spread_out(True)), width=160))
    assert re.search(r"82% \(41-86%\) in zone, 99% over net; 0\.9 by 0\.[34] m", text)
    assert "Care: in its zone 82% (41-86%), under 50% with other balls Good: over the net 1.42 m, 99% pass;" in text
    assert "Other balls:" in text and "1.2 m shorter to 0.6 m longer" in text
    assert "6 good replies in ten, aimed 7° up at 90 km/h; margin for error 6.1° high, 24.0° sideways" in text


def test_other_balls_are_told_by_the_most_they_land_elsewhere() -> None:
    """From 8.7 to 10.5 m from the net: of one ball told as 9.9 m, of two told as 9.9 m and 9.4 m."""
    plan = spread_out(True)
    assert band.ends(plan.shots[:1]) == "1.2 m shorter to 0.6 m longer"
    assert band.ends(plan.shots) == "1.2 m shorter to 1.1 m longer"
    assert band.in_zone(plan.shots) == "82% (41-86%)"
    # Met at 1.03 m and 1.42 m, with other balls at 0.97 to 1.31 m; less than 5 cm either way is not told.
    assert band.heights(plan.shots[:1]) == "0.06 m lower to 0.28 m higher"
    near = {"least_drag_contact_m": 1.06, "most_drag_contact_m": 1.0}
    spread = plan.shots[0].spread
    assert spread and band.heights([plan.shots[0].model_copy(update={"spread": spread.model_copy(update=near)})]) == ""
    # One that has bounced twice by then, or not yet, has no height.
    lost = spread.model_copy(update={"most_drag_contact_m": None})
    told = band.heights([plan.shots[0].model_copy(update={"spread": lost})])
    assert told.startswith("up to 0.") and told.endswith(", or not after their bounce")
    other = [dict(front.front(spread_out(machine), ()).facts)["Other balls"] for machine in (True, False)]
    told = "come 1.2 m shorter to 1.1 m longer, met 0.45 m lower to 0.28 m higher"
    assert other[0] == f"feed only the make measured (______): others {told}"
    assert other[1] == f"of another make {told}: see how the first come, aim the other way"
    assert not band.in_zone(make_plan(True).shots) and "Other balls" not in dict(front.front(make_plan(True), ()).facts)


def test_a_ball_is_chosen_by_letter_or_name() -> None:
    plan = make_plan(machine=False)
    for wanted in ("b", "B", "kicker"):
        assert "B kicker from the side" in terminal.render(plan, straight(plan), wanted)
    with pytest.raises(terminal.NoBall, match="A steady, B kicker"):
        terminal.render(plan, straight(plan), "lob")


def test_marks_of_the_terminal_stand_in_their_row() -> None:
    plan = make_plan(machine=False)
    picture = pictures(plan, letters(plan))[0]
    rows = terminal.above(plan, picture, figures.balls(plan), 0)
    net = next(n for n, row in enumerate(rows) if "=====" in row)
    across = (2 * (plan.court.doubles_half_width_m + terminal.EDGE_M)) / (terminal.COLUMNS - 1)
    # Landing 9.9 m and contact 12.885 m beyond the net; a row is two columns high, and both marks within half a row.
    for mark, y in (("A", 9.9), ("a", 12.885)):
        (row,) = [n for n, line in enumerate(rows[1 : net + 1], start=1) if mark in line.replace("A:", "")]
        assert abs((net - row) * 2 * across - y) <= 2 * across


def test_letters_that_fall_together_are_listed_and_none_covers_another() -> None:
    plan = family(machine=True)
    (picture,) = pictures(plan, letters(plan))
    rows = terminal.above(plan, picture, figures.balls(plan), 0)
    told = " ".join(rows)
    drawn = [f"A{n}" for n in range(1, 6) if re.search(rf"[^–]A{n}(?![–:])", told)]
    assert drawn == [f"A{n}" for n in range(1, 6)]
    spot = plan.model_copy(
        update={"shots": tuple(s.model_copy(update={"predicted": plan.shots[0].predicted}) for s in plan.shots)}
    )
    (picture,) = pictures(spot, letters(spot))
    rows = terminal.above(spot, picture, figures.balls(spot), 0)
    (line,) = [row for row in rows if row.startswith("Beside the others: ")]
    lost = line.removeprefix("Beside the others: ").split(", ")
    seen = [f"A{n}" for n in range(1, 6) if any(f"A{n}" in row for row in rows[1:] if not row.startswith("Beside"))]
    assert lost and sorted(lost + seen) == [f"A{n}" for n in range(1, 6)]


def test_the_terminal_breaks_no_word_at_80_columns() -> None:
    plan = shipped.plan(next(shipped.FOLDER.glob("01-*.feed")))
    text = terminal.render(plan, straight(plan), width=80)
    assert max(map(len, text.splitlines())) <= 80
    for ball in figures.balls(plan):
        assert ball.letter in text
    for label, words in figures.balls(plan)[0].figures:
        assert f"{label}:" in text and all(word in text.split() for word in words.split())


def test_what_asks_for_care_is_marked_alike_on_page_and_in_the_terminal() -> None:
    """Of the balls that pass the net 91 in 100 land in the zone, then 85: more than one in ten outside."""
    plan = spread_out(True)
    sure = {"share_over_net": 1.0, "share_in_zone": 0.91, "share_in_zone_least": 0.9, "share_in_zone_most": 0.97}
    fine = tuple(s.model_copy(update={"spread": s.spread.model_copy(update=sure)}) for s in plan.shots if s.spread)
    plan = plan.model_copy(update={"shots": fine})
    assert len(fine) == 2 and "No ball asks for care: " in page.render(plan, straight(plan)).decode()
    few = {"share_in_zone": 0.85, "share_in_zone_least": 0.8}
    rare = fine[0].model_copy(
        update={
            "spread": fine[0].spread and fine[0].spread.model_copy(update=few),
            "reply": fine[0].reply and fine[0].reply.model_copy(update={"share_good": 0.6}),
        }
    )
    one = plan.model_copy(update={"shots": (rare, fine[1])})
    assert [(said.word, said.label) for said in verdict.judged(one, rare)] == [
        ("care", "in its zone"), ("good", "over the net"), ("good", "good replies")
    ]  # fmt: skip
    html = page.render(one, straight(one)).decode()
    assert (
        "▲</span> 1 of 2 balls asks for care" in html
        and "<b>care:</b> <bdi>in its zone 85% (80-97%), under 90%<" in html
    )
    # Beside the picture each ball has a button with its sign, so that its verdict is one look away.
    for letter, word, sign in (("A", "care", "▲"), ("B", "good", "●")):
        assert re.search(
            rf'class="{word}" data-ball="\d"[^>]*>.{{,40}}{sign}</span> <bdi>{letter}</bdi></button>', html
        )
    assert re.search(r"^! +A +steady", terminal.render(one, straight(one)), re.M)


def test_many_balls_of_a_feed_share_a_row_until_they_are_asked_for() -> None:
    plan = family(machine=True)
    over = [shot.predicted.model_copy(update={"net_clearance_m": 1.0 + n / 10}) for n, shot in enumerate(plan.shots)]
    shots = [shot.model_copy(update={"predicted": seen}) for shot, seen in zip(plan.shots, over, strict=True)]
    plan = plan.model_copy(update={"shots": tuple(shots)})
    feed = plan.shots[0].feed
    assert len(plan.shots) == 5 > terminal.FOLDED and {shot.feed for shot in plan.shots} == {feed}
    folded = terminal.render(plan, straight(plan)).splitlines()
    (row,) = [line.strip() for line in folded if "5 balls" in line]
    assert row.startswith("A1 to A5") and "1.00 to 1.40 m" in row and "1.03 m" in row
    opened = terminal.render(plan, straight(plan), feed)
    assert "5 balls" not in opened and all(re.search(rf"^A{n} ", opened, re.M) for n in range(1, 6))


def drawing(text: str) -> ET.Element:
    return ET.fromstring(text)


def test_a_picture_shows_the_ball_that_was_asked_for_and_loads_nothing() -> None:
    plan = spread_out(True)
    picture = drawing(text := drawn.render(plan, straight(plan), "kicker").decode())
    chosen = [group for group in picture.iter(f"{SVG}g") if group.attrib.get("class", "").endswith(" on")]
    assert [group.attrib["class"] for group in chosen] == ["ball on", "label on", "ball on"]  # above, then beside
    assert chosen[1].findtext(f"{SVG}text") == "B" and chosen[2].findtext(f"{SVG}title") == "B kicker"
    said = [element.text for element in picture.iter(f"{SVG}text")]
    assert "B kicker" in said and any(text and text.startswith("2.10 m, ") for text in said)
    assert not re.search(r"href|url\(|@import|var\(|script", text) and "touch" not in text.partition("</style>")[2]
    with pytest.raises(terminal.NoBall):
        drawn.render(plan, straight(plan), "lob")


@pytest.mark.parametrize("title", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_stays_text_in_a_picture(title: str) -> None:
    plan, plain = everywhere(make_plan(machine=True), title), make_plan(machine=True)
    text = drawn.render(plan, straight(plan)).decode()
    assert [e.tag for e in drawing(text).iter()] == [
        e.tag for e in drawing(drawn.render(plain, straight(plain)).decode()).iter()
    ]
    assert not set("\u202e\u2066\0") & set(text)


def test_the_ellipse_is_the_spread_to_scale() -> None:
    plan = spread_out(False)
    picture = drawing(draw(plan, pictures(plan, letters(plan))[0], more=True).svg)
    scale = float(picture.attrib["data-scale"].split()[2])
    ellipse = next(picture.iter(f"{SVG}ellipse"))
    axes = (float(ellipse.attrib["rx"]), float(ellipse.attrib["ry"]))
    assert axes == pytest.approx((0.9 * scale, 0.35 * scale), abs=6e-3)
    assert ellipse.attrib["transform"].startswith("rotate(-80.00 ")  # y points down in a drawing


def test_the_reply_flies_from_the_contact_and_the_player_stands_to_scale() -> None:
    plan = spread_out(False)
    plan = plan.model_copy(update={"player": plan.player.model_copy(update={"stature_m": 1.7})})
    way = [(0.0, 0.0, 12.0, 1.0), (0.5, 0.0, 0.0, 2.0), (1.0, 0.0, -9.0, 0.0)]
    side = drawing(views.beside(plan, straight(plan), figures.balls(plan), {plan.shots[0].id: [way] * 5}))
    (line,) = [e for e in side.iter(f"{SVG}polyline") if e.attrib["class"] == "answer extra"]
    assert line.attrib["points"] == "12.000,-2.000 0.000,-4.000 -9.000,-0.000"  # heights are drawn twice as large
    body, *_ = next(g for g in side.iter(f"{SVG}g") if g.attrib["class"] == "player extra").iter(f"{SVG}line")
    head = next(side.iter(f"{SVG}ellipse"))
    assert float(head.attrib["cy"]) - float(head.attrib["ry"]) == pytest.approx(-2 * 1.7, abs=2e-3)
    assert float(body.attrib["y1"]) == 0


def test_flights_are_the_paths_that_were_handed_over() -> None:
    plan = make_plan(machine=False)
    paths = straight(plan)
    side = drawing(views.beside(plan, paths, figures.balls(plan)))
    lines = [line.attrib["points"] for line in side.iter(f"{SVG}polyline") if line.attrib["class"] == "flight"]
    assert len(lines) == 2
    drawn = [tuple(map(float, pair.split(","))) for pair in lines[0].split()]
    assert drawn == [pytest.approx((y, -2 * z), abs=1e-3) for _, _, y, z in paths["steady"]]


@pytest.mark.parametrize("peak", [1.45, 1.55, 2.4, 2.6, 9.49])
def test_the_figures_of_the_scale_of_heights_are_inside_the_side_view(peak: float) -> None:
    plan = make_plan(machine=True)
    way = [(0.0, 0.0, -11.0, 1.0), (1.0, 0.0, 0.0, peak), (2.0, 0.0, 11.0, 1.0)]
    side = drawing(views.beside(plan, {shot.id: way for shot in plan.shots}, figures.balls(plan)))
    top = float(side.attrib["viewBox"].split()[1])
    scale = [float(text.attrib["y"]) for text in side.iter() if text.attrib.get("class") == "scale"]
    assert min(scale) - 0.55 >= top  # the size of the type, in drawing.css


@pytest.mark.parametrize("program", ["02", "19", "20"])
def test_the_names_of_the_lines_stand_apart_in_the_side_view(program: str) -> None:
    """On a red court, 11 m long, the service line is 2.5 m from the baseline."""
    plan = shipped.plan(next(shipped.FOLDER.glob(f"{program}-*.feed")))
    side = drawing(views.beside(plan, straight(plan), figures.balls(plan)))
    bottom = sum(float(side.attrib["viewBox"].split()[n]) for n in (1, 3))
    names = [text for text in side.iter() if text.attrib.get("text-anchor") == "middle"]
    # Half an em for a letter is more than most have.
    ends = [(float(n.attrib["x"]), 0.55 / 4 * len(n.text or ""), float(n.attrib["y"])) for n in names]
    for (x, half, y), (other_x, other_half, other_y) in combinations(ends, 2):
        assert abs(x - other_x) > half + other_half or abs(y - other_y) > 0.55
    assert len(names) == 5 and max(y for *_, y in ends) < bottom


@pytest.mark.parametrize("title", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_stays_text_on_the_page_and_in_the_terminal(title: str) -> None:
    plan = everywhere(make_plan(machine=True), title)
    html = page.render(plan, straight(plan), findings=title).decode()
    plain = page.render(make_plan(machine=True), straight(make_plan(machine=True)), findings="x").decode()
    assert re.findall(r"<[a-z]+", html) == re.findall(r"<[a-z]+", plain)
    for character in "\u202e\u2066\0":
        assert character not in html and character not in shown(plan)


def test_hostile_text_stays_text_where_landings_are_taken_down() -> None:
    """The page with boxes for test balls, and the drawing of where they landed."""

    def parts(title: str) -> list[list[str]]:
        plan, places = everywhere(make_plan(machine=True), title), [[1.0, 9.0]]
        made = boxes.render(plan, [title]).decode(), landings.render(plan, [title], places, places, places)
        return [re.findall(r"<[a-z]+", text) for text in made]

    assert all(parts(title) == parts("x") for title in HOSTILE)


def test_only_the_written_scripts_may_run_and_nothing_is_loaded() -> None:
    plan = make_plan(machine=False)
    for seen in (None, 3):
        html = page.render(plan, straight(plan), seen=seen).decode()
        policy = re.findall(r'Content-Security-Policy" content="([^"]*)"', html)[0]
        scripts = re.findall(r"<script>(.*?)</script>", html, re.S)
        allowed = re.findall(r"script-src ([^;]*)", policy)[0].split()
        assert allowed == [f"'sha256-{b64encode(sha256(s.encode()).digest()).decode()}'" for s in scripts]
        assert policy.startswith("default-src 'none';") and ("connect-src" in policy) == (seen is not None)
        assert not re.search(r"\s(?:src|href|on\w+|style)=", html)
    assert page.render(plan, straight(plan)) == page.render(plan, straight(plan))


@pytest.mark.parametrize("make", [family, ladder])
def test_every_launch_of_a_family_or_ladder_is_a_step(make) -> None:  # type: ignore[no-untyped-def]
    plan = make(False)
    html = page.render(plan, straight(plan)).decode()
    data = json.loads(re.findall(r'<script type="application/json" id="data">(.*?)</script>', html)[0])
    assert len(data["moments"]) == len(plan.launches)
    assert len({ball["letter"] for ball in data["balls"]}) == 5
    assert all(moment[0] < 5 for moment in data["moments"])


@contextmanager
def serving(path: Path, build: watch.Build) -> Iterator[tuple[int, watch.Watch]]:
    watched = watch.Watch(path, build)
    made = watch.server(watched)
    thread = Thread(target=watch.run, args=(watched, made), daemon=True)
    thread.start()
    try:
        yield made.server_port, watched
    finally:
        made.shutdown()
        thread.join(5)


def ask(port: int, path: str, host: str = "") -> tuple[int, str]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    connection.request("GET", path, headers={"Host": host} if host else {})
    answer = connection.getresponse()
    text = answer.read().decode()
    connection.close()
    return answer.status, text


def test_a_save_is_told_and_the_last_good_picture_stays_under_the_findings(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_text("good")
    plan = make_plan(machine=False)

    def build() -> tuple[watch.State, str]:
        if script.read_text() == "good":
            return (plan, straight(plan), {}), ""
        return None, "a.feed:3:5: error net-hit: the ball meets the net"

    with serving(script, build) as (port, _):
        status, first = ask(port, "/")
        assert status == 200 and "Baseline pairs" in first and "findings" not in first.split("</style>")[1]
        seen = re.findall(r'data-seen="(\d+)"', first)[0]
        script.write_text("broken")
        assert "event: change" in ask(port, f"/changes?seen={seen}")[1]  # answers when the change is seen
        second = ask(port, "/")[1]
        assert "error net-hit" in second and "Baseline pairs" in second and 'class="court"' in second
        assert 'class="old"' in second and "before these errors" in second and 'class="old"' not in first
        assert ask(port, "/etc/passwd")[0] == 404
        assert ask(port, "/", host="evil.example")[0] == 403


def test_without_any_good_picture_the_findings_stand_alone(tmp_path: Path) -> None:
    script = tmp_path / "a.feed"
    script.write_text("x")
    with serving(script, lambda: (None, "1:1 error <b>")) as (port, _):
        text = ask(port, "/")[1]
        assert "1:1 error &lt;b&gt;" in text and "No picture yet" in text


def test_a_ring_stands_at_the_second_bounce_and_at_no_other() -> None:
    """A ball that falls and rises twice: its lowest points, one radius above the ground, are the bounces."""
    radius = 0.033
    heights = [1.0, 2.0, radius, 0.9, radius, 0.4]
    path = [(0.1 * n, 0.0, -10.0 + 5 * n, z) for n, z in enumerate(heights)]
    assert views.bounces(path) == [0.0, 10.0]
    assert views.bounces(path[:4]) == [0.0]
    assert (
        views.bounces([(0.0, 0.0, -10.0, 1.0), (0.1, 0.0, -5.0, 0.6), (0.2, 0.0, 0.0, 1.4)]) == []
    )  # a lob from low down
    plan = make_plan(machine=True)
    twice = {shot.id: path for shot in plan.shots}
    assert views.beside(plan, twice, figures.balls(plan)).count('class="again" cx="10.000"') == len(plan.shots)


def test_the_racket_reaches_from_the_hand_to_the_ball() -> None:
    plan = make_plan(machine=True)
    tall = plan.model_copy(update={"player": plan.player.model_copy(update={"stature_m": 1.75})})
    side = views.beside(tall, straight(tall), figures.balls(tall))
    ends = re.findall(r'class="racket" x1="(\S+)" y1="(\S+)" x2="(\S+)" y2="(\S+)"', side)
    assert len(ends) == len(plan.shots)
    for (hand_y, hand_z, y, z), shot in zip((map(float, one) for one in ends), plan.shots, strict=True):
        assert (y, -z / 2) == pytest.approx(shot.predicted.contact_m[1:], abs=1e-3)
        assert math.hypot(hand_y - y, (hand_z - z) / 2) == pytest.approx(0.53, abs=2e-3)


def test_the_strip_of_the_replies_lies_on_the_whole_court_from_the_contact_to_both_sides() -> None:
    plan = make_plan(machine=True)
    ways = [[(0.0, 0.0, 12.0, 1.0), (1.0, x, -9.0, 0.0)] for x in (0.0, 0.0, 0.0, -1.0, 2.0)]
    outline = views.strips({plan.shots[0].id: ways})
    assert outline == {plan.shots[0].id: [(0.0, 12.0), (-1.0, -9.0), (2.0, -9.0), (0.0, 12.0)]}
    picture = next(one for one in pictures(plan, letters(plan)) if plan.shots[0] in one.shots)
    whole = next(
        g for g in drawing(draw(plan, picture, strips=outline).svg).iter(f"{SVG}g") if g.get("class") == "whole"
    )
    (strip,) = [path for path in whole.iter(f"{SVG}path") if path.get("class") == "corridor extra"]
    left, top, factor, at = map(float, whole.attrib["data-scale"].split())
    points = [tuple(map(float, point.split())) for point in strip.attrib["d"].strip("Mz").split("L")]
    assert points == [
        pytest.approx((at + (x - left) * factor, (top - y) * factor), abs=0.02) for x, y in outline[plan.shots[0].id]
    ]


def test_the_strip_of_the_replies_is_whole_in_the_side_view() -> None:
    plan = make_plan(machine=True)
    ways = [[(0.0, 0.0, 12.0, 1.0), (0.5, 0.0, 0.0, top), (1.0, 0.0, -9.0, 0.0)] for top in (6.0, 4.0, 9.0, 6.0, 6.0)]
    side = drawing(views.beside(plan, straight(plan), figures.balls(plan), {plan.shots[0].id: ways}))
    assert float(side.attrib["viewBox"].split()[1]) < -2 * 9.0
