"""Tree -> Program: names, kinds, units, defaults and inheritance settled; everything in SI and the court's frame."""

from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

from ...grammar import syntax as s
from ...grammar.finding import Finding, Severity
from ...grammar.frozen import replace
from ...grammar.mistakes import near_names, opening
from ...grammar.print import text
from ...grammar.source import Span
from ...grammar.syntax import Line, Tree, sentences
from ..findings import MESSAGES
from ..findings.feeds import FeedsMissing
from ..findings.head import ProgramMissing
from ..findings.names import Duplicate, ErrorAccepted
from ..findings.session import OneSession, ServesAlone
from ..kept import Kept
from ..model.court import courts
from ..model.feeder import Feeder, ProfileProblem, Profiles
from ..model.player import Player
from ..model.program import Program
from .across import directed, with_halves
from .amounts import Rejected, Rejections, one_of
from .bounds import read_limits, with_waits
from .feeds import FeedReader
from .given import put_in
from .head import Head, read_head
from .members import Family
from .people import ReadFor, parts, who_plays
from .places import Ground
from .points import read_points
from .practice import read_session
from .stands import HeadFeeder
from .turns import Known
from .variations import read_variations, read_zones

__all__ = ["resolve"]

_READ: Kept[tuple[object, Program, list[Finding]]] = Kept(20)
"""By the script: its sentences, and what they come to."""
_HEADS: Kept[tuple[object, Head]] = Kept(20)
"""By the script."""
N = TypeVar("N", s.Zone, s.Variation, s.Feed, s.Point)


def resolve(
    tree: Tree, profiles: Profiles, settings: Mapping[str, tuple[str, str]], trial: bool = False
) -> tuple[Program | None, list[Finding]]:
    """The program, or None if its head gives nothing to compute with, and a finding for every rejected sentence. Found
    again while no sentence has changed; what a remedy on `trial` comes to is not asked for again."""
    feeders = (feeder for head, _ in tree.of(s.Program) for _, feeder in sentences(head.children, s.Feeder))
    loaded = [_loaded(feeder, profiles) for feeder in feeders]
    name, said = tree.span.source.name, (dict(settings), loaded, *(one for line in tree.lines for one in line.said()))
    known = _READ.get(name)
    if known and known[0] == said:
        return known[1], known[2]
    program, findings = _read(tree, profiles, loaded, settings)
    if program and not trial:
        program = replace(program, decides=tuple(map(_without_words, said)))
        _READ.put(name, (said, program, findings))
    return program, findings


def _without_words(said: object) -> object:
    """What of a line decides about balls: of a note the first word, beside which others are written."""
    match said:
        case (Span(source), s.Note(), _):
            return source.text.partition('"')[0]
    return said


def _loaded(feeder: s.Feeder, profiles: Profiles) -> Feeder | str | None:
    try:
        return profiles.load(feeder.name.text)
    except ProfileProblem as problem:
        return str(problem)


def _read(
    tree: Tree, profiles: Profiles, loaded: object, settings: Mapping[str, tuple[str, str]]
) -> tuple[Program | None, list[Finding]]:
    tree, given, found = put_in(tree, settings)
    unread = [opening(line.span.text) for line in tree.unread()]
    rejections = Rejections(found, whole=not unread)
    accepts = {code: said for _, said in tree.of(s.Accept) if (code := rejections.read(lambda: _accepted(said)))}  # noqa: B023
    programs, sessions = list(tree.of(s.Program)), list(tree.of(s.Session))
    lost = any(line.sentence is None for line in tree.lines)
    if not programs and not lost:
        rejections.add(Finding(ProgramMissing(), Span(tree.span.source, 0, 0)))
    for kind, lines in (("program", [line for line, _ in programs]), ("session", [line for line, _ in sessions])):
        for again in lines[1:]:
            use = s.Use(s.Word("TITLE", f'"{again.span.source.name.rpartition("/")[2]}"'))
            hint = OneSession(text(use)) if kind == "session" else None
            rejections.add(Finding(Duplicate(kind), again.span, (("first here", lines[0].span),), hint=hint))
    head = Head()
    if programs:
        line = programs[0][0]
        inputs = loaded, *line.said()
        head = rejections.again(_HEADS, tree.span.source.name, inputs, lambda: read_head(line, rejections, profiles))
    # If the head could not be read, the rest is read on any court with any player, and nothing is aimed.
    court = head.court or courts(False)["singles"]
    limits = [limit for _, limit in sentences(programs[0][0].children, s.Limit)] if programs else []
    readings: tuple[ReadFor, ...] = ()
    for player in head.players or (head.player or Player("right", 1.75),):
        # What is wrong for each player alike is reported once.
        own = Rejections() if readings else rejections
        readings += (_reading(tree, unread, Ground(court, player), limits, own, readings, head.stands),)
        if own is not rejections:
            rejections.findings += [finding for finding in own.findings if finding not in rejections.findings]
            rejections.whole = rejections.whole and own.whole
    feeds = readings[0].feeds
    readers = {reading.reader.ground.player.name: reading.reader for reading in readings}
    points = dict.fromkeys(_ghosts(unread, "point")) | read_points(
        _named(tree, s.Point, rejections).values(), rejections, Known(feeds, {}, readers, head.rotation)
    )
    session = None
    if sessions:
        session = read_session(*sessions[0], rejections, feeds, points, readers, head.rotation, head.stands)
    # A practice in which nothing is fed has the player's serves, or rests with notes.
    unfed = session is not None and bool(session.items) and not session.plays
    if programs and not feeds and not lost and not unfed:
        serves = any(line.kind == "serves" for point, _ in tree.of(s.Point) for line in point.children)
        rejections.add(Finding(FeedsMissing(), programs[0][0].span, hint=ServesAlone() if serves else None))
    program = _program(tree, *programs[0], head) if programs else None
    if program is None:
        return None, rejections.findings
    read = {name: point for name, point in points.items() if point}
    played = who_plays(session, read)
    readings = directed(readings, played, head.place, rejections)
    several = parts(readings, readings[0].reader.extra, played)
    program = replace(
        program,
        variations=several.variations,
        feeds=several.feeds,
        families=several.families,
        versions=several.versions,
        players={player.name: player for player in head.players},
        rotation=head.rotation,
        session=session,
        points=read,
        whole=rejections.whole,
        accepted=tuple(accepts),
        accepts=accepts,
        uses=tuple(
            dict.fromkeys(source for line in tree.lines if (source := line.span.source).name != tree.span.source.name)
        ),
        given=given,
        laddered=frozenset(_laddered(tree.lines)),
    )
    program = replace(program, feeds=with_waits(program))
    return replace(program, feeds=with_halves(program)), rejections.findings


