"""The list of codes, its headlines and the cases agree."""

from functools import cache
from string import Template

import pytest

from feedwright.compiler.report.codes import CODES
from feedwright.compiler.report.finding import Finding
from feedwright.compiler.report.wording import HEADLINES, headline

from .cases import cases, compiled


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
