"""The program: names, kinds and units resolved, everything in SI and in the court's frame (see plan.py)."""

from collections.abc import Collection, Iterator, Mapping
from functools import cached_property
from itertools import repeat
from typing import NamedTuple

from ...grammar import syntax as s
from ...grammar.frozen import Frozen, aside, replace
from ...grammar.source import Rows, Source, Span
from ...grammar.syntax import Line, Node
from ..physics.air import Air
from ..physics.ball import Ball
from ..physics.bounce import Surface
from .asked import BOUNDED as BOUNDED
from .asked import FLOWN_HIGH as FLOWN_HIGH
from .asked import SCATTERED as SCATTERED
from .asked import Best as Best
from .asked import Bound as Bound
from .asked import FixedBy as FixedBy
from .asked import Range as Range
from .asked import SomeSpin as SomeSpin
from .chance import Goal as Goal
from .court import Court
from .feeder import Feeder
from .feeder_place import FeederPlace as FeederPlace
from .player import NO_ROTATION, Player, Rotation
from .session import COLLECT_S as COLLECT_S
from .session import PART_REST_S as PART_REST_S
from .session import BlockRest as BlockRest
from .session import BroadGoal as BroadGoal
from .session import HitIf as HitIf
from .session import Hold as Hold
from .session import InARow as InARow
from .session import Item as Item
from .session import LadderRules as LadderRules
from .session import OwnServes as OwnServes
from .session import Pause as Pause
from .session import Play as Play
from .session import Rounds as Rounds
from .session import Score as Score
from .session import Session as Session
from .way import Wait


class Zone(Frozen):
    x: Range
    y: Range


class Given(Frozen):
    """An amount with a name: its value in words, such as "5 s", and whether one run set it to another amount
    than the script's."""

    words: str
    set: bool


class ReplyPlace(NamedTuple):
    """One of several places where a reply may land; None for what it does not say."""

    x: Range | None
    y: Range | None


class Reply(Frozen):
    words: str
    x: Range | None
    y: Range | None
    over_net: float | None
    """At least; `under` at most."""
    topspin: float | None
    sidespin: float | None
    pace: float | None
    """As stated; None if it is free between `slowest` and `fastest`."""
    under: float | None
    slowest: float | None
    fastest: float | None
    sentence: s.Reply = aside()
    wishes: Mapping[str, s.Wish] = aside()
    """What says each of the above; spin says both spins."""

    @property
    def span(self) -> Span:
        return self.sentence.span

    places: tuple[ReplyPlace, ...] = ()
    """Where a line names several, of which it may land in any; `x` and `y` then say what holds all of them."""

    @property
    def each(self) -> tuple["Reply", ...]:
        """The reply to each of its places."""
        return tuple(replace(self, x=at.x or self.x, y=at.y or self.y, places=()) for at in self.places) or (self,)

    @property
    def course(self) -> s.Landing | None:
        """What says that it goes crosscourt or down the line."""
        said = self.wishes.get("x")
        return said if isinstance(said, s.Landing) else None


class Variation(Frozen):
    name: str
    title: str
    when: str | None
    reply: Reply | None
    goal: Goal | None
    """Within one block."""
    notes: tuple[str, ...]
    span: Span = aside()
    broad: BroadGoal | None = None
    """Over all balls of the session, or of each player."""
    asked: s.Goal | None = aside(default=None)
    """What says its goal."""
    stroke: s.Stroke | None = None
    """With which stroke the balls that aim at it are met."""
    hit_if: tuple[HitIf, ...] = ()