def _reading(
    tree: Tree,
    unread: Iterable[tuple[str, str]],
    ground: Ground,
    said: Iterable[s.Limit],
    rejections: Rejections,
    before: tuple[ReadFor, ...],
    feeder: HeadFeeder | None,
) -> ReadFor:
    """Zones, variations and feeds, for the player of this ground."""
    zones = dict.fromkeys(_ghosts(unread, "zone")) | read_zones(_named(tree, s.Zone, rejections), rejections, ground)
    variations, goals = read_variations(_named(tree, s.Variation, rejections), rejections, ground, zones)
    lines, ghosts = _named(tree, s.Feed, rejections), tuple(_ghosts(unread, "feed"))
    known, limits = (*variations, *_ghosts(unread, "variation")), read_limits(said, rejections, ground)
    reader = FeedReader(rejections, ground, zones, known, lines, limits, ghosts, goals, feeder=feeder)
    if before:  # rungs of all players are named as those of one
        reader = replace(reader, ladders=before[0].reader.ladders, extra=before[0].reader.extra)
    feeds: dict[str, Family | None] = dict.fromkeys(ghosts)
    return ReadFor(reader, variations, feeds | {name: reader.feed(name) for name in lines})


def _program(tree: Tree, line: Line, said: s.Program, head: Head) -> Program | None:
    if not (head.feeder and head.profile and head.place):
        return None
    if not (head.court and head.surface and head.ball and head.player and head.air):
        return None
    return Program(
        title=said.title.unquoted,
        source=tree.span.source,
        court=head.court,
        ball=head.ball,
        air=head.air,
        surface=head.surface,
        player=head.player,
        feeder=head.feeder,
        profile=head.profile,
        place=head.place,
        seed=head.seed,
        variations={},
        feeds={},
        families={},
        session=None,
        whole=False,
        accepted=(),
        notes=head.notes,
        span=line.span,
    )


def _accepted(said: s.Accept) -> str:
    code = one_of(said.name.text, said.name.span, MESSAGES, "message")
    if MESSAGES[code].severity is Severity.ERROR:
        raise Rejected(ErrorAccepted(code), said.name.span)
    return code


def _ghosts(unread: Iterable[tuple[str, str]], kind: str) -> list[str]:
    """Names of lines that could not be read, by their first words: they count as known, so their use gives no second
    finding."""
    return [name for word, name in unread if name and near_names(word.lower(), [kind])]


def _laddered(lines: Iterable[Line]) -> Iterator[str]:
    """The names of the feeds of which ladders change a line."""
    for line in lines:
        ladder = isinstance(line.sentence, s.Ladder) and line.sentence.rungs is not None
        if ladder or line.sentence is None:
            word, name = opening(line.span.text)
            if ladder or near_names(word.lower(), ["ladder"]):
                yield name
        yield from _laddered(line.children)


def _named(tree: Tree, kind: type[N], rejections: Rejections) -> dict[str, tuple[Line, N]]:
    """The lines of a kind by the name they open; a name opened twice is reported at the second place."""
    found: dict[str, tuple[Line, N]] = {}
    for line, said in tree.of(kind):
        name = said.name
        if name.text in found:
            twice, first = Duplicate(f"{said.kind} {name.text}"), found[name.text][0].span
            rejections.add(Finding(twice, name.span, (("first here", first),)))
        else:
            found[name.text] = line, said
    return found
