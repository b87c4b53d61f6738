"""A finding is data: what was found, where, and what would mend it. It is worded and shown elsewhere."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from ...grammar.edits import Edit
from ...grammar.source import Span


class Severity(Enum):
    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


Remedy = Edit
"""The change of a source that would mend a finding."""


@dataclass(frozen=True, slots=True)
class Finding:
    code: str
    span: Span
    facts: Mapping[str, str] = field(default_factory=dict)
    also: tuple[tuple[str, Span], ...] = ()
    """Other places that matter, each with a word on why."""
    remedies: tuple[Remedy, ...] = ()
