"""plan.json for engineers: the page, the schema and the model say the same, and what the page shows runs.

The page's tables give the meaning of each entry, the model its type; the schema is written from both (`--update`).
"""

import json
import re
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from feedwright.compiler.model.incoming import schema as described
from feedwright.compiler.model.plan import VERSION, Plan
from feedwright.targets.command.cli import main
from feedwright.targets.document import render
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs import table

from .shipped import plan as shipped_plan

ROOT = Path(__file__).parent.parent
SCHEMA = ROOT / "targets" / "plan.schema.json"
PAGE = (ROOT / "targets" / "PLAN.md").read_text("utf-8")
SHAPE = (4, "a8103fe9ced256d3")
"""A version of the plan, and the digest of the shape that it names."""
TABLES = {
    name: re.findall(r"^\| `(\w+)` \| (.*?) \| (.*?) \|$", text, re.M)
    for name, text in re.findall(r"^### (\w+)\n(.*?)(?=^##|\Z)", PAGE, re.S | re.M)
}


def records(schema: dict[str, Any]) -> dict[str, Any]:
    return {"Plan": schema, **schema["$defs"]}


def kind(entry: dict[str, Any]) -> str:
    """The type of an entry, in the words of the page."""
    match entry:
        case {"$ref": place}:
            return f"[{(name := place.rpartition('/')[2])}](#{name.lower()})"
        case {"anyOf": several}:
            return " or ".join(map(kind, several))
        case {"const": value}:
            return f"`{json.dumps(value)}`"
        case {"enum": values}:
            return ", ".join(f"`{json.dumps(value)}`" for value in values)
        case {"prefixItems": [first, *_], "minItems": count}:
            return f"{count} {kind(first)}s"
        case {"items": inside}:
            return f"list of {kind(inside)}"
        case {"patternProperties": dict() as named}:
            return f"{kind(next(iter(named.values())))} by name"
        case {"additionalProperties": dict() as named}:
            return f"{kind(named)} by words"
    return {"string": "text", "boolean": "true or false"}.get(entry["type"], entry["type"])


def schema_text() -> str:
    """The model's schema with the page's meanings, and every entry required."""
    schema = described()
    for name, record in records(schema).items():
        record.pop("title", None)
        record.pop("description", None)
        meanings = {entry: meaning for entry, _, meaning in TABLES[name]}
        record["required"] = list(record["properties"])
        for entry, inside in record["properties"].items():
            inside.pop("title", None)
            inside.pop("default", None)
            if words := re.sub(r"[`*]|\]\(.*?\)|\[", "", meanings[entry]):
                inside["description"] = words
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"Feedwright plan, version {VERSION}",
        "description": "See PLAN.md. Written by tests/test_plan_page.py --update.",
    }
    return json.dumps({**head, **schema}, indent=1, ensure_ascii=False) + "\n"


def scaffold() -> str:
    text = ""
    for name, record in records(described()).items():
        text += f"\n### {name}\n\n| entry | type | meaning |\n| --- | --- | --- |\n"
        text += "".join(f"| `{entry}` | {kind(inside)} |  |\n" for entry, inside in record["properties"].items())
    return text


def test_the_schema_is_that_of_the_model_and_the_page(pytestconfig: pytest.Config) -> None:
    if pytestconfig.getoption("--update"):
        SCHEMA.write_text(schema_text(), "utf-8")
    written, wanted = json.loads(SCHEMA.read_text("utf-8")), json.loads(schema_text())
    assert written == wanted, f"to write it anew: pytest tests/{Path(__file__).name} --update"


def shape() -> str:
    """A digest of what a reader relies on: every entry of every record, with its type, without limits of numbers."""
    named = {
        name: {entry: kind(inside) for entry, inside in record["properties"].items()}
        for name, record in records(described()).items()
    }
    del named["Plan"]["version"]
    return sha256(json.dumps(named, sort_keys=True).encode()).hexdigest()[:16]


def test_another_shape_has_another_version() -> None:
    told = (
        f"Plans have another shape than those of version {SHAPE[0]}. If others have any of those, raise VERSION "
        f"and the type of Plan.version in compiler/model/plan.py. Then SHAPE here is ({{version}}, {shape()!r})."
    )
    assert Plan.version == VERSION
    assert (VERSION, shape()) == SHAPE, told.format(version=VERSION)


def test_the_tables_are_those_of_the_model() -> None:
    found = records(described())
    assert set(TABLES) == set(found)
    for name, record in found.items():
        said = [(entry, type_) for entry, type_, _ in TABLES[name]]
        assert said == [(entry, kind(inside)) for entry, inside in record["properties"].items()], name


def test_a_number_has_its_unit_in_its_name_or_none() -> None:
    """What the page says of names: these are all the ends there are, and what has none is a share, factor or count."""
    ends = ("_m", "_s", "_mps", "_kg", "_kg_m3", "_deg", "_rpm", "_c")
    assert all(f"`{end}`" in PAGE for end in ends)
    bare = {
        entry
        for record in records(described()).values()
        for entry, inside in record["properties"].items()
        if "number" in kind(inside) and not entry.endswith(ends)
    }
    shares = {
        "share_in_zone",
        "share_in_zone_least",
        "share_in_zone_most",
        "share_over_net",
        "share_kept",
        "share_kept_least",
        "share_good",
        "variety",
        "humidity",
    }
    ball, surface = {"drag_offset", "spin_drag", "inertia_factor"}, {"friction", "restitution", "grip"}
    assert bare == shares | ball | surface | {
        "drop_restitution",
        "loss_growth",
        "scatter_pace",
        "settings",
        "least",
        "most",
    }