class Feed(Frozen):
    """One kind of ball. `depth` is None on the full, where `contact_height` is the height asked at the stance."""

    name: str
    """The script's name; of a family's member with its number, of a ladder's rung with the rung's."""
    family: str
    """The script's name."""
    variation: str | None
    side: Range
    depth: Range | None
    stance: float
    fixed_by: FixedBy
    value: float
    phase: str | None
    contact_height: float | None
    topspin: float
    sidespin: float
    interval: float
    between_contacts: bool
    """Whether the interval runs from contact to contact, or from launch to launch."""
    arc: str | None
    words: Mapping[str, str]
    notes: tuple[str, ...]
    span: Span = aside()
    said: Mapping[str, Node] = aside()
    """What says each attribute: a line of the feed, or of the one it came from."""
    line: Line = aside()
    """The feed's own line in the script, with the lines under it."""
    elements: frozenset[str] = frozenset()
    """Attributes that one element of a list says, or a line with several steps, and not a line alone."""
    bounds: tuple[Bound, ...] = ()
    best: Best | None = None
    """What there is to be most or least of; `fixed_by` and `value` are then what came of it."""
    fixes: tuple[tuple[FixedBy, float], ...] = ()
    """Everything that its lines fix, SI; `fixed_by` and `value` are the first of it."""
    free: frozenset[str] = frozenset()
    """Those of depth, stance, spin, height on the full and height over net that its lines leave open; the last is then
    an ordinary one."""
    down: Range | None = None
    """Of a ball on the full: where it would come down if nobody met it, if a line says that."""
    between: Range | None = None
    """Of a ball on the full whose height is left open: between which heights it is met, and their middle."""
    player: str = ""
    """Who plays it."""
    bounces: tuple[int, int] = (1, 1)
    """After how many bounces, at least and at most, a ball that is not on the full may be met."""
    start: tuple[float, float | None] | None = None
    """Where the player waits for it, x and y, if a line says so; without y as far back as it is met."""
    topped: bool = False
    """Whether it is met at the top of its bounce, because it never comes as high as the player stands for."""
    behind: float | None = None
    """How far behind its bounce along the court it is met, m, where a line says so; the stance is then left open."""
    same_as: "Feed | None" = None
    """The feed whose ball it is, met elsewhere, of a feed that says so."""
    stroke: str = ""
    """Forehand or backhand, where a line of it or of its variation says which; else the place decides it."""
    goes: Range | None = None
    """To which half the reply goes, where its variation says that from where the ball is met."""
    place: FeederPlace | None = None
    """From where it is fed, where a line says so; else from where the head says."""
    wait: Wait | None = None
    """As `start`, with the player's reach, of a feed that says it, or on the centre of one whose way has a bound."""

    @property
    def open(self) -> bool:
        """Whether there is more to find than the launch."""
        return self.best is not None or bool(self.free)

    @property
    def bounded(self) -> tuple[Bound, ...]:
        """Its bounds without those of which no line says how much."""
        return tuple(bound for bound in self.bounds if not bound.estimated)

    @property
    def placed_anew(self) -> bool:
        """Whether with another line such a ball is looked for anew, and comes to another place."""
        return bool(self.free) and self.best is None

    @property
    def where(self) -> s.Where | None:
        """What says the stance, if a line says it by the height of the ball."""
        said = self.said.get("stance")
        place = said.choices[0] if isinstance(said, s.Stance) else said
        return place if isinstance(place, s.Where) else None

    @property
    def met_at_height(self) -> bool:
        """Whether the player stands where the ball is at a height, which then says nothing else of its flight."""
        return "stance" in self.free and self.behind is None

    @property
    def follows(self) -> bool:
        """Whether the player stands where the ball is at a height: a line says so, or none says where."""
        return self.depth is not None and (self.where is not None or "stance" not in self.said)

    @property
    def stands(self) -> tuple[Bound, ...]:
        """The bounds of where the player stands."""
        return tuple(bound for bound in self.bounds if bound.what is FixedBy.STANCE)

    @property
    def ways(self) -> tuple[Bound, ...]:
        """The bounds of the way to it."""
        return tuple(bound for bound in self.bounds if bound.what is FixedBy.WAY)

    @property
    def pinned(self) -> "Feed":
        """The ball that was found, as a feed that says all of it."""
        return replace(self, best=None, fixes=(), free=frozenset()) if self.open else self


class Point(Frozen):
    """Several balls that are played as one: feeds of the script, in their order."""

    name: str
    feeds: tuple[str, ...]
    serve: float | None
    """Seconds from the player's serve to the launch of the first ball; None without a serve."""
    after_miss: str
    """How it goes on after a missed ball: "goes on", "from the start" or "next point"."""
    notes: tuple[str, ...]
    span: Span = aside()
    serves: s.Serves | None = aside(default=None)
    """What says `serve`."""
    missed: s.Sentence | None = aside(default=None)
    """What says `after_miss`, where a line does."""
    whose: tuple[str, ...] = ()
    """Who gets each ball, where they are for different players."""
    won_with: int | None = None
    """How many of its balls have to be hits; None for all."""

    def fed(self, players: tuple[str, ...]) -> Iterator[tuple[str, tuple[str, ...]]]:
        """Its feeds, each with those who get it where these players play the block."""
        return zip(self.feeds, ((who,) for who in self.whose) if self.whose else repeat(players), strict=False)


