"""A script that is being written, with the scripts that it uses, and every name in them."""

import re
from collections.abc import Iterator
from enum import Enum
from functools import cached_property

from ...grammar import syntax as s
from ...grammar.edits import Edit
from ...grammar.frozen import Frozen, replace
from ...grammar.parse import parse
from ...grammar.source import Source, Span
from ...grammar.syntax import Line, Node, Tree, Word
from ..include import Library, include

MADE_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]*(-[A-Za-z0-9_]+)*", re.ASCII)


class NameKind(Enum):
    ZONE = "zone"
    VARIATION = "variation"
    FEED = "feed"
    POINT = "point"
    AMOUNT = "amount"
    PLAYER = "player"


class NamePlace(Frozen):
    """A name of the script's own where it stands: where it is `made`, or where it is used."""

    kind: NameKind
    name: str
    span: Span
    made: bool


class Script(Frozen):
    source: Source
    tree: Tree
    used: tuple[Tree, ...]
    """Each script that it uses, whole."""

    @cached_property
    def names(self) -> tuple[NamePlace, ...]:
        """Every name of its own and of the scripts that it uses, in order of place."""
        found = [name for tree in (self.tree, *self.used) for name in _all(tree)]
        others = dict[str, NameKind]()  # a block plays feeds and points alike, and a score names variations, too
        for kind in (NameKind.VARIATION, NameKind.POINT):
            others |= {name.name: kind for name in found if name.kind is kind}
        for name in found:
            if name.made and name.kind is NameKind.FEED:
                others.pop(name.name, None)
        return tuple(
            replace(name, kind=others[name.name]) if name.kind is NameKind.FEED and name.name in others else name
            for name in found
        )

    def name_at(self, place: int) -> NamePlace | None:
        """The name at a place of the script itself; just behind its last letter counts too."""
        touching = (
            name for name in self.names if name.span.source is self.source and name.span.start <= place <= name.span.end
        )
        return next(touching, None)

    def same(self, name: NamePlace) -> tuple[NamePlace, ...]:
        """All places of a name. A script's named amounts and players are its own; its other names are those of whoever
        uses it."""
        return tuple(
            other for other in self.names
            if (other.kind, other.name) == (name.kind, name.name)
            and (name.kind not in (NameKind.AMOUNT, NameKind.PLAYER) or other.span.source is name.span.source)
        )  # fmt: skip

    def made(self, name: NamePlace) -> NamePlace | None:
        """Where a name is made."""
        return next((other for other in self.same(name) if other.made), None)


def opened(source: Source, library: Library | None) -> Script:
    tree, _ = parse(source)
    used: tuple[Tree, ...] = ()
    if library:
        sources = (library.load(name) for name in include(tree, library)[2])
        used = tuple(parse(other)[0] for other in sources if other)
    return Script(source, tree, used)


def lines_of(tree: Tree) -> Iterator[Line]:
    """Every line, from the first to the last."""
    waiting = list(reversed(tree.lines))
    while waiting:
        line = waiting.pop()
        yield line
        waiting += reversed(line.children)


def renamed(script: Script, place: int, name: str) -> tuple[Edit, ...] | None:
    """The edits, also of used scripts, that give the name at a place another one; None where there is no name, or the
    new one is none, is taken, or would read as something else."""
    old = script.name_at(place)
    if old is None or not MADE_NAME.fullmatch(name) or old.name == name:
        return None
    places = script.same(old)
    played = (NameKind.FEED, NameKind.POINT)
    kinds = played if old.kind in played else (old.kind,)
    if any(other.kind in kinds and other.name == name for other in script.names):
        return None
    edits = tuple(Edit(other.span, name) for other in places)
    before = [_skeleton(tree, old, name) for tree in (script.tree, *script.used)]
    after = [_skeleton(parse(Source(tree.span.source.name, edited(tree.span.source, edits)))[0], old, name)
             for tree in (script.tree, *script.used)]  # fmt: skip
    return edits if before == after else None


def edited(source: Source, edits: tuple[Edit, ...]) -> str:
    """The text of a source after those of the edits that are its own."""
    text = source.text
    for edit in sorted(edits, key=lambda edit: -edit.span.start):
        if edit.span.source is source:
            text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text


def _skeleton(tree: Tree, old: NamePlace, name: str) -> list[tuple[str, list[tuple[NameKind, str, bool]]]]:
    """The kinds of all sentences and their names, the new one as the old one."""
    kinds = {old.kind, NameKind.FEED} if old.kind in (NameKind.POINT, NameKind.VARIATION) else {old.kind}
    return [
        (line.kind, [(n.kind, old.name if n.kind in kinds and n.name == name else n.name, n.made)
                     for n in _names_of(line)])
        for line in lines_of(tree)
    ]  # fmt: skip


def _all(tree: Tree) -> Iterator[NamePlace]:
    for line in lines_of(tree):
        yield from _names_of(line)


def _names_of(line: Line) -> Iterator[NamePlace]:
    """The names in a line; those of a ladder of feeds with the one on which it starts."""
    if line.sentence:
        yield from _names(line.sentence)
    match line.sentence:
        case s.Ladder(rungs=None, feeds=feeds):
            starts = [child.sentence.rung for child in line.children if isinstance(child.sentence, s.Begin)]
            yield from (_named(NameKind.FEED, rung) for rung in starts if rung.text in [feed.text for feed in feeds])


def _names(node: Node) -> Iterator[NamePlace]:
    match node:
        case s.Zone(name):
            yield _named(NameKind.ZONE, name, made=True)
        case s.Variation(name):
            yield _named(NameKind.VARIATION, name, made=True)
        case s.Given(name):
            yield _named(NameKind.AMOUNT, name, made=True)
        case s.GivenAmount(name):
            yield _named(NameKind.AMOUNT, name)
        case s.Called(name):
            yield _named(NameKind.PLAYER, name, made=True)
        case s.Body(_, of) if of:
            yield _named(NameKind.PLAYER, of)
        case s.For(names):
            yield from (_named(NameKind.PLAYER, name) for name in names)
        case s.Into(zone):
            yield _named(NameKind.ZONE, zone)
        case s.Share(_, name):
            yield _named(NameKind.FEED, name)
        case s.Worth(what) if what.kind == "NAME":
            yield _named(NameKind.FEED, what)
        case s.AtMost(_, _, of) if of and of.kind == "NAME":
            yield _named(NameKind.FEED, of)
        case s.Ladder():
            yield from (_named(NameKind.FEED, feed) for feed in node.feeds)
        case s.Same():
            yield _named(NameKind.FEED, node.feed)
        case s.Point(name):
            yield _named(NameKind.POINT, name, made=True)
        case s.Feed(name, aims, like):
            yield _named(NameKind.FEED, name, made=True)
            if aims:
                yield _named(NameKind.VARIATION, aims)
            if like:
                yield _named(NameKind.FEED, like)
    for part in node.nodes():
        yield from _names(part)


def _named(kind: NameKind, word: Word, made: bool = False) -> NamePlace:
    return NamePlace(kind, word.text, word.span, made)
