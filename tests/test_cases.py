"""Every message the compiler can give, at its place; whoever changes one reads it here as a coach would."""

import re
import shlex
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from feedwright.compiler.findings import MESSAGES
from feedwright.compiler.findings.flight import FeederLimit, OutOfReach
from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.facts import Measured
from feedwright.grammar.finding import Finding
from feedwright.grammar.units import UNITS, from_si
from feedwright.targets.command.cli import main

from .cases import (
    FOLDER,
    PROFILES,
    SCRIPTS,
    Case,
    accept,
    cases,
    compiled,
    fault_alone,
    findings,
    mended,
    news,
    searched,
    solve_together,
    told,
    without_remedies,
)  # fmt: skip
from .whole import WHOLE

WITH_REMEDIES = [
    case for case in cases() if case.name in searched() and re.search(r"\n    (write|leave out): ", case.expected)
]


@pytest.fixture(scope="module", autouse=True)
def together(request: pytest.FixtureRequest) -> None:
    """Of a few cases each is worked out for itself."""
    chosen = {case.name: case for item in request.session.items if (case := _of(item))}
    if len(chosen) > 50:
        solve_together(chosen.values())


def _of(item: pytest.Item) -> Case | None:
    case = item.callspec.params.get("case") if isinstance(item, pytest.Function) and hasattr(item, "callspec") else None
    return case if isinstance(case, Case) else None


@pytest.mark.parametrize("case", cases(), ids=lambda case: case.name)
def test_case_gives_what_it_says(case: Case, request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--update"):
        accept(case, told(compiled(case.source)))
        return
    given, expected = told(findings(case)), case.expected
    if case.name not in searched():
        given, expected = fault_alone(given), fault_alone(expected)
    if given != expected:
        pytest.fail(
            f"{case.name}\n--- expected\n{expected}--- given\n{given}--- to accept: {accepting(request.node.nodeid)}",
            pytrace=False,
        )


def accepting(test: str) -> str:
    """A line for a shell that writes what this one case gives as its expectation."""
    return f"python -m pytest --update {shlex.quote(test)}"


@pytest.mark.parametrize("case", WITH_REMEDIES, ids=lambda case: case.name)
def test_every_remedy_mends_and_adds_nothing(case: Case) -> None:
    found = findings(case)
    for finding, remedy in ((f, remedy) for f in found for remedy in f.remedies):
        new = news(found, without_remedies(*mended(case.source, remedy)), finding, remedy)
        assert not new, (finding.code, remedy.text, new)


def test_a_remedy_of_a_script_that_is_used_is_among_them() -> None:
    case = next(case for case in cases() if case.title == "a remedy in a script that is used")
    (finding,) = compiled(case.source)
    used = {remedy.span.source for remedy in finding.remedies}
    assert [source.name for source in used] == ["balls-too-close.feed"]
    # And what it is tried on is not simply free of that finding: unchanged, the script that is used still gives it.
    unchanged = replace(finding.remedies[0], text=finding.remedies[0].span.text)
    assert news((finding,), without_remedies(*mended(case.source, unchanged)), finding, unchanged)


def test_what_is_proposed_lies_within_what_is_told_to_be_possible() -> None:
    """Within a proposal's own step: what is possible is read off a scan, and told with "about"."""
    compared = 0
    steps = {"m": 0.1, "km/h": 1.0, "s": 0.05}
    for finding in (f for case in WITH_REMEDIES for f in findings(case)):
        wanted = finding.message.wanted if isinstance(finding.message, FeederLimit | OutOfReach) else None
        for remedy in finding.remedies if wanted and wanted.possible else ():
            told = re.fullmatch(r"(?:height|pace|time) +([\d.]+) (m|km/h|s)\b.*", remedy.text)
            if told and UNITS[told[2]].dimension == wanted.asked.dimension:
                low, high = (from_si(edge, told[2]) for edge in (wanted.possible.low, wanted.possible.high))
                compared += 1
                assert low - steps[told[2]] <= float(told[1]) <= high + steps[told[2]], (remedy.text, wanted)
    assert compared >= (5 if WHOLE else 1)


def test_what_is_proposed_for_a_ball_over_the_head_comes_no_higher_than_the_head() -> None:
    case = next(case for case in cases() if case.title == "the highest ball there is, as a lob over the head")
    finding = next(found for found in compiled(case.source) if found.code == "over-the-head")
    plans = [compile_source(mended(case.source, remedy)[0], PROFILES, SCRIPTS).plan for remedy in finding.remedies]
    assert plans and all(plan and plan.shots[0].predicted.contact_m[2] <= 1.75 for plan in plans)


@pytest.mark.parametrize("change", [
    lambda data: data.replace(b"\n", b"\r\n"), lambda data: data.replace(b"\n", b"\r"), lambda data: data.rstrip(b"\n"),
    lambda data: b"\xef\xbb\xbf" + data, lambda data: data + b"\n\n   \n",
], ids=["CRLF", "CR", "no last line end", "byte order mark", "blank lines at the end"])  # fmt: skip
def test_line_ends_change_nothing(
    change: Callable[[bytes], bytes], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told_of: list[str] = []
    case = next(case for case in cases() if case.title == "ten slips in one script are ten findings")
    for data in (case.source.text.encode(), change(case.source.text.encode())):
        (tmp_path / "case.feed").write_bytes(data)
        assert main(["check", str(tmp_path / "case.feed"), "--short"]) == 1
        told_of.append(capsys.readouterr().err)
    assert told_of[0].count("\n") == 10 and told_of[1] == told_of[0]


def test_titles_are_told_apart_and_poor_messages_say_why() -> None:
    assert [name for name, n in Counter((c.path, c.title) for c in cases()).items() if n > 1] == []
    assert [c.name for c in cases() if c.path.parent == FOLDER / "poor" and not c.reason] == []


def test_each_code_is_given_by_a_case_and_its_numbers_have_a_kind() -> None:
    by_code: dict[str, list[Finding]] = {code: [] for code in MESSAGES}
    for case in cases():
        for finding in findings(case):
            by_code[finding.code].append(finding)
    assert [code for code, given in by_code.items() if not given] == [], "no case gives them"
    for finding in (finding for given in by_code.values() for finding in given):
        assert finding.headline and "{" not in finding.headline, finding.code
        facts = [fact for fact in finding.message.values() if isinstance(fact, float)]
        assert all(isinstance(fact, Measured) for fact in facts), finding.code


def test_each_code_is_explained_in_sentences() -> None:
    for code, explained in MESSAGES.items():
        assert explained.title and not explained.title.endswith("."), code
        assert explained.why.endswith(".") and explained.example != explained.instead, code
