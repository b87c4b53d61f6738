"""A finding is data: what was found, where, and what would mend it. It is worded and shown elsewhere."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from ...grammar.source import Span


class Severity(Enum):
    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Remedy:
    """Source that would mend the finding: `text` in the place of `span`."""

    span: Span
    text: str


@dataclass(frozen=True, slots=True)
class Finding:
    code: str
    span: Span
    facts: Mapping[str, str] = field(default_factory=dict)
    also: tuple[tuple[str, Span], ...] = ()
    """Other places that matter, each with a word on why."""
    remedies: tuple[Remedy, ...] = ()
