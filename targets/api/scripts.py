"""Compile a script and verify a plan, as the commands do; nothing is printed or written."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from os import PathLike
from pathlib import Path

from .compiler.model.feeder import Feeder, ProfileProblem
from .compiler.model.plan import Plan
from .compiler.pipeline import compile_source
from .compiler.report.render import as_json, human
from .compiler.scripts import LARGEST, Refusal, script
from .compiler.verify import verify as reasons_against
from .grammar.finding import Finding, Severity
from .grammar.units import UNITS
from .programs import ScriptShelf
from .targets.machine.feeders import ProfileShelf

_AMOUNT = re.compile(r"([+-]?[0-9]+(?:\.[0-9]+)?) ?(\S+)", re.ASCII)


@dataclass(frozen=True, slots=True)
class Result:
    """The result of a script: the checked plan, or None if there is an error, and all findings in order of place."""

    plan: Plan | None
    findings: tuple[Finding, ...]

    @property
    def errors(self) -> tuple[Finding, ...]:
        """Those findings that stand against a plan."""
        return tuple(f for f in self.findings if f.severity is Severity.ERROR)

    def text(self) -> str:
        """The findings as `feedwright check` prints them; empty if there are none."""
        return human(self.findings)

    def records(self) -> list[dict[str, object]]:
        """The findings as plain data with severity, message, lines and remedies, as in `feedwright check --json`."""
        return as_json(self.findings)


def compile(
    text: str,
    folder: str | PathLike[str] | None = None,
    *,
    name: str = "script.feed",
    settings: Mapping[str, str] | None = None,
) -> Result:
    """Compile a script's text into a plan, the same one as `feedwright build` writes.

    Scripts that it uses and feeder profiles come from `folder` first, then from the included ones. `name` is the
    script's name in the findings and the plan. `settings` are amounts such as {"rhythm": "3.5 s"}, which replace the
    script's own amounts of these names.

    The findings say what is wrong with the script. ValueError: the text is empty, larger than 256 KB or not text,
    `folder` is not a folder, or an amount has no number and unit.
    """
    place = _folder(folder)
    try:
        data = text.encode("utf-8")
        if len(data) > LARGEST:
            raise ValueError(f"{name} is larger than {LARGEST // 1024} KB; no script needs so much")
        source = script(name, data)
    except Refusal as refusal:
        raise ValueError(str(refusal)) from refusal
    amounts = {key: _amount(key, value) for key, value in (settings or {}).items()}
    compiled = compile_source(source, ProfileShelf(place), ScriptShelf(place), amounts)
    return Result(compiled.plan, compiled.findings)


def verify(plan: Plan, feeder: Feeder | None = None, folder: str | PathLike[str] | None = None) -> tuple[str, ...]:
    """Fly a plan once more, as `feedwright replay` does before it arms. Returns the reasons against launching it, in
    sentences; empty if there are none.

    Without `feeder`, the profile that the plan names comes from `folder`, then from the included ones.
    ValueError: `folder` is not a folder.
    """
    place = _folder(folder)
    if feeder is None:
        try:
            feeder = ProfileShelf(place).load(plan.feeder.name)
        except ProfileProblem as problem:
            return (f"The profile of the feeder {plan.feeder.name} cannot be used: {problem}.",)
    if feeder is None:
        return (f"There is no profile of the feeder {plan.feeder.name}, for which the plan was made.",)
    return tuple(reasons_against(plan, feeder))


def _folder(given: str | PathLike[str] | None) -> Path | None:
    if given is not None and not Path(given).is_dir():
        raise ValueError(f"{given} is not a folder")
    return None if given is None else Path(given)


def _amount(name: str, text: str) -> tuple[str, str]:
    found = _AMOUNT.fullmatch(text)
    if not found or found[2] not in UNITS:
        raise ValueError(f"{name} takes a number with a unit, such as 3.5 s; not {text}")
    return found[1], found[2]
