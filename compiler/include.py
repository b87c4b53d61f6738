"""Tree -> Tree: adds the zones, variations, feeds and points of the scripts that a script uses, after its own lines."""

import re
from collections.abc import Mapping
from typing import Protocol

from ..grammar.facts import Names
from ..grammar.finding import Finding
from ..grammar.frozen import Changing, own, replace
from ..grammar.mistakes import near_names
from ..grammar.parse import parse
from ..grammar.source import Source, Span
from ..grammar.syntax import Feed, Line, Point, Tree, Use, Variation, Zone
from .findings.names import TooManyScripts, UseCircle, UseMissing, UseName

NAME = re.compile(r"[a-z0-9_-]{1,40}(/[a-z0-9_-]{1,40}){0,3}\.feed", re.ASCII)
MOST_FILES, MOST_CHARACTERS, DEEPEST = 16, 1_000_000, 8
SHARED = (Zone, Variation, Feed, Point)


class Library(Protocol):
    """Where scripts that are used come from; the command line hands one in."""

    def names(self) -> list[str]: ...

    def load(self, name: str) -> Source | None:
        """The script, or None if there is no readable script of this name."""
        ...


class EditedLibrary(Changing):
    """A library with one script changed."""

    library: Library
    source: Source

    def names(self) -> list[str]:
        return self.library.names()

    def load(self, name: str) -> Source | None:
        return self.source if name == self.source.name else self.library.load(name)


class _Shelf(Changing):
    library: Library
    lines: list[Line] = own(factory=list)
    findings: list[Finding] = own(factory=list)
    used: dict[str, Span] = own(factory=dict)
    characters: int = 0


def include(tree: Tree, library: Library) -> tuple[Tree, list[Finding], Mapping[str, Span]]:
    """The tree with the lines of all scripts that it uses, what is wrong with these, and where each was first named."""
    shelf = _Shelf(library)
    _use(tree, (tree.span.source.name,), shelf)
    own = tuple(line for line in tree.lines if not isinstance(line.sentence, Use))
    return replace(tree, lines=(*own, *shelf.lines)), shelf.findings, shelf.used


def _use(tree: Tree, chain: tuple[str, ...], shelf: _Shelf) -> None:
    for _, use in tree.of(Use):
        title = use.title
        name = title.unquoted
        finding = _problem(name, title.span, chain, shelf)
        if finding:
            shelf.findings.append(finding)
        elif name not in shelf.used:
            source = shelf.library.load(name)
            if source is None:
                near = Names(near_names(name, shelf.library.names()))
                shelf.findings.append(Finding(UseMissing(near=near, name=name), title.span))
                continue
            shelf.used[name] = title.span
            shelf.characters += len(source.text)
            used, slips = parse(source)
            shelf.findings += slips
            shelf.lines += [line for line in used.lines if line.sentence is None or isinstance(line.sentence, SHARED)]
            _use(used, (*chain, name), shelf)


def _problem(name: str, span: Span, chain: tuple[str, ...], shelf: _Shelf) -> Finding | None:
    if not NAME.fullmatch(name):
        return Finding(UseName(name), span)
    if name in chain:
        return Finding(UseCircle(Names((*chain, name))), span)
    if len(shelf.used) >= MOST_FILES or shelf.characters > MOST_CHARACTERS or len(chain) > DEEPEST:
        return Finding(TooManyScripts(MOST_FILES, DEEPEST), span)
    return None
