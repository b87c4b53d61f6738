"""One note for a script of what a person who feeds scatters, in place of one for each line."""

from collections.abc import Iterable

from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ..findings.scatter import OrdinaryDepth, OrdinaryHeight


def in_one_note(findings: Iterable[Finding]) -> list[Finding]:
    """The findings, with one such note of each kind about all its balls."""
    found, firsts = list[Finding](), dict[type, int]()
    for finding in findings:
        message = finding.message
        ordinary = isinstance(message, OrdinaryHeight | OrdinaryDepth)
        first = firsts.setdefault(type(message), len(found)) if ordinary else len(found)
        if first == len(found):
            found.append(finding)
            continue
        one = found[first]
        assert isinstance(message, OrdinaryHeight | OrdinaryDepth)
        assert isinstance(one.message, OrdinaryHeight | OrdinaryDepth)
        told = replace(one.message, others=(*one.message.others, message))
        found[first] = replace(one, message=told, balls=(*one.balls, message.ball))
    return found
