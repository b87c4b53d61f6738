"""The outputs of a checked plan: each target is a function from a `Plan` to bytes, and reads nothing else.

Importing this package is cheap: a target imports its module when it is called.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING

from ..grammar.frozen import Frozen

if TYPE_CHECKING:
    from ..compiler.model.plan import Plan

__all__ = ["TARGETS", "Target"]


class Target(Frozen):
    suffix: str
    """The part of the file name after a dot: `plan.json` gives NAME.plan.json."""
    render: Callable[..., bytes]
    """Takes the plan, and the user's choices as keyword arguments with defaults."""
    kinds: frozenset[str] = frozenset({"machine", "person"})
    """Kinds of feeder that have this output."""
    built: bool = False
    """Whether `build` writes it."""


def _plan(plan: "Plan") -> bytes:
    from .document import render

    return render(plan)


def _stream(plan: "Plan") -> bytes:
    from .outputs.stream import render

    return render(plan)


def _table(plan: "Plan") -> bytes:
    from .outputs.table import render

    return render(plan)


def _sheet(plan: "Plan", paper: str = "a4", large: bool = False, date: str = "") -> bytes:
    from .outputs.sheet import html, layout

    return html.render(layout.document(plan, paper, large, date))


def _sheet_pdf(plan: "Plan", paper: str = "a4", large: bool = False, date: str = "") -> bytes:
    from .outputs.sheet import layout, pdf

    return pdf.render(layout.document(plan, paper, large, date))


def _partner(plan: "Plan", paper: str = "a4", large: bool = False, date: str = "") -> bytes:
    from .outputs.sheet import html, partner

    return html.render(partner.document(plan, paper, large, date))


def _partner_pdf(plan: "Plan", paper: str = "a4", large: bool = False, date: str = "") -> bytes:
    from .outputs.sheet import partner, pdf

    return pdf.render(partner.document(plan, paper, large, date))


def _phone(plan: "Plan", date: str = "") -> bytes:
    from .outputs.sheet import phone

    return phone.render(plan, date)


def _cues(plan: "Plan", voice: bool = False) -> bytes:
    from .outputs import cues

    if not voice:
        return cues.render(plan)
    from .outputs.voice import spoken

    return cues.render(plan, spoken(cues.words(plan)))


def _picture(plan: "Plan", ball: str = "") -> bytes:
    from ..compiler.trace import replies, trajectories
    from .outputs.show.page import render

    return render(plan, trajectories(plan), replies=replies(plan), feed=ball)


def _drawing(plan: "Plan", ball: str = "") -> bytes:
    from ..compiler.trace import replies, trajectories
    from .outputs.show.drawing import render

    return render(plan, trajectories(plan), ball, replies(plan))


TARGETS: dict[str, Target] = {
    "plan": Target("plan.json", _plan, built=True),
    "stream": Target("stream", _stream, frozenset({"machine"}), built=True),
    "sheet": Target("sheet.html", _sheet, built=True),
    "table": Target("table.txt", _table, built=True),
    "sheet-pdf": Target("sheet.pdf", _sheet_pdf),
    "partner": Target("partner.html", _partner),
    "partner-pdf": Target("partner.pdf", _partner_pdf),
    "phone": Target("phone.html", _phone),
    "cues": Target("cues.wav", _cues),
    "picture": Target("picture.html", _picture),
    "drawing": Target("picture.svg", _drawing),
}
