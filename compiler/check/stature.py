"""Body heights of a player that no line says."""

from collections.abc import Iterator
from typing import TypeGuard

from ...grammar.edits import Remedy, amount, appended, instead
from ...grammar.edits import name as named
from ...grammar.facts import Metres, Names
from ...grammar.finding import Finding, Message
from ...grammar.frozen import replace
from ...grammar.syntax import Body, BodyPart, Name, Node, Tall
from ..findings.head import BodyHeight, SeatedHeights, StatureTaken
from ..model.evaluation import Evaluation
from ..model.player import BODY_SHARES, SEAT_M, YOUNGEST_ADULT_STATURE, Player
from ..model.program import Feed, Program
from ..model.schedule import Schedule
from ..model.shots import Shots


def taken(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Which stature, or in a chair which height, is taken where a line names a part of the body and none says how high
    it is? Told once a player, and of those once of whom the same is taken."""
    found, court, known = dict[object, Finding](), program.court.name, dict[int, bool]()
    for player in program.players.values() or (program.player,):
        own = (feed for feed in program.feeds.values() if feed.player == player.name)
        first = {node.word.text: node for feed in own for node in _named(feed, known)}
        heights = tuple(
            BodyHeight(part, Metres(height))
            for part in BODY_SHARES
            if part in first and _taken(player, part) and (height := player.height_on(part, court))
        )
        if not heights or player.sentence is None:
            continue
        stature = player.stature_on(court)
        child, asked = stature < YOUNGEST_ADULT_STATURE, (("asked here", first[heights[0].part].span),)
        if player.two_bounces:
            message: Message = SeatedHeights(player.name, Metres(stature), heights, Metres(SEAT_M))
        else:
            message = StatureTaken(player.name, Metres(stature), heights, child)
        if player.two_bounces or child:
            remedy = _measured(player, heights)
        else:
            remedy = appended(player.sentence, Tall(amount(stature, 2, "m")))
        alike = (player.name if player.two_bounces else None), stature, heights
        if isinstance(message, StatureTaken) and (first_of := found.get(alike)):
            assert isinstance(first_of.message, StatureTaken)
            others = Names((*first_of.message.others, player.name))
            found[alike] = replace(first_of, message=replace(first_of.message, others=others))
        else:
            found[alike] = Finding(message, player.sentence.span, asked, (remedy,))
    return list(found.values())


def _taken(player: Player, part: str) -> bool:
    """Whether nothing that is measured says how high a part of the body is; in a chair a stature says it roughly."""
    return part not in player.body and (player.two_bounces or player.height_of(part) is None)


def _named(feed: Feed, known: dict[int, bool]) -> Iterator[Name]:
    """The parts of the body that its lines and bounds name, those of the first line last; most lines, which many balls
    share, name none."""
    lines = [*feed.said.values(), *(bound.sentence for bound in feed.bounds)]
    nodes = [line for line in lines if _names_one(line, known)]
    for node in nodes:
        if _is_part(node):
            yield node
        nodes += node.nodes()


def _names_one(node: Node, known: dict[int, bool]) -> bool:
    if id(node) not in known:
        known[id(node)] = any(map(_is_part, node.every_node))
    return known[id(node)]


def _is_part(node: Node) -> TypeGuard[Name]:
    return isinstance(node, Name) and node.word.text in BODY_SHARES


def _measured(player: Player, heights: tuple[BodyHeight, ...]) -> Remedy:
    """A body line: a stature says less of these heights where a player is a child or sits."""
    assert player.sentence
    parts = tuple(BodyPart(named(each.part), amount(each.height, 2, "m")) for each in heights)
    return instead(player.sentence, player.sentence, Body(parts, named(player.name) if player.name else None))
