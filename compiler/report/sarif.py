"""Findings as SARIF 2.1.0 (OASIS Standard, 27 March 2020), for tools that show what other tools found."""

import contextlib
from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from urllib.parse import quote

from ...grammar.edits import Remedy
from ...grammar.finding import Finding
from ...grammar.source import Span
from ..findings import MESSAGES
from ..printable import json_shown
from .render import json_place, made_line

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"


def sarif_text(findings: Iterable[Finding]) -> str:
    """One run with every code as a rule and every finding as a result, remedies as fixes."""
    rules = list(MESSAGES)
    driver = {
        "name": "feedwright",
        "rules": [
            {
                "id": name,
                "shortDescription": {"text": message.title},
                "fullDescription": {"text": message.why},
                "help": {"text": f"{message.why}\n\nFor example:\n{message.example}\n\nInstead:\n{message.instead}"},
                "defaultConfiguration": {"level": message.severity.value},
            }
            for name, message in MESSAGES.items()
        ],
    }
    with contextlib.suppress(PackageNotFoundError):  # run from a folder, not installed
        driver["version"] = version("feedwright")
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "results": [_result(finding, rules.index(finding.code)) for finding in findings],
    }
    return json_shown({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]})


def _result(finding: Finding, rule: int) -> dict[str, object]:
    result: dict[str, object] = {
        "ruleId": finding.code,
        "ruleIndex": rule,
        "level": finding.severity.value,
        "message": {"text": ". ".join([finding.headline, *finding.advice])},
        "locations": [{"physicalLocation": _place(finding.span)}],
        "properties": {"facts": finding.message.data()},
    }
    if finding.also:
        result["relatedLocations"] = [
            {"id": i, "physicalLocation": _place(span), "message": {"text": why}}
            for i, (why, span) in enumerate(finding.also)
        ]
    if finding.remedies:
        result["fixes"] = [_fix(remedy) for remedy in finding.remedies]
    return result


def _fix(remedy: Remedy) -> dict[str, object]:
    sentence, where = made_line(remedy)
    place = _place(remedy.span)
    replacement = {"deletedRegion": place["region"], "insertedContent": {"text": remedy.text}}
    change = {"artifactLocation": place["artifactLocation"], "replacements": [replacement]}
    return {
        "description": {"text": f"{'write: ' if remedy.text else ''}{sentence} ({where})"},
        "artifactChanges": [change],
    }


def _place(span: Span) -> dict[str, object]:
    """Lines and columns count from one in SARIF too, and the end column is the one after the last character."""
    place = json_place(span)
    names = {"line": "startLine", "column": "startColumn", "end_line": "endLine", "end_column": "endColumn"}
    path = Path(span.source.name)
    uri = path.as_uri() if path.is_absolute() else quote(path.as_posix())
    return {"artifactLocation": {"uri": uri}, "region": {names[key]: place[key] for key in names}}
