"""Feeds: own lines over inherited ones, and what decides the flight."""

from collections.abc import Mapping, Sequence
from functools import cached_property
from itertools import chain, product
from math import prod

from ...grammar import syntax as s
from ...grammar.edits import left_out
from ...grammar.facts import BallName, Names
from ...grammar.finding import Finding
from ...grammar.frozen import Frozen, own
from ...grammar.messages import TooDeep
from ...grammar.parse import DEEPEST
from ...grammar.print import text
from ...grammar.syntax import Line, Node, Word
from ..findings.bounds import MostOnTheFull, MostTwice, StanceFound
from ..findings.feeds import (
    FamilyTooLarge,
    FeedIncomplete,
    HeightOnTheFull,
    LikeCircle,
    Overdetermined,
    TopHasNoPhase,
    Undetermined,
)
from ..findings.names import Duplicate
from ..kept import Kept
from ..model.program import Bound, BroadGoal, Feed, FixedBy, Goal, Range, Zone
from . import options
from .amounts import Rejected, Rejections, launch_to_launch, one_of, quantity
from .bounds import agree, met_between, own_bounds
from .members import Family, bounces_of, choices, member, said_by, way_of
from .options import Option
from .places import Ground
from .same_ball import same_ball
from .slots import FIXING, ORDINARY_M, choosing, freeing, inherit, lacking, left_open, mosts, no_depth, slot_of, word_of
from .stands import HeadFeeder, stands_at

LARGEST_FAMILY = 60
NOWHERE = Range(0.0, 0.0, 0.0)
DOWN_BESIDE = "on the full, a depth needs a stated height over the net or at the top, a pace or a time"
ANY_STANCE = 12.0  # m, until the ball is found whose height says it
_FAMILIES: Kept[tuple[object, Family | None]] = Kept(1000)
"""By the script, the player and the name of the feed."""


