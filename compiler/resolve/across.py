"""Which half of the court a reply crosscourt or down the line goes to, by where the balls that aim at it are met."""

from collections.abc import Iterator, Mapping

from ...grammar import syntax as s
from ...grammar.edits import amount, changed, counted, instead
from ...grammar.edits import name as named
from ...grammar.facts import BallName, Metres
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ...grammar.messages import LikelySlip
from ...grammar.print import text
from ..findings.feeds import BothHalves, FromTheMiddle
from ..model.court import Court
from ..model.program import Feed, FeederPlace, Range, Reply, Variation
from .amounts import Rejections
from .people import ReadFor, takers

MIDDLE_M = 0.5
"""A ball that is met nearer to the centre than this is of neither half. Own choice."""


def directed(
    readings: tuple[ReadFor, ...], played: Mapping[str, set[str]], place: FeederPlace | None, rejections: Rejections
) -> tuple[ReadFor, ...]:
    """The readings with the half of each such reply; one that no ball aims at, or that has no one half, keeps none."""
    found = []
    for reading in readings:
        variations = dict(reading.variations)
        for name, variation in reading.variations.items():
            if place and variation.reply and variation.reply.course:
                own = Rejections()
                court = reading.reader.ground.court
                balls = list(_aiming(readings, reading, played, name))
                variations[name] = _directed(variation, variation.reply, balls, place, court, own)
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
    variation: Variation, reply: Reply, balls: list[Feed], place: FeederPlace, court: Court, rejections: Rejections
) -> Variation:
    said = reply.course
    assert said
    met = {feed.name: across(feed, feed.place or place) for feed in balls}
    near = next((feed for feed in balls if abs(met[feed.name]) < MIDDLE_M), None)
    if near:
        off = FromTheMiddle(BallName(near.name), Metres(abs(met[near.name])), said.where.text)
        left, right = (half(court, hand) for hand in ("left", "right"))
        # The other one replaces the whole line: of several changes at one place the first that holds is shown.
        wishes = tuple(right if wish is said else wish for wish in reply.sentence.wishes)
        sides = instead(said, left), instead(reply.sentence, changed(reply.sentence, wishes=wishes))
        rejections.add(Finding(off, said.span, (("the ball", near.span),), sides))
        return variation
    on_left = [feed for feed in balls if met[feed.name] > 0]
    on_right = [feed for feed in balls if met[feed.name] < 0]
    if on_left and on_right:
        both = BothHalves(variation.name, said.where.text, BallName(on_left[0].name), BallName(on_right[0].name))
        also = (("met in the left half", on_left[0].span), ("met in the right half", on_right[0].span))
        rejections.add(Finding(both, said.span, also, hint=_for_each_side(variation, reply, on_left, on_right)))
    if bool(on_left) == bool(on_right):
        return variation
    to_left = bool(on_left) == (said.where.kind == "DOWN_THE_LINE")
    width = court.half_width
    x = Range(0.0, width, width / 2) if to_left else Range(-width, 0.0, -width / 2)
    start, end = (at - reply.span.end + len(reply.words) for at in (said.span.start, said.span.end))
    words = f"{reply.words[:start]}{said.where.text} ({'left' if to_left else 'right'} half){reply.words[end:]}"
    return replace(variation, reply=replace(reply, x=x, words=words))


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


def _for_each_side(variation: Variation, reply: Reply, left: list[Feed], right: list[Feed]) -> LikelySlip:
    """A variation for each side, in lines: a second one for the side with fewer feeds."""
    families = {hand: dict.fromkeys(feed.family for feed in of) for hand, of in (("left", left), ("right", right))}
    both = [name for name in families["left"] if name in families["right"]]
    hand, of = min((("left", left), ("right", right)), key=lambda one: len(families[one[0]]))
    own = named(f"{variation.name}-{hand}")
    lines: list[s.Sentence] = [s.Variation(own, s.Word("TITLE", f'"{variation.title}"')), reply.sentence]
    for family in families[hand]:
        if family in both:
            lines += [s.Feed(named(f"{family}-{hand}"), own, named(family)), _sides(of, family)]
        else:
            head = next(feed.line.sentence for feed in of if feed.family == family)
            assert isinstance(head, s.Feed)
            lines.append(changed(head, aims=own))
    other = right if of is left else left
    rest = f", and of {both[0]}, which keeps {text(_sides(other, both[0]))}, a feed for each" if both else ""
    return LikelySlip(f"a variation for each side{rest}: {'; '.join(map(text, lines))}")


def _sides(balls: list[Feed], family: str) -> s.Side:
    """Where those of a family are aimed."""
    places = [feed.said["side"] for feed in balls if feed.family == family]
    steps = next((place for place in places if isinstance(place, s.Side)), None)
    return steps or s.Side(tuple(dict.fromkeys(places)))  # type: ignore[arg-type]
