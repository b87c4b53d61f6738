"""Feeds: own lines over inherited ones, and what fixes the flight."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeVar

from ..model.player import BODY_SHARES
from ..model.program import Aim, Feed, Range, Zone
from ..model.tree import Line, Node, Word
from ..parse import DEEPEST
from ..report.finding import Finding
from ..source import Span
from .amounts import Desk, Slip, one_of, quantity, single
from .head import notes, sound
from .places import Ground
from .spins import spin_of

T = TypeVar("T")

# Lines of which a flight needs exactly one, beside place and spin. `contact` is the height of a ball on the full.
FIXING = ("net height", "bounce height", "pace", "time")
NEEDED = ("side", "depth", "stance", "spin", "interval")


@dataclass(frozen=True, slots=True)
class FeedReader:
    desk: Desk
    ground: Ground
    zones: Mapping[str, Zone | None]
    variation_names: tuple[str, ...]
    lines: Mapping[str, Line]
    """Every feed that the script opens, by name."""
    unread: tuple[str, ...] = ()
    """Feeds whose opening line could not be read."""
    read: dict[str, Feed | None] = field(default_factory=dict)

    def feed(self, name: str) -> Feed | None:
        """The settled feed, or None where it cannot be; each is settled once."""
        if name not in self.read:
            self.read[name] = None
            self.read[name] = self.desk.read(lambda: self._feed(name))
        return self.read[name]

    def _feed(self, name: str) -> Feed | None:
        line = self.lines[name]
        chain, broken = self._chain(name)
        slots: dict[str, Node] = {}
        inherited: dict[str, Node] = {}
        for link in reversed(chain):
            inherited = dict(slots)
            own, harmed = self._own(link, quiet=link is not line)
            broken = broken or harmed
            _inherit(slots, own)
        aims = next((word for link in chain for word in _named_by(link, "AIMS")), None)
        variation = aims.text if aims else None
        if aims and variation not in self.variation_names:
            if line.span.start <= aims.span.start < line.span.end:  # told once, where it is written
                self.desk.read(lambda: one_of(aims.text, aims.span, self.variation_names, "variation"))
            variation = None
        feed = self._settle(line, slots, variation)  # before anything else, so that every line's own slip is told
        if broken or not self._complete(line, slots, inherited) or feed is None:
            self.desk.whole = False
            return None
        return feed

    def _chain(self, name: str) -> tuple[list[Line], bool]:
        """The feed and those it is like, own one first; and whether one of them could not be read."""
        chain, names = [self.lines[name]], [name]
        while True:
            like = next(_named_by(chain[-1], "LIKE"), None)
            if like is None or like.text in self.unread:
                return chain, like is not None
            if like.text in names:
                raise self._circle(names[names.index(like.text) :])
            if len(chain) == DEEPEST and like.text in self.lines:
                self._deep(chain[0], self.lines[like.text])
                return chain, True
            if like.text not in self.lines:
                one_of(like.text, like.span, [n for n in self.lines if n != names[-1]], "feed")
            chain.append(self.lines[like.text])
            names.append(like.text)

    def _deep(self, line: Line, last: Line) -> None:
        """Told of the first feed that goes too deep, not again of those that are like it."""
        if not any(_named_by(last, "LIKE")):
            facts = {"what": "feeds are like one another", "limit": str(DEEPEST)}
            self.desk.add(Finding("too-deep", next(_named_by(line, "LIKE")).span, facts))

    def _circle(self, names: list[str]) -> Slip:
        """Told from the first of them in the script on, whichever led here."""
        first = next(i for line in self.lines for i, name in enumerate(names) if name == line)
        names = [*names[first:], *names[:first], names[first]]
        like = next(_named_by(self.lines[names[0]], "LIKE"))
        return Slip("like-circle", like.span, chain=" like ".join(names))

    def _own(self, line: Line, quiet: bool) -> tuple[dict[str, Node], bool]:
        """The lines of one feed by slot, and whether one of them could not be read or stands twice."""
        own: dict[str, Node] = {}
        broken = False
        for child in line.children:
            broken = broken or not sound(child)
            if child.node is None:
                continue
            if child.kind != "note":
                slot = _slot(child.node)
                if slot in own:
                    broken = True
                    if not quiet:
                        self.desk.add(
                            Finding("said-twice", child.span, {"what": child.kind}, (("first here", own[slot].span),))
                        )
                own.setdefault(slot, child.node)
        return own, broken

    def _complete(self, line: Line, slots: Mapping[str, Node], inherited: Mapping[str, Node]) -> bool:
        """Place, spin and rhythm are there, and exactly one line fixes the flight. What the feed it is like lacks too
        is told there."""
        full, into, missing = "contact" in slots, slots.get("into"), _missing(slots)
        told = bool(inherited) and set(missing) <= set(_missing(inherited))
        fixing = [slot for slot in FIXING if slot in slots]
        clashes = [slots[s] for s in ("side", "depth") if s in slots] if into else []
        if clashes:
            self._clash(clashes[0].span, into.span if into else clashes[0].span, "a zone gives side and depth already")
        elif full and "depth" in slots:
            self._clash(slots["depth"].span, slots["contact"].span, "a ball on the full does not land before contact")
        elif missing:
            facts = {"what": ", ".join(missing), "name": _name(line)}
            if not told:
                self.desk.add(Finding("feed-incomplete", _head(line), facts))
        elif not fixing:
            if inherited and not inherited.keys() & set(FIXING) and ("contact" in inherited) == full:
                return False
            wanted = "height over net, pace or time" if full else "height (over net or at the player), pace or time"
            self.desk.add(Finding("undetermined", _head(line), {"wanted": wanted, "name": _name(line)}))
        elif len(fixing) > 1:
            spans = sorted((slots[s].span for s in fixing), key=lambda span: span.start)
            self._clash(spans[1], spans[0], "each of these fixes the flight alone", *spans[2:])
        else:
            return True
        return False

    def _clash(self, span: Span, other: Span, why: str, *more: Span) -> None:
        also = (("together with this", other), *(("and this", span) for span in more))
        self.desk.add(Finding("overdetermined", span, {"why": why}, also))

    def _settle(self, line: Line, slots: Mapping[str, Node], variation: str | None) -> Feed | None:
        """Read every line that is there, noting each slip; a feed stands only where all that it needs could be read."""
        side, depth = self._place(slots)
        read = self._read
        stance = read(slots, "stance", self._stance)
        spin = read(slots, "spin", lambda node: spin_of(node.nodes("spins")[0]))
        interval = read(slots, "interval", lambda node: quantity(node.nodes("quantity")[0], "interval"))
        contact = read(slots, "contact", self._level)
        fixings = [read(slots, slot, self._fixing) for slot in FIXING if slot in slots]
        if (
            side is None
            or stance is None
            or spin is None
            or interval is None
            or not fixings
            or fixings[0] is None
            or (depth is None) == (contact is None)
        ):
            return None
        phase = slots["bounce height"].node("phase") if "bounce height" in slots else None
        return Feed(
            name=_name(line),
            variation=variation,
            side=side,
            depth=depth,
            stance=stance,
            aim=fixings[0][0],
            value=fixings[0][1],
            phase=phase.parts[0].span.text if phase else None,
            contact_height=contact,
            topspin=spin[0],
            sidespin=spin[1],
            interval=interval,
            arc=slots["arc"].words("LOW", "LOOPED")[0].text if "arc" in slots else None,
            words={_word(slot): node.span.text.split(None, 1)[1] for slot, node in slots.items()},
            notes=notes(line),
            span=_head(line),
            spans={_word(slot): node.span for slot, node in slots.items()},
        )

    def _read(self, slots: Mapping[str, Node], slot: str, reader: Callable[[Node], T]) -> T | None:
        """One line's value; None where the line is missing or has a slip, which is noted."""
        node = slots.get(slot)
        if node is None:
            return None

        def checked() -> T:
            _no_later_piece(node)
            return reader(node)

        return self.desk.read(checked)

    def _place(self, slots: Mapping[str, Node]) -> tuple[Range | None, Range | None]:
        def zone_of(node: Node) -> Zone | None:
            name = node.words("NAME")[0]
            return self.zones[one_of(name.text, name.span, self.zones, "zone")]

        if "into" in slots:
            zone = self._read(slots, "into", zone_of)
            return (zone.x, zone.y) if zone else (None, None)
        side = self._read(slots, "side", lambda node: self.ground.side(node.nodes("lateral")[0]))
        return side, self._read(slots, "depth", lambda node: self.ground.depth(node.nodes("place")[0]))

    def _fixing(self, node: Node) -> tuple[Aim, float]:
        if node.kind == "pace":
            return Aim.PACE, single(node.nodes("extent")[0], "pace")
        if node.kind == "time":
            return Aim.TIME, quantity(node.nodes("quantity")[0], "time to contact")
        level = node.nodes("level")[0]
        if node.has("OVER_NET"):
            height = level.node("extent")
            if height is None:
                raise Slip("height-over-net", level.span)
            return Aim.OVER_NET, single(height, "height over net")
        if level.has("TOP_OF_BOUNCE"):
            return Aim.TOP_OF_BOUNCE, 0.0
        return Aim.AT_PLAYER, self._level(node)

    def _level(self, node: Node) -> float:
        """A height at the player: of the ball's centre, in metres."""
        level = node.nodes("level")[0]
        word, height = level.word("NAME"), level.node("extent")
        if height:
            return single(height, "height at the player")
        if word is None:
            raise Slip("height-on-the-full", level.span)
        found = self.ground.player.height_of(one_of(word.text, word.span, BODY_SHARES, "body height"))
        if found is None:
            raise Slip("stature-missing", word.span, part=word.text)
        return found

    def _stance(self, node: Node) -> float:
        place = node.nodes("place")[0]
        distance = place.node("distance")
        if distance is None:
            raise Slip("stance-place", place.span)
        found = self.ground.distance(distance, zone=False)
        if found.low != found.high:
            raise Slip("range-not-here", place.span, what="stance")
        return found.aim


