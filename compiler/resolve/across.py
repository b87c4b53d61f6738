"""Which half of the court a reply crosscourt or down the line goes to, by where the balls that aim at it are met."""

from collections.abc import Iterator, Mapping

from ...grammar import syntax as s
from ...grammar.edits import amount, changed, counted, instead
from ...grammar.facts import BallName, Metres
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ..findings.feeds import FromTheMiddle, StrokeSays
from ..model.court import Court
from ..model.player import Player
from ..model.program import Feed, FeederPlace, Program, Range, Reply, Variation
from .amounts import Rejections
from .people import ReadFor, takers
from .places import Ground

MIDDLE_M = 0.5
"""A ball that is met nearer to the centre than this is of neither half, but for its stroke. Own choice."""


def directed(
    readings: tuple[ReadFor, ...], played: Mapping[str, set[str]], place: FeederPlace | None, rejections: Rejections
) -> tuple[ReadFor, ...]:
    """The readings with the half of each such reply; one that no ball aims at, or whose
    balls are met in both halves, keeps none."""
    found = []
    for reading in readings:
        variations = dict(reading.variations)
        for name, variation in reading.variations.items():
            if place and variation.reply and variation.reply.course:
                own = Rejections()
                balls = list(_aiming(readings, reading, played, name))
                variations[name] = _directed(variation, variation.reply, balls, place, reading.reader.ground, own)
                for finding in own.findings:
                    if finding not in rejections.findings:  # what holds for each player alike is told once
                        rejections.add(finding)
        found.append(reading._replace(variations=variations))
    return tuple(found)


def _aiming(
    readings: tuple[ReadFor, ...], reading: ReadFor, played: Mapping[str, set[str]], variation: str
) -> Iterator[Feed]:
    """The balls of this player that aim at a variation."""
    for name, family in reading.reader.read.items():
        if family and reading in takers(readings, played, name):
            yield from (feed for feed in family.members if feed.variation == variation)


def _directed(
    variation: Variation, reply: Reply, balls: list[Feed], place: FeederPlace, ground: Ground, rejections: Rejections
) -> Variation:
    said, court = reply.course, ground.court
    assert said
    sides = {feed.name: _side(feed, variation, feed.place or place, ground.player) for feed in balls}
    near = next((feed for feed in balls if not sides[feed.name]), None)
    if near:
        off = FromTheMiddle(BallName(near.name), Metres(abs(across(near, near.place or place))), said.where.text)
        left, right = (half(court, hand) for hand in ("left", "right"))
        # The other one replaces the whole line: of several changes at one place the first that holds is shown.
        wishes = tuple(right if wish is said else wish for wish in reply.sentence.wishes)
        either = instead(said, left), instead(reply.sentence, changed(reply.sentence, wishes=wishes))
        rejections.add(Finding(off, said.span, (("the ball", near.span),), either, hint=StrokeSays()))
        return variation
    if len(set(sides.values())) != 1:  # `goes` of each ball says where the reply to it goes
        return variation
    x = _goes(said, next(iter(sides.values())), court)
    start, end = (at - reply.span.end + len(reply.words) for at in (said.span.start, said.span.end))
    words = f"{reply.words[:start]}{said.where.text} ({'left' if x.aim > 0 else 'right'} half){reply.words[end:]}"
    return replace(variation, reply=replace(reply, x=x, words=words))


def with_halves(program: Program) -> dict[str, Feed]:
    """The balls, each with the half of the court that a reply goes to, where its variation says that from the ball."""
    found = dict(program.feeds)
    for name, feed in program.feeds.items():
        variation = program.variations.get(feed.variation or "")
        if variation and variation.reply and (said := variation.reply.course):
            side = _side(feed, variation, program.place_of(feed), program.seen_by(feed.player).player)
            found[name] = replace(feed, goes=_goes(said, side, program.court)) if side else feed
    return found


def _side(feed: Feed, variation: Variation, place: FeederPlace, player: Player) -> int:
    """In which half of the court a ball is met, 1 for the left one and -1 for the right one. Near the centre it is the
    half of the stroke that is asked: a right-hander's forehand goes crosscourt to the left from there as from the right
    half. 0 where no line says which. Common practice, no source."""
    x = across(feed, place)
    if abs(x) >= MIDDLE_M:
        return 1 if x > 0 else -1
    asked = feed.stroke or (variation.stroke.word.text if variation.stroke else "")
    return player.forehand_x * (1 if asked == "forehand" else -1) if asked else 0


def _goes(said: s.Landing, side: int, court: Court) -> Range:
    """The half diagonally opposite, or the one straight ahead."""
    width, to_left = court.half_width, (side > 0) == (said.where.kind == "DOWN_THE_LINE")
    return Range(0.0, width, width / 2) if to_left else Range(-width, 0.0, -width / 2)


def across(feed: Feed, place: FeederPlace) -> float:
    """How far to the left of the centre a ball is met, m: on the line from the feeder through its aim as far as the
    stance, or at the aim where a line leaves one of them open."""
    aim = feed.side.aim
    if feed.depth is None or feed.free & {"depth", "stance"} or feed.depth.aim <= place.y:
        return aim
    return aim + (aim - place.x) * (feed.stance - feed.depth.aim) / (feed.depth.aim - place.y)


def half(court: Court, hand: str) -> s.Toward:
    """One half of the width, in words."""
    wide = s.Bounds(counted(0), amount(court.half_width, 1, "m").number, s.Word("UNIT", "m"))
    return s.Toward(s.FromCentre(wide, s.Word("NAME", hand), s.keyword("OF_CENTRE")))
