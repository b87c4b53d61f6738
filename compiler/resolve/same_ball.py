"""A feed that says whose ball it has: the other feed's launch, met at its own stance."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Protocol

from ...grammar import syntax as s
from ...grammar.edits import left_out
from ...grammar.facts import Names
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ...grammar.syntax import Line
from ..findings.feeds import FeedIncomplete, LikeCircle
from ..findings.same_ball import SameBallOfSeveral, SameBallOnly, SameBallPlace
from ..model.program import Bound, Feed, FixedBy
from . import options
from .amounts import Rejected, Rejections, launch_to_launch, one_of
from .members import Family
from .options import stroke_of
from .places import Ground
from .slots import slot_of, word_of

OWN = ("same", "stance", "interval", "starts", "stroke")
"""The lines that such a feed may have."""
ELSEWHERE = ("height", "time")
"""What another stance changes."""
Links = Sequence[tuple[Line, s.Feed]]
Lines = Mapping[str, tuple[Line, s.Feed]]


class ReadsFeeds(Protocol):
    """Who reads all feeds of a script."""

    @property
    def rejections(self) -> Rejections: ...
    @property
    def ground(self) -> Ground: ...
    @property
    def limits(self) -> tuple[Bound, ...]: ...
    @property
    def lines(self) -> Lines: ...
    @property
    def known(self) -> tuple[str, ...]: ...
    def feed(self, name: str) -> Family | None: ...


def same_ball(reader: ReadsFeeds, chain: Links, said: s.Same, variation: str | None) -> Family | None:
    """The feed that `chain` begins with, the feeds that it is like after it; None if it cannot be resolved."""
    (line, head), name = chain[0], chain[0][1].name.text
    other = one_of(said.feed.text, said.feed.span, [known for known in reader.known if known != name], "feed")
    if circle := _circle(reader.lines, name, said):
        if circle[0] == name:  # it is told once
            reader.rejections.add(Finding(LikeCircle(Names((*circle, name)), balls=True), said.span))
        return None
    mine = dict[str, s.Sentence]()
    for link, _ in chain:
        own = {slot_of(one): one for child in link.children if (one := child.sentence) and not isinstance(one, s.Note)}
        for slot, one in own.items():
            if slot not in OWN:
                if link is line:  # else it is reported there
                    message = SameBallOnly(name, other, _called(one, slot))
                    also = (("together with this", said.span),)
                    reader.rejections.add(Finding(message, one.span, also, (left_out(one), left_out(said))))
                return None
            mine.setdefault(slot, one)
        if said in own.values():
            break
    family, place = reader.feed(other) if other in reader.lines else None, mine.get("stance")
    if family is None:
        return None
    if family.several:
        raise Rejected(SameBallOfSeveral(name, other, len(family.members)), said.feed.span)
    if not isinstance(place, s.Stance):
        raise Rejected(FeedIncomplete(name, Names(("stance",))), head.name.span)
    if place.found:
        raise Rejected(SameBallPlace(name), place.span)
    (ball,) = family.members
    made = _met_elsewhere(reader, ball, line, head, mine, variation)
    places = options.stances(place, reader.ground)
    members = []
    for i, (y, words, node, alone) in enumerate(places, start=1):
        own_words = {} if alone else {"stance": words}
        members.append(
            replace(
                made,
                name=name if len(places) == 1 else f"{name} {i}",
                stance=y,
                words={**made.words, **own_words},
                said=made.said if alone else {**made.said, "stance": node},
                elements=frozenset() if alone else frozenset({"stance"}),
            )
        )
    return Family(name, tuple(members))


def _met_elsewhere(
    reader: ReadsFeeds, ball: Feed, line: Line, head: s.Feed, mine: Mapping[str, s.Sentence], variation: str | None
) -> Feed:
    """The ball of another feed with the lines of this one; its pace is known once the other is solved."""
    rhythm, waits = mine.get("interval"), mine.get("starts")
    own = {word_of(slot): one for slot, one in mine.items()}
    kept = [word for word in ball.said if word not in ELSEWHERE]
    made = replace(
        ball,
        family=head.name.text,
        variation=variation or ball.variation,
        fixed_by=FixedBy.PACE,
        value=0.0,
        phase=None,
        arc=None,
        words={**{word: ball.words[word] for word in kept if word in ball.words}, **_words(own)},
        said={**{word: ball.said[word] for word in kept}, **own},
        notes=line.notes,
        span=head.name.span,
        line=line,
        bounds=reader.limits,
        best=None,
        fixes=(),
        free=frozenset(),
        between=None,
        behind=None,
        same_as=ball,
    )
    if isinstance(rhythm, s.Interval):
        made = replace(made, interval=launch_to_launch(rhythm), between_contacts=rhythm.between is not None)
    if isinstance(asked := mine.get("stroke"), s.Stroke):
        made = replace(made, stroke=stroke_of(asked))
    return replace(made, start=reader.ground.start(waits.spots)) if isinstance(waits, s.Starts) else made


def _words(own: Mapping[str, s.Sentence]) -> dict[str, str]:
    return {word: one.said for word, one in own.items()}


def _called(one: s.Sentence, slot: str) -> str:
    """The coach's word for a line."""
    return "bound" if isinstance(one, s.Bound) else word_of(slot)


def _circle(lines: Lines, name: str, said: s.Same) -> list[str]:
    """Feeds that have each other's ball, the first of the script first, if this one is among them or comes to them."""
    names, then = [name], said.feed.text
    while then in lines and then not in names:
        names.append(then)
        then = next(whose_ball(lines, then), "")
    circle = names[names.index(then) :] if then in names else []
    first = next((i for line in lines for i, one in enumerate(circle) if one == line), 0)
    return [*circle[first:], *circle[:first]]


def whose_ball(lines: Lines, name: str) -> Iterator[str]:
    """The feed whose ball a feed has, if it or one that it is like says so."""
    names = [name]
    for one in names:
        line, head = lines[one]
        yield from (child.sentence.feed.text for child in line.children if isinstance(child.sentence, s.Same))
        if head.like and head.like.text in lines and head.like.text not in names:
            names.append(head.like.text)