def _missing(slots: Mapping[str, Node]) -> list[str]:
    given = {"into": ("side", "depth"), "contact": ("depth",)}
    said = {*slots, *(slot for key, covered in given.items() if key in slots for slot in covered)}
    return [slot for slot in NEEDED if slot not in said]


def _slot(node: Node) -> str:
    if node.kind != "height":
        return node.kind
    phase = node.node("phase")
    if phase and phase.has("ON_THE_FULL"):
        return "contact"
    return "net height" if node.has("OVER_NET") else "bounce height"


def _word(slot: str) -> str:
    """The coach's word for a slot."""
    return {"net height": "height over net", "bounce height": "height", "contact": "height"}.get(slot, slot)


def _inherit(slots: dict[str, Node], own: Mapping[str, Node]) -> None:
    """Lay a feed's own lines over inherited ones: what fixes the flight replaces whatever fixed it before."""
    if own.keys() & set(FIXING):
        for slot in FIXING:
            slots.pop(slot, None)
    if "bounce height" in own or "depth" in own:
        slots.pop("contact", None)
    if "contact" in own:
        slots.pop("bounce height", None)
        slots.pop("depth", None)
    if "into" in own:
        slots.pop("side", None)
        slots.pop("depth", None)
    if {"side", "depth"} & own.keys():
        slots.pop("into", None)
    slots.update(own)


def _named_by(line: Line, keyword: str) -> Iterator[Word]:
    """The name behind a keyword of a feed's head."""
    parts = line.node.parts if line.node else ()
    return (name for word, name in pairwise(parts) if word.kind == keyword and isinstance(name, Word))


def _name(line: Line) -> str:
    assert line.node
    return line.node.words("NAME")[0].text


def _head(line: Line) -> Span:
    assert line.node
    return line.node.words("NAME")[0].span


def _no_later_piece(node: Node) -> None:
    """Sentences whose meaning is not computed yet are refused."""
    members = max(len(node.nodes(kind)) for kind in ("level", "place", "lateral", "spins", "extent"))
    listed = node.node("ways") or node.node("series") or any(level.node("series") for level in node.nodes("level"))
    if members > 1 or listed:
        raise Slip("not-yet", node.span, what="a list or so many ways, which makes a family of balls,")
    if node.has("BETWEEN_CONTACTS"):
        raise Slip("not-yet", node.span, what="an interval between contacts")
