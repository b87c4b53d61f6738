"""One ball of a family: a feed with one choice from each of its lines."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from ...grammar import syntax as s
from ...grammar.frozen import replace
from ...grammar.syntax import Line
from ..findings.feeds import BouncesOnTheFull, TogetherOfOne, TogetherUneven
from ..findings.names import Duplicate
from ..model.player import Player
from ..model.program import Best, Feed, FixedBy, SomeSpin
from .amounts import Rejected
from .bounds import agree
from .options import Option
from .slots import FIXING, word_of
from .spins import some_spin


class Family(NamedTuple):
    """One feed of the script: a single ball, or each of the balls that its lists and steps make."""

    name: str
    members: tuple[Feed, ...]

    @property
    def several(self) -> bool:
        return len(self.members) > 1


def said_by(lines: Mapping[str, tuple[Line, s.Feed]], name: str) -> Iterator[object]:
    """All that counts of the lines of a feed and of those that it is like."""
    names = [name]
    for one in names:
        line, head = lines[one]
        yield from line.said()
        others = (child.sentence.feed.text for child in line.children if isinstance(child.sentence, s.Same))
        names += [other for other in others if other in lines and other not in names]
        if head.like and head.like.text in lines and head.like.text not in names:
            names.append(head.like.text)


def member(base: Feed, choices: Iterable[tuple[str, Option]], name: str) -> Feed:
    """The feed with one option of each line."""
    found: dict[str, Any] = {}
    words, said, elements = dict(base.words), dict(base.said), set(base.elements)
    choices = list(choices)
    full = base.contact_height is not None or any(slot == "contact" for slot, _ in choices)
    for slot, option in choices:
        if slot == "depth" and full:
            found["down"] = option.value
        elif slot == "into":
            found["side"], found["depth"] = option.value.x, option.value.y
        elif slot == "spin":
            topspin, found["sidespin"] = option.value
            if isinstance(topspin, Best):
                found["best"], found["topspin"] = topspin, 0.0
            elif isinstance(topspin, SomeSpin):
                assert isinstance(option.node, s.Spins)
                found["topspin"], least = some_spin(topspin, option.node)
                found["bounds"] = *base.bounds, least
                agree(found["bounds"])
            else:
                found["topspin"], found["free"] = topspin, base.free - {"spin"}
        elif slot == "contact":
            found["contact_height"] = option.value[1]
        elif slot in FIXING:
            if isinstance(option.value, Best):
                found["best"] = option.value
            else:
                found.setdefault("fixes", []).append(option.value)
        else:
            found[slot] = option.value
        if not option.alone:
            words[word_of(slot)], said[word_of(slot)] = option.words, option.node
            elements.add(word_of(slot))
    best = found.get("best", base.best)
    # What decides the flight comes first; where the stance is open, a height at the player does not.
    fixes = sorted(
        (*base.fixes, *found.get("fixes", ())), key=lambda fix: base.met_at_height and fix[0] is FixedBy.AT_PLAYER
    )
    found["fixes"] = tuple(fixes)
    told = [fix for fix in fixes if not (base.met_at_height and fix[0] is FixedBy.AT_PLAYER)]
    if best:
        found["arc"] = None
    if told or best:
        flown = FixedBy.PACE if best and best.what is FixedBy.SPIN else best.what if best else FixedBy.PACE
        found["fixed_by"], found["value"] = told[0] if told else (flown, 0.0)
    return replace(base, **found, name=name, words=words, said=said, elements=frozenset(elements))


Choice = tuple[tuple[str, Option], ...]
"""Slots, each with one of its options."""


def choices(offers: Mapping[str, list[Option]], together: s.Sentence | None, own: bool) -> list[list[Choice]]:
    """What can be combined in every way: the options of each line, and those of a `together` line side by side, in the
    place of the last of them. Raises Rejected if their lists are not equally long, or if it is the feed's `own`
    line and there are no two."""
    side = [slot for slot in offers if isinstance(together, s.Together) and _named(together, slot)]
    lists = [slot for slot in side if len(offers[slot]) > 1]
    if isinstance(together, s.Together):
        lengths = {word_of(slot): len(offers[slot]) for slot in lists}
        (first, many), *rest = lengths.items() or [("", 0)]
        for line, others in rest:
            if others != many:
                raise Rejected(TogetherUneven(first, many, line, others), together.span)
        if own and len(lists) < 2:
            raise Rejected(TogetherOfOne(), together.span)
    axes: list[list[Choice]] = []
    for slot, offered in offers.items():
        if slot not in lists:
            axes.append([((slot, option),) for option in offered])
        elif slot == lists[-1]:
            rows = zip(*(offers[one] for one in lists), strict=True)
            axes.append([tuple(zip(lists, row, strict=True)) for row in rows])
    return axes


def _named(together: s.Together, slot: str) -> bool:
    return any(line.word.text == word_of(slot).split()[0] for line in together.lines)


def bounces_of(lines: Iterable[s.Sentence], player: Player) -> tuple[int, int]:
    """After how many bounces, at least and at most, the ball of these lines may be met. For a player with one bounce
    no ball is met after two: 2 and 1."""
    said = [(line, line.after) for line in lines if isinstance(line, s.Height | s.Stance) and line.after]
    if not said:
        return 1, 2 if player.two_bounces else 1
    _, first = said[0]
    for line, after in said:
        if after.kind != first.kind:
            raise Rejected(Duplicate("after"), after.span, (("first here", first.span),))
        if isinstance(line, s.Height) and line.phase and line.phase.on_the_full:
            raise Rejected(BouncesOnTheFull(), after.span)
    if first.kind == "AFTER_ONE_BOUNCE":
        return 1, 1
    return 2, 2 if player.two_bounces else 1


def way_of(lines: Iterable[s.Sentence]) -> str:
    """Which way the ball goes where it is met, "" where no line says it."""
    said = [
        line.phase.word for line in lines if isinstance(line, s.Height) and line.phase and not line.phase.on_the_full
    ]
    said += [line.met for line in lines if isinstance(line, s.HeightBound) and line.met]
    said += [line.where.way for line in lines if isinstance(line, s.Stance) and line.where and line.where.way]
    for way in said:
        if way.kind != said[0].kind:
            raise Rejected(Duplicate("rising or falling"), way.span, (("first here", said[0].span),))
    return said[0].text if said else ""


def freed(base: Feed, phase: str | None) -> Feed:
    """The feed without what decides its flight; an open stance stays at the height of the ball that it names."""
    gone = {"height over net", "height at the top", "pace", "time"} | ({"height"} if base.depth else set())
    words = {word: text for word, text in base.words.items() if word not in gone}
    said = {word: base.said[word] for word in words}
    kept = tuple(fix for fix in base.fixes if base.met_at_height and fix[0] is FixedBy.AT_PLAYER)
    return replace(base, phase=base.phase if kept else phase, words=words, said=said, best=None, fixes=kept)
