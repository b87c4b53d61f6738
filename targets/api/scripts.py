"""A script compiled and a plan verified, as the commands do it; nothing is printed and nothing is written."""

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
    """What a script came to: the checked plan, or None while an error stands, and all findings in order of place."""

    plan: Plan | None
    findings: tuple[Finding, ...]

    @property
    def errors(self) -> tuple[Finding, ...]:
        """Those findings that stand against a plan."""
        return tuple(f for f in self.findings if f.severity is Severity.ERROR)

    def text(self) -> str:
        """The findings as `feedwright check` prints them; empty where there are none."""
        return human(self.findings)

    def records(self) -> list[dict[str, object]]:
        """The findings as plain data, with severity, message, lines and remedies, as `feedwright check --json` has
        them."""
        return as_json(self.findings)


def compile(
    text: str,
    folder: str | PathLike[str] | None = None,
    *,
    name: str = "script.feed",
    settings: Mapping[str, str] | None = None,
) -> Result:
    """Compile a script's text into a plan, the same one as `feedwright build` writes.

    Scripts that it uses and feeder profiles are looked for in `folder` first, then among those that come along. `name`
    is what findings and the plan call the script. `settings` are amounts such as {"rhythm": "3.5 s"}, taken instead of
    those that the script gives these names.

    What is wrong with the script is in the findings. ValueError: the text is empty, larger than 256 KB or no text, the
    folder is none, or an amount has no number and unit.
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
    compiled = compile_source(source, ProfileShelf(place), ScriptShelf(place), amounts, sample=True)
    return Result(compiled.plan, compiled.findings)


def verify(plan: Plan, feeder: Feeder | None = None, folder: str | PathLike[str] | None = None) -> tuple[str, ...]:
    """Fly a plan once more, as `feedwright replay` does before it arms: what speaks against launching it, in sentences;
    empty where nothing does.

    Without `feeder` the profile that the plan names is looked for in `folder`, then among those that come along.
    ValueError: the folder is none.
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
        raise ValueError(f"{given} is no folder")
    return None if given is None else Path(given)


def _amount(name: str, text: str) -> tuple[str, str]:
    found = _AMOUNT.fullmatch(text)
    if not found or found[2] not in UNITS:
        raise ValueError(f"{name} takes a number with a unit, such as 3.5 s; not {text}")
    return found[1], found[2]
