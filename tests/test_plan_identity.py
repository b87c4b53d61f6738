"""A plan is its content: from whatever folder and however its path was typed, one script gives one document, and what
was set for it stands in it."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from feedwright.targets.command.cli import main

ROOT = Path(__file__).parent.parent
FIRST = (ROOT / "programs" / "02-first-script.feed").read_text("utf-8")
GIVEN = FIRST.replace("    feeder ", "    given     rhythm 6 s\n    given     idle 9 s\n    feeder ", 1).replace(
    "interval  6 s", "interval  given rhythm"
)


def built(folder: Path, *words: str) -> dict[str, Any]:
    """The plan that `build` writes into a folder of its own; files beside it are read too."""
    out = folder / "out"
    assert main(["build", *words, "-o", str(out)]) == 0
    (path,) = out.glob("*.plan.json")
    found: dict[str, Any] = {**json.loads(path.read_text("utf-8")), "bytes": path.read_bytes()}
    for file in out.iterdir():
        found[file.name.partition(".")[2]] = file.read_text("utf-8").replace("\xa0", " ")
        file.unlink()
    return found


def test_however_the_path_is_typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "private"
    (folder / "deeper").mkdir(parents=True)
    (folder / "quick.feed").write_text(FIRST, "utf-8")
    monkeypatch.chdir(folder)
    plans = [
        built(tmp_path, path)
        for path in (
            "quick.feed",
            "./quick.feed",
            str(folder / "quick.feed"),
            "deeper/../quick.feed",
            "../private/quick.feed",
        )
    ]
    assert len({plan["bytes"] for plan in plans}) == 1
    assert plans[0]["source"]["name"] == "quick.feed" and b"private" not in plans[0]["bytes"]


def test_from_whatever_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    digests = set()
    for name in ("one", "two"):
        (tmp_path / name / "shared").mkdir(parents=True)
        (tmp_path / name / "quick.feed").write_text(
            FIRST.replace("feed low", 'use "shared/calls.feed"\n\nfeed low', 1), "utf-8"
        )
        (tmp_path / name / "shared" / "calls.feed").write_text('variation block "early"\n    reply deep\n', "utf-8")
        plan = built(tmp_path, str(tmp_path / name / "quick.feed"))
        digests.add(plan["digest"])
        # A script that is used is told by its own name and its text.
        ((used),) = plan["source"]["uses"]
        assert used["name"] == "calls.feed" and re.fullmatch("[0-9a-f]{64}", used["sha256"])
    assert len(digests) == 1
    (tmp_path / "two" / "shared" / "calls.feed").write_text('variation block "early on"\n    reply deep\n', "utf-8")
    digests.add(built(tmp_path, str(tmp_path / "two" / "quick.feed"))["digest"])
    assert len(digests) == 2


def test_what_was_set_stands_in_the_plan_and_where_its_facts_are_shown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "quick.feed"
    path.write_text(GIVEN, "utf-8")
    plain, slower = built(tmp_path, str(path)), built(tmp_path, str(path), "--set", "rhythm=6.50 s")
    # `idle` is used nowhere, so that it changes no ball.
    assert (plain["source"]["given"], plain["source"]["set"]) == ({"rhythm": "6 s"}, [])
    assert (slower["source"]["given"], slower["source"]["set"]) == ({"rhythm": "6.5 s"}, ["rhythm"])
    assert plain["digest"] != slower["digest"]
    for shown in ("table.txt", "stream", "sheet.html"):
        assert "rhythm 6 s" in plain[shown] and "(set)" not in plain[shown], shown
        told = "rhythm 6.5 s in place of the amount in the script" if shown == "sheet.html" else "rhythm 6.5 s (set)"
        assert told in slower[shown], shown
    capsys.readouterr()
    assert main(["show", str(path), "--set", "rhythm=6.5s"]) == 0
    assert "Given: rhythm 6.5 s (set)" in capsys.readouterr().out


@pytest.mark.parametrize("amount", ["6s", "6.0 s", "6.000s"])
def test_an_amount_set_to_what_it_is_makes_no_other_plan(tmp_path: Path, amount: str) -> None:
    path = tmp_path / "quick.feed"
    path.write_text(GIVEN, "utf-8")
    assert built(tmp_path, str(path))["digest"] == built(tmp_path, str(path), "--set", f"rhythm={amount}")["digest"]


def test_an_amount_that_no_ball_uses_makes_no_other_plan(tmp_path: Path) -> None:
    path = tmp_path / "quick.feed"
    path.write_text(GIVEN, "utf-8")
    assert built(tmp_path, str(path))["digest"] == built(tmp_path, str(path), "--set", "idle=8s")["digest"]