class FeedReader(Frozen):
    rejections: Rejections
    ground: Ground
    zones: Mapping[str, Zone | None]
    variation_names: tuple[str, ...]
    lines: Mapping[str, tuple[Line, s.Feed]]
    """Every feed that the script opens, by name."""
    limits: tuple[Bound, ...] = ()
    """Bounds of the whole script."""
    unread: tuple[str, ...] = ()
    """Feeds whose opening line could not be read."""
    goals: Mapping[str, Goal | BroadGoal | None] = own(factory=dict)
    """What each variation asks for; without those that could not be read."""
    read: dict[str, Family | None] = own(factory=dict)
    ladders: dict[str, int] = own(factory=dict)
    feeder: HeadFeeder | None = None
    """Where the feeder stands, if the head says it."""
    extra: dict[str, Feed] = own(factory=dict)
    """Rungs, which the session adds to the balls."""

    @property
    def known(self) -> tuple[str, ...]:
        return (*self.lines, *self.unread)

    def feed(self, name: str) -> Family | None:
        """The resolved family, or None if it cannot be resolved; each is resolved once."""
        if name not in self.read:
            self.read[name] = None
            key = self.lines[name][0].span.source.name, self.ground.player.name, name
            said = tuple(said_by(self.lines, name))
            stands = any(isinstance(one, tuple) and isinstance(one[1], s.Stands) for one in said)
            read, inputs = self.rejections.read, (self._around, stands and self.feeder, *said)
            self.read[name] = self.rejections.again(_FAMILIES, key, inputs, lambda: read(lambda: self._feed(name)))
        return self.read[name]

    @cached_property
    def _around(self) -> tuple[object, ...]:
        """What a feed depends on beside lines of feeds."""
        limits = [(bound, bound.sentence.span) for bound in self.limits]
        return self.ground, self.zones, self.variation_names, self.unread, limits

    def _feed(self, name: str) -> Family | None:
        line, head = self.lines[name]
        chain, broken = self._chain(name)
        slots: dict[str, s.Sentence] = {}
        inherited: dict[str, s.Sentence] = {}
        for link, _ in reversed(chain):
            inherited = dict(slots)
            own, harmed = self._own(link, quiet=link is not line)
            broken = broken or harmed
            inherit(slots, own)
        aims = next((said.aims for _, said in chain if said.aims), None)
        variation = aims.text if aims else None
        if aims and variation not in self.variation_names:
            if aims is head.aims:  # reported once, where it is written
                self.rejections.read(lambda: one_of(aims.text, aims.span, self.variation_names, "variation"))
            variation = None
        if not broken and isinstance(same := slots.get("same"), s.Same):
            family = same_ball(self, chain, same, variation)
            self.rejections.whole = self.rejections.whole and family is not None
            return family
        feed = self._settle(line, head, slots, variation)  # before anything else, so each line reports its own finding
        if broken or not self._complete(head.name, slots, inherited, feed) or feed is None:
            self.rejections.whole = False
            return None
        return feed

    def _chain(self, name: str) -> tuple[list[tuple[Line, s.Feed]], bool]:
        """The feed and those it is like, own one first; and whether one of them could not be read."""
        chain, names = [self.lines[name]], [name]
        while True:
            like = chain[-1][1].like
            if like is None or like.text in self.unread:
                return chain, like is not None
            if like.text in names:
                raise self._circle(names[names.index(like.text) :])
            if len(chain) == DEEPEST and like.text in self.lines:
                self._deep(chain[0][1].like, self.lines[like.text][1])
                return chain, True
            if like.text not in self.lines:
                one_of(like.text, like.span, [n for n in self.lines if n != names[-1]], "feed")
            chain.append(self.lines[like.text])
            names.append(like.text)

    def _deep(self, like: Word | None, last: s.Feed) -> None:
        """Reported for the first feed that goes too deep, not again for those that are like it."""
        if like and not last.like:
            self.rejections.add(Finding(TooDeep("feeds are like one another", DEEPEST), like.span))

    def _circle(self, names: list[str]) -> Rejected:
        """Reported from the first of them in the script, whichever led here."""
        first = next(i for line in self.lines for i, name in enumerate(names) if name == line)
        names = [*names[first:], *names[:first], names[first]]
        like = self.lines[names[0]][1].like
        assert like
        return Rejected(LikeCircle(Names(names)), like.span)

    def _own(self, line: Line, quiet: bool) -> tuple[dict[str, s.Sentence], bool]:
        """The lines of one feed by slot, and whether one of them could not be read or appears twice."""
        own: dict[str, s.Sentence] = {}
        broken = False
        for child in line.children:
            broken = broken or any(child.unread())
            if child.sentence is None or isinstance(child.sentence, s.Note):
                continue
            slot = slot_of(child.sentence)
            if slot in own:
                broken = True
                if not quiet:
                    first = (("first here", own[slot].span),)
                    self.rejections.add(Finding(Duplicate(child.kind), child.span, first))
            own.setdefault(slot, child.sentence)
        return own, broken

    def _complete(
        self, name: Word, slots: Mapping[str, s.Sentence], inherited: Mapping[str, s.Sentence], family: Family | None
    ) -> bool:
        """Place, spin and rhythm are there, and as many lines decide the flight as there is to decide. What the feed it
        is like also lacks is reported there."""
        full, into, missing = "contact" in slots, slots.get("into"), lacking(slots)
        free = left_open(slots)
        most = mosts(slots)
        told = bool(inherited) and set(missing) <= set(lacking(inherited))
        fixing = [slot for slot in FIXING if slot in slots]
        clashes = [slots[slot] for slot in ("side", "depth") if slot in slots] if into else []
        if clashes:
            self._clash(name, "a zone already gives side and depth", clashes[0], into or clashes[0])
        elif no_depth(slots):
            self._clash(name, DOWN_BESIDE, slots["depth"], slots["contact"])
        elif full and not fixing and {"stance", "depth"} <= slots.keys():
            return True
        elif missing:
            if not told:
                self.rejections.add(Finding(FeedIncomplete(name.text, Names(missing)), name.span))
        elif len(most) > 1:
            twice, also = MostTwice(BallName(name.text)), (("together with this", most[0].span),)
            self.rejections.add(Finding(twice, most[1].span, also, tuple(left_out(line) for line in most)))
        elif full and isinstance(place := slots.get("stance"), s.Stance) and place.found:
            self.rejections.add(Finding(StanceFound(), place.span, (("together with this", slots["contact"].span),)))
        elif (free or most) and "arc" in slots:
            self._clash(name, "what is to be found here decides the arc too", slots["arc"], most[0] if most else name)
        elif free or most:
            return family is None or self._decided(name, slots, family)
        elif not fixing:
            if inherited and not inherited.keys() & set(FIXING) and ("contact" in inherited) == full:
                return False
            height = "height over net" if full else "height (over net or at the player)"
            self.rejections.add(Finding(Undetermined(name.text, Names((height, "pace", "time"))), name.span))
        elif len(fixing) > 1:
            order = [said.span for line, _ in self.lines.values() for one in line.children if (said := one.sentence)]
            first, second, *more = sorted((slots[slot] for slot in fixing), key=lambda line: order.index(line.span))
            self._clash(name, "each of these decides the flight alone", second, first, *more, freeing=freeing(slots))
        else:
            return True
        return False

    def _decided(self, name: Word, slots: Mapping[str, s.Sentence], family: Family) -> bool:
        """Whether the lines of each ball decide as much as there is to decide: the launch, and what is left open. Where
        the stance is, a height at the player says that."""
        for feed in family.members:
            flight = [what for what, _ in feed.fixes if not (feed.met_at_height and what is FixedBy.AT_PLAYER)]
            lines, wanted = len(flight) + (feed.best is not None), len(feed.free & {"depth", "spin"}) + 1
            if lines < wanted - ("spin" in feed.free) and feed.best is None:  # without a line more it is flat
                height = "height over net" if "contact" in slots else "height"
                lines_left = Names((height, "pace", "time", "the most or the least of one"))
                self.rejections.add(Finding(Undetermined(name.text, lines_left), name.span))
                return False
            wanted += "height" in feed.free  # which one more may decide
            if len(flight) > wanted or (lines > wanted and feed.best):
                first, *more, last = [slots[slot] for slot in FIXING if slot in slots]
                why = "without it the flight is decided already"
                self._clash(name, why, last, first, *more, freeing=freeing(slots))
                return False
        return True

    def _twice(self, offered: Sequence[Option]) -> None:
        """Reports a list that says the same value twice."""
        first: dict[object, Option] = {}
        for option in offered:
            same = first.setdefault(option.value, option)
            if same is not option:
                also = (("first here", same.node.span),)
                self.rejections.add(Finding(Duplicate(option.words), option.node.span, also))
                return

    def _clash(
        self, name: Word, why: str, line: Node, other: Node, *more: Node, freeing: Sequence[s.Sentence] = ()
    ) -> None:
        """One of these lines is too many; without one of `freeing` they may all stand. Feeds that inherit them all have
        the same fault, which is told once."""
        if any(isinstance(f.message, Overdetermined) and f.span is line.span for f in self.rejections.findings):
            return
        also = (("together with this", other.span), *(("and this", one.span) for one in more))
        spare = [*freeing, line, other, *more]
        remedies = tuple(left_out(one) for one in spare if isinstance(one, s.Sentence))
        self.rejections.add(Finding(Overdetermined(BallName(name.text), why), line.span, also, remedies))

    def _settle(
        self, line: Line, head: s.Feed, slots: Mapping[str, s.Sentence], variation: str | None
    ) -> Family | None:
        """Reads every line and notes each that is rejected. Returns the family of balls that lists and steps make, in
        every combination, or None if something it needs could not be read."""
        spot, rhythm, arc, waits = map(slots.get, ("stance", "interval", "arc", "starts"))
        free = left_open(slots)
        where = self._standing(spot.where) if isinstance(spot, s.Stance) and spot.where else None
        back, read = spot.behind if isinstance(spot, s.Stance) else None, self.rejections.read
        behind = read(lambda: quantity(back.amount, "distance behind the bounce")) if back else None
        within = read(lambda: self._bounds(slots))
        interval = read(lambda: launch_to_launch(rhythm)) if isinstance(rhythm, s.Interval) else None
        offers = {slot: self._offered(slots.get(slot)) for slot in choosing(slots, free)}
        met = read(lambda: (bounces_of(slots.values(), self.ground.player), way_of(slots.values())))
        start = read(lambda: self.ground.start(waits.spots)) if isinstance(waits, s.Starts) else None
        asked = slots.get("stroke")
        with_ = read(lambda: options.stroke_of(asked)) if isinstance(asked, s.Stroke) else ""
        stands, feeder = slots.get("stands"), self.feeder
        place = read(lambda: stands_at(stands, feeder)) if isinstance(stands, s.Stands) and feeder else None
        if (where is None and isinstance(spot, s.Stance) and spot.where) or interval is None:
            return None
        if (back and behind is None) or (stands and feeder and place is None):
            return None
        if within is None or met is None or (waits and not start) or with_ is None or not all(offers.values()):
            return None
        if "spin" not in slots and "spin" not in free:
            return None
        chosen = {slot: offered for slot, offered in offers.items() if offered}
        for offered in chosen.values():
            self._twice(offered)
        try:
            together = slots.get("together")
            axes = choices(chosen, together, any(child.sentence is together for child in line.children))
        except Rejected as rejected:
            self.rejections.add(rejected.finding)
            return None
        size = prod(len(axis) for axis in axes)
        if size > LARGEST_FAMILY:
            widest = max(chosen, key=lambda slot: len(chosen[slot]))
            self.rejections.add(Finding(FamilyTooLarge(size, LARGEST_FAMILY), slots[widest].span))
            return None
        name = head.name.text
        base = Feed(
            name=name,
            family=name,
            variation=variation,
            side=NOWHERE,
            depth=self.ground.anywhere if "depth" in free else None,
            stance=ANY_STANCE,
            fixed_by=FixedBy.PACE,
            value=0.0,
            phase=met[1] or None,
            between=(between := met_between(within, self.ground) if "height" in free else None),
            contact_height=between.aim if between else None,
            topspin=0.0,
            sidespin=0.0,
            interval=interval,
            between_contacts=isinstance(rhythm, s.Interval) and rhythm.between is not None,
            arc=arc.word.text if isinstance(arc, s.Arc) else None,
            words={
                word_of(slot): text(node.bar) if isinstance(node, s.Bound) else node.said
                for slot, node in slots.items()
                if not (slot == "contact" and "height" in free)
            },
            notes=line.notes,
            span=head.name.span,
            said={word_of(slot): node for slot, node in slots.items()},
            line=line,
            bounds=within,
            fixes=(
                *((where,) if where else ()),
                *(((FixedBy.OVER_NET, ORDINARY_M),) if "height over net" in free else ()),
            ),
            free=free,
            player=self.ground.player.name,
            behind=behind,
            bounces=met[0],
            start=start,
            stroke=with_,
            place=place,
        )
        members = tuple(
            member(base, chain(*choice), f"{name} {i}" if size > 1 else name)
            for i, choice in enumerate(product(*axes), start=1)
        )
        return Family(name, members)

    def _offered(self, node: s.Sentence | None) -> list[Option] | None:
        """What a line offers; None if the line is missing or rejected, which is noted."""
        return None if node is None else self.rejections.read(lambda: self._options(node))

    def _options(self, node: s.Sentence) -> list[Option]:
        match node:
            case s.Spin():
                return options.spins(node)
            case s.Side():
                return options.sides(node, self.ground)
            case s.Depth():
                return options.depths(node, self.ground)
            case s.Stance():
                return options.stances(node, self.ground)
            case s.Pace():
                return options.paces(node)
            case s.Time():
                return options.times(node)
            case s.Into(name):
                zone = self.zones[one_of(name.text, name.span, self.zones, "zone")]
                return [Option(zone, name.text, node, True)] if zone else []
            case s.Height(levels, _, _, phase, _):
                top = next((level for level in levels if isinstance(level, s.TopOfBounce)), None)
                most = next((level for level in levels if isinstance(level, s.Utmost)), None)
                if most and phase and phase.on_the_full and not node.place:
                    raise Rejected(MostOnTheFull(), most.span)
                if top and phase:
                    if phase.on_the_full:
                        raise Rejected(HeightOnTheFull(), top.span)
                    raise Rejected(TopHasNoPhase(), phase.span)
                return options.heights(node, self.ground)
        raise AssertionError(node)

    def _bounds(self, slots: Mapping[str, s.Sentence]) -> tuple[Bound, ...]:
        """Its own bounds and those of the whole script."""
        own = own_bounds(slots, self.ground)
        agree([*own, *self.limits])
        return (*own, *self.limits)

    def _standing(self, where: s.Where) -> tuple[FixedBy, float] | None:
        """The height of the ball where it is met; None if it could not be read, which is noted."""
        height = self.rejections.read(lambda: options.height_of(where.level, self.ground))
        return None if height is None else (FixedBy.AT_PLAYER, height)
