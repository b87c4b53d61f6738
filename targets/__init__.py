"""What becomes of a checked plan: each target is a function from a `Plan` to bytes, and reads nothing else.

Importing this package stays cheap: the module that does the work is imported when its target is called.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ..compiler.model.plan import Plan

__all__ = ["TARGETS", "Target"]


@dataclass(frozen=True, slots=True)
class Target:
    suffix: str
    """What follows the name and a dot: `plan.json` gives NAME.plan.json."""
    render: Callable[["Plan"], bytes]
    kinds: frozenset[str]
    """Kinds of feeder it is written for."""


def _plan(plan: "Plan") -> bytes:
    from .document import render

    return render(plan)


def _stream(plan: "Plan") -> bytes:
    from .stream import render

    return render(plan)


def _sheet(plan: "Plan") -> bytes:
    from .sheet.html import render
    from .sheet.layout import document

    return render(document(plan))


def _table(plan: "Plan") -> bytes:
    from .table import render

    return render(plan)


_BOTH = frozenset({"machine", "person"})

TARGETS: dict[str, Target] = {
    "plan": Target("plan.json", _plan, _BOTH),
    "stream": Target("stream", _stream, frozenset({"machine"})),
    "sheet": Target("sheet.html", _sheet, _BOTH),
    "table": Target("table.txt", _table, _BOTH),
}