class Program(Frozen):
    title: str
    source: Source
    court: Court
    ball: Ball
    air: Air
    surface: Surface
    player: Player
    feeder: Feeder
    """As its line in the script has it, with fewer balls than its hopper holds or raised."""
    profile: Feeder
    """The same as its profile has it."""
    place: FeederPlace
    seed: int
    variations: Mapping[str, Variation]
    feeds: Mapping[str, Feed]
    """Every distinct ball by name: members of families and rungs of ladders one by one."""
    families: Mapping[str, tuple[str, ...]]
    """The members of each feed of the script; most have one."""
    session: Session | None
    whole: bool
    """False if something could not be resolved; checks that count the whole practice are then skipped."""
    accepted: tuple[str, ...]
    """Codes of warnings that the script switches off; `accepts` has the lines that say it."""
    notes: tuple[str, ...]
    span: Span = aside()
    rows: Rows = aside(default=None)
    """Where the rows begin in which its places are."""
    decides: tuple[object, ...] = aside(default=())
    """All of its sentences and what else its balls depend on, without the words of notes."""
    uses: tuple[Source, ...] = ()
    """The scripts that this one uses, and those that they use."""
    given: Mapping[str, Given] = {}
    """The amounts with a name that stand somewhere in the script, by name."""
    points: Mapping[str, Point] = {}
    players: Mapping[str, Player] = {}
    """Those with names, in the order of the script; `player` is the first."""
    rotation: Rotation = NO_ROTATION
    accepts: Mapping[str, s.Accept] = aside(default={})
    laddered: frozenset[str] = frozenset()
    """The feeds of the script that a ladder names, also one that could not be read whole."""
    versions: Mapping[tuple[str, str], str] = {}
    """Of a ball that several play, for its name and each player's the ball that this player gets."""

    @cached_property
    def world(self) -> str:
        """Where and from where its balls fly, as a part of the key of what depends on it."""
        place = self.place.x, self.place.y, self.place.players_side
        return repr((self.ball, self.air, self.surface, self.court, self.bounces, self.feeder.key, place))

    @property
    def bounces(self) -> int:
        """The most that any of the players may let a ball bounce."""
        return 2 if any(player.two_bounces for player in (self.player, *self.players.values())) else 1

    def reply_to(self, feed: Feed) -> Reply | None:
        """What its variation asks of a ball, with the half that goes with this ball."""
        variation = self.variations.get(feed.variation or "")
        reply = variation.reply if variation else None
        return replace(reply, x=feed.goes) if reply and feed.goes else reply

    def seen_by(self, player: str) -> "Program":
        """The program with this player as the one who plays."""
        return self if player == self.player.name else replace(self, player=self.players[player])

    def place_of(self, feed: Feed) -> FeederPlace:
        """From where a ball is fed."""
        return feed.place or self.place

    def fed_from(self, place: FeederPlace | None) -> "Program":
        """The program with its feeder in that place, where there is one."""
        if place is None or place.there == self.place.there:
            return self
        return replace(self, place=place, feeder=replace(self.feeder, release_height_m=place.height))

    def from_each_place(self, feeds: Mapping[str, Feed]) -> "list[tuple[Program, dict[str, Feed]]]":
        """The program with its feeder in each place from which these are fed, and those that are; none if that is one
        place, and it is there."""
        there: dict[object, tuple[Program, dict[str, Feed]]] = {}
        for name, feed in feeds.items():
            place = feed.place or self.place
            there.setdefault(place.there, (self.fed_from(place), {}))[1][name] = feed
        return [] if there.keys() <= {self.place.there} else [*there.values()]

    def without(self, lost: Collection[str]) -> "Program":
        """The program without these balls, which nothing plays."""
        families = {
            name: left for name, of in self.families.items() if (left := tuple(ball for ball in of if ball not in lost))
        }
        return replace(self, feeds={n: f for n, f in self.feeds.items() if n not in lost}, families=families)

    def version(self, ball: str, player: str) -> str:
        """The ball that a player gets as this one."""
        return self.versions.get((ball, player), ball)

    def members(self, name: str) -> tuple[str, ...]:
        """The distinct balls of a feed of the script; a rung of a ladder is one by itself."""
        return self.families.get(name, (name,))

    def called(self, name: str) -> str:
        """What the script calls a share of a block: one with an interval of its own, or a rung, is still its feed."""
        return name if name in self.points else self.feeds[self.members(name)[0]].family

    def balls(self, name: str) -> tuple[str, ...]:
        """The feeds of a share of a block in their order: those of a point, or the one feed."""
        return self.points[name].feeds if name in self.points else (name,)

    def served(self, name: str) -> float:
        """Seconds by which the first ball of a share comes after the player's serve; 0 without one."""
        return (self.points[name].serve or 0.0) if name in self.points else 0.0

    def members_of(self, name: str, players: tuple[str, ...] = ()) -> tuple[str, ...]:
        """The distinct balls of a share of a block, as these players get them."""
        fed = self.points[name].fed(players) if name in self.points else ((name, players),)
        found = [(member, who or ("",)) for feed, who in fed for member in self.members(feed)]
        return tuple(self.version(member, player) for member, who in found for player in who)

    @cached_property
    def fed(self) -> frozenset[str]:
        """The distinct balls that the session plays; all where there is no session."""
        if self.session is None:
            return frozenset(self.feeds)
        return frozenset(b for play in self.session.plays for share in play.shared for b in self.members_of(*share))

    @property
    def played(self) -> frozenset[str]:
        """The feeds of the script that the session plays."""
        plays = self.session.plays if self.session else ()
        return frozenset(self.called(feed) for play in plays for _, name in play.shares for feed in self.balls(name))
