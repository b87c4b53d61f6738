"""Every message the compiler can give, at its place; whoever changes one reads it here as a coach would."""

import re
import shlex
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from string import Template

import pytest

from feedwright.compiler.report.codes import CODES
from feedwright.compiler.report.finding import Finding
from feedwright.compiler.report.wording import HEADLINES, headline
from feedwright.targets.command.cli import main

from .cases import FOLDER, Case, accept, cases, compiled, mended, news, told, without_remedies

EACH = pytest.mark.parametrize("case", cases(), ids=lambda case: case.name)


@EACH
def test_case_gives_what_it_says(case: Case, request: pytest.FixtureRequest) -> None:
    given = told(compiled(case.source).findings)
    if request.config.getoption("--update"):
        accept(case, given)
    elif given != case.expected:
        pytest.fail(
            f"{case.name}\n--- expected\n{case.expected}--- given\n{given}"
            f"--- to accept: {accepting(request.node.nodeid)}",
            pytrace=False,
        )


def accepting(test: str) -> str:
    """A line for a shell that writes what this one case gives as its expectation."""
    return f"python -m pytest --update {shlex.quote(test)}"


@EACH
def test_every_remedy_mends_and_adds_nothing(case: Case) -> None:
    findings = compiled(case.source).findings
    for finding, remedy in ((f, remedy) for f in findings for remedy in f.remedies):
        assert remedy.span.source == case.source
        new = news(findings, without_remedies(mended(case.source, remedy)), finding, remedy)
        assert not new, (finding.code, remedy.text, new)


def test_what_is_proposed_lies_within_what_is_told_to_be_possible() -> None:
    """Within a proposal's own step: what is possible is read off a scan, and told with "about"."""
    compared = 0
    steps = {"m": 0.1, "km/h": 1.0, "s": 0.05}
    for finding in (f for case in cases() for f in compiled(case.source).findings if "range" in f.facts):
        low, high = (float(edge) for edge in re.findall(r"([\d.]+) [\w/]+", finding.facts["range"]))
        for remedy in finding.remedies:
            told = re.fullmatch(r"(?:height|pace|time) ([\d.]+) (m|km/h|s)\b.*", remedy.text)
            if told:
                compared += 1
                assert low - steps[told[2]] <= float(told[1]) <= high + steps[told[2]], (remedy.text, finding.facts)
    assert compared >= 5


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


@cache
def found() -> dict[str, list[Finding]]:
    by_code: dict[str, list[Finding]] = {}
    for case in cases():
        for finding in compiled(case.source).findings:
            by_code.setdefault(finding.code, []).append(finding)
    return by_code


def test_every_code_has_a_headline_and_no_headline_is_left_over() -> None:
    assert HEADLINES.keys() == CODES.keys()


@pytest.mark.parametrize("code", CODES)
def test_code_is_given_by_a_case_with_every_fact_its_headline_names(code: str) -> None:
    assert found().get(code), "no case gives it"
    for finding in found()[code]:
        assert set(Template(HEADLINES[code]).get_identifiers()) <= finding.facts.keys()
        assert all(isinstance(fact, str) for fact in finding.facts.values())
        assert "$" not in headline(finding)


@pytest.mark.parametrize("code", CODES)
def test_code_is_explained_in_sentences(code: str) -> None:
    explained = CODES[code]
    assert explained.title and not explained.title.endswith(".")
    assert explained.why.endswith(".") and explained.example != explained.instead
