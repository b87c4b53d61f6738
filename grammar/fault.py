"""What is wrong with a sentence, as data: the compiler turns it into a finding."""

from collections.abc import Mapping
from typing import NamedTuple

from .source import Span


class Fault(NamedTuple):
    code: str
    span: Span
    facts: Mapping[str, str] = {}
    also: tuple[tuple[str, Span], ...] = ()
    """Other places that matter, each with a few words that say why."""