def planned(name: str) -> Plan:
    return shipped_plan(ROOT / "programs" / f"{name}.feed")


@pytest.fixture(scope="module")
def checker() -> Draft202012Validator:
    schema = json.loads(SCHEMA.read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


@pytest.mark.parametrize("name", ["02-first-script", "03-basket-feet"])
def test_shipped_plans_fit_the_schema(name: str, checker: Draft202012Validator) -> None:
    assert not [error.message for error in checker.iter_errors(json.loads(render(planned(name))))]


WRONG: dict[str, Any] = {
    "no digest": lambda plan: plan.pop("digest"),
    "an entry more": lambda plan: plan["shots"][0].update(faster=True),
    "an entry less": lambda plan: plan["launches"][0].pop("any_of"),
    "another version": lambda plan: plan.update(version=VERSION + 1),
    "text for a number": lambda plan: plan["shots"][0]["launch"].update(speed_mps="24.4"),
    "nothing for a number": lambda plan: plan["shots"][0]["launch"].update(speed_mps=None),
    "two coordinates of three": lambda plan: plan["shots"][0]["launch"]["origin_m"].pop(),
    "half a ball": lambda plan: plan["totals"].update(balls=0.5),
    "a phase that is none": lambda plan: plan["shots"][0]["predicted"].update(contact_phase="sideways"),
}


@pytest.mark.parametrize("change", WRONG.values(), ids=list(WRONG))
def test_a_plan_changed_to_be_wrong_does_not(change: Any, checker: Draft202012Validator) -> None:
    document = json.loads(render(planned("02-first-script")))
    change(document)
    assert len(list(checker.iter_errors(document))) == 1


def test_what_the_page_shows_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "programs").symlink_to(ROOT / "programs")
    monkeypatch.chdir(tmp_path)
    (commands,) = re.findall(r"^```sh\n(.*?)^```", PAGE, re.S | re.M)
    for line in commands.splitlines():
        program, *words = line.split()
        assert program == "feedwright" and main(words) == 0, line
    blocks = re.findall(r"^```python\n(.*?)^```", PAGE, re.S | re.M)
    assert len(blocks) == 5
    for block in blocks:
        exec(compile(block, "PLAN.md", "exec"), {})


def test_the_pages_block_for_the_clock_tells_every_ball_as_the_table_does(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With several parts and a ladder; that the table is right is held by tests/test_clock.py."""
    plan = planned("06-adults-first-season")
    assert len(plan.parts) > 1 and any(ball.shot is None for ball in plan.launches)
    (block,) = (text for text in re.findall(r"^```python\n(.*?)^```", PAGE, re.S | re.M) if "enumerate" in text)
    monkeypatch.setattr("feedwright.targets.document.read", lambda data: plan)
    monkeypatch.setattr(Path, "read_bytes", lambda path: b"")
    exec(compile(block, "PLAN.md", "exec"), {})
    printed = [line.split(" ", 3) for line in capsys.readouterr().out.splitlines()]
    rows = [line.split() for line in table.render(plan).decode().split("\n\n")[1].splitlines()[2:]]
    assert [number for number, *_ in printed] == [row[0] for row in rows]
    for (_, when, _, shots), row in zip(printed, rows, strict=True):
        assert float(when) == pytest.approx(float(row[2]), abs=0.0506)  # printed to 0.1 s and to 1 ms
        assert row[5] in shots


def test_ceiling_and_bounces_are_kept_to() -> None:
    """By the entries of the plan alone. The page: 0 on the full, 2 only where two are allowed."""
    names = ("23-wheelchair-two-bounces", "28-low-ceiling-hall", "03-basket-feet")
    bounced, low, fed = map(planned, names)
    assert low.court.ceiling_m is not None and fed.court.ceiling_m is None and bounced.player.two_bounces
    for shot in low.shots:
        assert shot.predicted.peak_m + low.ball.diameter_m / 2 <= low.court.ceiling_m
    assert {shot.predicted.bounces for shot in bounced.shots} == {1, 2}
    for shot in (*low.shots, *fed.shots):
        assert shot.predicted.bounces == (0 if shot.predicted.landing_m is None else 1)


def test_a_profile_of_ones_own_comes_before_a_shipped_one(tmp_path: Path) -> None:
    shipped = (ROOT / "targets" / "machine" / "feeders" / "club.toml").read_text("utf-8")
    (tmp_path / "club.toml").write_text(re.sub(r'^title = ".*"', 'title = "Ours"', shipped, flags=re.M), "utf-8")
    found, other = ProfileShelf(tmp_path).load("club"), ProfileShelf().load("club")
    assert found and other and found.title == "Ours" != other.title


def test_links_of_the_page_lead_somewhere() -> None:
    for target in re.findall(r"\]\(([\w/.-]+)\)", PAGE):
        assert (ROOT / "targets" / target).exists(), target
