"""Tree -> Program: names, kinds, units, defaults and inheritance settled; everything in SI and the court's frame."""

import re
from dataclasses import replace

from ..model.court import courts
from ..model.feeder import Profiles
from ..model.player import Player
from ..model.program import Feed, Program, Variation, Zone
from ..model.tree import Line, Tree
from ..report.finding import Finding
from ..source import Span
from .amounts import Desk
from .feeds import FeedReader
from .head import Head, read_head
from .places import Ground
from .practice import read_session
from .variations import read_variation, read_zone

__all__ = ["resolve"]


def resolve(tree: Tree, profiles: Profiles) -> tuple[Program | None, list[Finding]]:
    """The program, or None where its head leaves nothing to compute with, and every slip found."""
    desk = Desk(whole=all(_sound(line) for line in tree.lines))
    for line in tree.of_kind("use"):
        desk.add(Finding("not-yet", line.span, {"what": "use"}))
    programs, sessions = list(tree.of_kind("program")), list(tree.of_kind("session"))
    unread = any(line.node is None for line in tree.lines)
    if not programs and not unread:
        desk.add(Finding("program-missing", Span(tree.span.source, 0, 0)))
    for kind, lines in (("program", programs), ("session", sessions)):
        for again in lines[1:]:
            desk.add(Finding("said-twice", again.span, {"what": kind}, (("first here", lines[0].span),)))
    head = read_head(programs[0], desk, profiles) if programs else Head()
    # A head that could not be read leaves the rest to be read on any court by any player; nothing is aimed then.
    ground = Ground(head.court or courts(False)["singles"], head.player or Player("right", 1.75))
    zones: dict[str, Zone | None] = dict.fromkeys(_ghosts(tree, "zone"))
    for name, line in _named(tree, "zone", desk).items():
        zones[name] = desk.read(lambda: read_zone(line, ground))  # noqa: B023 - read at once
    variations: dict[str, Variation] = {
        name: read_variation(line, desk, ground, zones) for name, line in _named(tree, "variation", desk).items()
    }
    feed_lines = _named(tree, "feed", desk)
    feeds: dict[str, Feed | None] = dict.fromkeys(_ghosts(tree, "feed"))
    reader = FeedReader(desk, ground, zones, frozenset([*variations, *_ghosts(tree, "variation")]), feed_lines)
    feeds |= {name: reader.feed(name) for name in feed_lines}
    session = read_session(sessions[0], desk, feeds) if sessions else None
    if not feed_lines and not unread:
        desk.add(Finding("feeds-missing", programs[0].span if programs else tree.span))
    program = _program(tree, programs[0], head) if programs else None
    if program is None:
        return None, desk.findings
    return replace(
        program,
        variations=variations,
        feeds={name: feed for name, feed in feeds.items() if feed},
        session=session,
        whole=desk.whole,
    ), desk.findings


def _program(tree: Tree, line: Line, head: Head) -> Program | None:
    if not (
        head.court
        and head.surface
        and head.ball
        and head.player
        and head.feeder
        and head.post
        and head.air
        and line.node
    ):
        return None
    return Program(
        title=line.node.words("TITLE")[0].text[1:-1],
        source=tree.span.source,
        court=head.court,
        ball=head.ball,
        air=head.air,
        surface=head.surface,
        player=head.player,
        feeder=head.feeder,
        post=head.post,
        seed=head.seed,
        variations={},
        feeds={},
        session=None,
        whole=False,
        notes=head.notes,
        span=line.span,
    )


def _ghosts(tree: Tree, kind: str) -> list[str]:
    """Names that a line opens although it could not be read: known, so that using them is no second slip."""
    heads = (
        re.match(rf"{kind}\s+([A-Za-z][\w-]*)", line.span.text, re.ASCII) for line in tree.lines if line.node is None
    )
    return [head[1] for head in heads if head]


def _sound(line: Line) -> bool:
    return line.node is not None and all(_sound(child) for child in line.children)


def _named(tree: Tree, kind: str, desk: Desk) -> dict[str, Line]:
    """The lines of a kind by the name they open; a name opened twice is told at the second place."""
    found: dict[str, Line] = {}
    for line in tree.of_kind(kind):
        assert line.node
        name = line.node.words("NAME")[0]
        if name.text in found:
            facts, first = {"what": f"{kind} {name.text}"}, found[name.text].span
            desk.add(Finding("said-twice", name.span, facts, (("first here", first),)))
        else:
            found[name.text] = line
    return found
