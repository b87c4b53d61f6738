"""The head of a script: court, surface, ball, player, feeder and its place, air, seed."""

from collections.abc import Iterator
from typing import TypeVar

from ...grammar import syntax as s
from ...grammar.edits import Edit, changed, instead
from ...grammar.facts import Metres
from ...grammar.finding import Finding
from ...grammar.frozen import Frozen, replace
from ...grammar.mistakes import near_names, opening
from ...grammar.source import Span
from ...grammar.syntax import Line, Word, sentences
from ..findings.head import (
    AdultHeights,
    FeederKind,
    HandMissing,
    HeadIncomplete,
    OneFeeder,
    PlayerNameless,
    ProfileBroken,
    TurnsOfNamed,
)
from ..findings.names import Duplicate
from ..model.court import Court, courts
from ..model.feeder import Feeder, ProfileProblem, Profiles
from ..model.player import (
    BODY_SHARES,
    LEVELS,
    NO_ROTATION,
    USUAL_LEVEL,
    YOUNGEST_ADULT_STATURE,
    Player,
    ReplyScatter,
    Rotation,
)
from ..model.program import FeederPlace
from ..physics.air import Air, density
from ..physics.ball import BALLS, Ball, prepared
from ..physics.bounce import PACES, SURFACES, Surface, in_play, surface_as_given, surface_of_pace
from .amounts import Rejected, Rejections, count, once, one_of, plain, quantity
from .places import Ground
from .stands import HeadFeeder, feeder_of, head_place

N = TypeVar("N", bound=s.Sentence)


class Head(Frozen):
    """What holds for the whole script; None for what could not be resolved."""

    court: Court | None = None
    surface: Surface | None = None
    ball: Ball | None = None
    player: Player | None = None
    """The first one."""
    feeder: Feeder | None = None
    """As its line has it."""
    place: FeederPlace | None = None
    air: Air | None = None
    seed: int = 0
    notes: tuple[str, ...] = ()
    players: tuple[Player, ...] = ()
    """Those with names."""
    rotation: Rotation = NO_ROTATION
    profile: Feeder | None = None
    """The feeder as its profile has it."""
    stands: HeadFeeder | None = None
    """Where it stands, as far as a line under balls does not say otherwise."""


def read_head(program: Line, rejections: Rejections, profiles: Profiles) -> Head:
    said: dict[str, Line] = {}
    unread = [opening(child.span.text)[0] for child in program.children if child.sentence is None]
    broken = bool(unread)
    # Nothing is aimed in a world of which a line could not be read, unless another line says the same.
    idle = ["note", "seed", *(child.kind for child in program.children if child.sentence is not None)]
    unknown = any(not near_names(word.lower(), idle) for word in unread)
    for child in program.children:
        if child.kind in said and child.kind not in ("", "note", "given", "limit", "player", "body"):
            hint = OneFeeder() if child.kind == "feeder" else None
            rejections.add(
                Finding(Duplicate(child.kind), child.span, (("first here", said[child.kind].span),), hint=hint)
            )
        said.setdefault(child.kind, child)

    def sentence(kind: type[N], needed: bool = False) -> N | None:
        """The first of its kind."""
        found = next((sentence for _, sentence in sentences(program.children, kind)), None)
        if needed and found is None and not broken:
            rejections.add(Finding(HeadIncomplete(kind.kind), program.span))
        return found

    court_line, ceiling = sentence(s.Court), sentence(s.Ceiling)
    ball_line, surface_line = sentence(s.Ball), sentence(s.Surface, True)
    court = rejections.read(lambda: _court(court_line, ceiling))
    ball = BALLS["type 2"] if ball_line is None else rejections.read(lambda: _ball(ball_line))
    surface = rejections.read(lambda: _surface(surface_line)) if surface_line else None
    sentence(s.Player, True)
    players = _players(program, rejections)
    player = players[0] if players else None
    turns = sentence(s.Rotation)
    rotation = rejections.read(lambda: _rotation(turns)) if turns else NO_ROTATION
    if player and rotation and player.in_line > 1:
        players = tuple(filter(None, [rejections.read(lambda: _in_line(players[0], rotation))]))
        player = players[0] if players else None
    air_line, seed_line, feeder_line = sentence(s.Air), sentence(s.Seed), sentence(s.Feeder, True)
    air = Air(density(20.0, 0.0)) if air_line is None else rejections.read(lambda: _air(air_line))
    air = None if unknown else air
    if surface and ball and air:
        surface = in_play(surface, ball, air)
    profile = rejections.read(lambda: _profile(feeder_line, profiles)) if feeder_line else None
    feeder = rejections.read(lambda: feeder_of(feeder_line, profile)) if feeder_line and profile else None
    if feeder:  # as this feeder's balls were seen to fly and bounce
        ball = ball and feeder.measured.ball(ball)
        surface = surface and feeder.measured.surface(surface)
    place = ground = None
    if feeder_line and court and player:
        ground = Ground(court, player)
        height = feeder.release_height_m if feeder else 0.0
        place = rejections.read(lambda: head_place(feeder_line, ground, height))
    seed = rejections.read(lambda: count(seed_line.number, "seed")) if seed_line else 1
    called = tuple(one for one in players if one.name)
    return Head(
        court,
        surface,
        ball,
        player,
        feeder,
        place,
        air,
        seed or 0,
        program.notes,
        called,
        rotation or NO_ROTATION,
        profile,
        HeadFeeder(ground, profile, place) if ground and profile and place else None,
    )


def _court(node: s.Court | None, ceiling: s.Ceiling | None) -> Court:
    court = courts(False)["singles"]
    if node:
        known = courts(node.net is not None and node.net.kind == "STICKS")
        court = known[one_of(node.name.text, node.name.span, known, "court")]
    if ceiling:
        court = replace(court, ceiling=quantity(ceiling.height, "ceiling"))
    return court


def _surface(node: s.Surface) -> Surface:
    match node:
        case s.SurfaceMeasured():
            words = (node.friction, node.restitution, *([node.grip] if node.grip else []))
            whats = ("friction", "restitution", "grip")
            values = [plain(word, what, whole=False) for word, what in zip(words, whats, strict=False)]
            return surface_as_given(*values)
        case s.SurfacePace(name):
            return surface_of_pace(one_of(name.text, name.span, PACES, "pace category"))
        case s.SurfaceNamed(name):
            paced = [f"pace {pace}" for pace in PACES]
            return SURFACES[one_of(name.text, name.span, SURFACES, "surface", paced)]
    raise AssertionError(node)


def _ball(node: s.Ball) -> Ball:
    kind = node.sort.text if node.sort else "type 2"
    name = f"{kind} {count(node.number, f'ball {kind}')}" if node.number else kind
    kinds = {"new": "wear", "worn": "wear", "pressurised": "pressure", "pressureless": "pressure"}
    states: set[str] = set()
    spans: dict[str, Span] = {}
    for word in node.states:
        states.add(one_of(word.text, word.span, kinds, "state of a ball"))
        once(spans, f"the ball's {kinds[word.text]}", word.span)
    return prepared(BALLS[name], pressurised="pressureless" not in states, worn="worn" in states)


def _players(program: Line, rejections: Rejections) -> tuple[Player, ...]:
    """All players, each with the body line that is theirs; none if one of them could not be read."""
    lines = [node for _, node in sentences(program.children, s.Player)]
    names = [next((trait.name for trait in node.traits if isinstance(trait, s.Called)), None) for node in lines]
    first: dict[str, Span] = {}
    for node, name in zip(lines, names, strict=True):
        if name is None and len(lines) > 1:
            rejections.add(Finding(PlayerNameless(), node.span, (("another player", lines[node is lines[0]].span),)))
            return ()
        if name and name.text in first:
            again = Duplicate(f"player {name.text}")
            rejections.add(Finding(again, name.span, (("first here", first[name.text]),)))
            return ()
        if name:
            first[name.text] = name.span
    bodies: dict[str, s.Body] = {}
    for _, body in sentences(program.children, s.Body):
        of = body.of.text if body.of else next(iter(first), "") if len(lines) == 1 else ""
        if body.of:
            rejections.read(lambda: one_of(of, body.of.span, first, "player"))  # type: ignore[union-attr] # noqa: B023
        elif len(lines) > 1:
            rejections.add(Finding(PlayerNameless(), body.span))
        if of in bodies:
            rejections.add(Finding(Duplicate("body"), body.span, (("first here", bodies[of].span),)))
        bodies.setdefault(of, body)
    read = [
        _player(node, bodies.get(name.text if name else ""), len(lines) > 1, rejections)
        for node, name in zip(lines, names, strict=True)
    ]
    found = tuple(player for player in read if player)
    if len(found) < len(lines):
        return ()
    return found


def _rotation(node: s.Rotation) -> Rotation:
    every = count(node.every, "balls") if node.every else 1 if node.balls else None
    return Rotation(every, quantity(node.changeover, "changeover") if node.changeover else 0.0, node)


def _in_line(player: Player, rotation: Rotation) -> Player:
    """Players in line take turns as their own line says, or the rotation line."""
    if rotation.sentence and player.sentence and rotation.every and player.rotate_every:
        turn = next(trait for trait in player.sentence.traits if isinstance(trait, s.ChangingEvery))
        raise Rejected(Duplicate("changing every"), rotation.sentence.span, (("first here", turn.span),))
    change = rotation.changeover or player.changeover
    return replace(player, rotate_every=rotation.every or player.rotate_every, changeover=change)


def _player(node: s.Player, body: s.Body | None, several: bool, rejections: Rejections) -> Player | None:
    def read() -> Player:
        found: dict[str, object] = {"stature": None}
        spans: dict[str, Span] = {}
        for trait in node.traits:
            key, value = _trait(trait)
            if several and key in ("in_line", "rotate_every", "changeover"):
                raise Rejected(TurnsOfNamed(), trait.span)
            once(spans, f"the player's {key.replace('_', ' ')}", trait.span)
            found[key] = value
            if key == "scatter":
                found["level"] = trait.level.text if isinstance(trait, s.ScatterLevel) else None
        if "hand" not in found:
            raise Rejected(HandMissing(), node.span, remedies=tuple(_with_hand(node)))
        heights = {}
        for part in body.parts if body else ():
            name = one_of(part.name.text, part.name.span, BODY_SHARES, "body height")
            once(spans, f"the height of the {name}", part.span)
            heights[name] = quantity(part.height, "body height")
        return Player(**found, body=heights, sentence=node)  # type: ignore[arg-type]

    player = rejections.read(read)
    stature = player.stature if player and not body else None
    if stature is not None and stature < YOUNGEST_ADULT_STATURE:
        rejections.add(Finding(AdultHeights(Metres(stature)), node.span), breaks=False)
    return player


def _with_hand(node: s.Player) -> Iterator[Edit]:
    """The line with either hand, after the name."""
    named = sum(isinstance(trait, s.Called) for trait in node.traits)
    for kind in ("RIGHT_HANDED", "LEFT_HANDED"):
        hand = s.Hand(Word(kind, kind.lower().replace("_", "-")))
        yield instead(node, changed(node, traits=(*node.traits[:named], hand, *node.traits[named:])))


def _trait(trait: s.Trait) -> tuple[str, object]:
    """The field of `Player` and its value."""
    match trait:
        case s.Called(name):
            return "name", name.text
        case s.Hand(word):
            return "hand", "right" if word.kind == "RIGHT_HANDED" else "left"
        case s.Tall(stature):
            return "stature", quantity(stature, "stature")
        case s.Reach(reach):
            return "reach", quantity(reach, "reach")
        case s.ReplyUpTo(pace):
            return "reply_limit", quantity(pace, "pace limit")
        case s.TwoBounces():
            return "two_bounces", True
        case s.TwoHandedBackhand():
            return "two_hands", True
        case s.TakingTurns(players):
            return "in_line", count(players, "players")
        case s.ChangingEvery(number):
            return "rotate_every", count(number, "balls") if number else 1
        case s.Changeover(time):
            return "changeover", quantity(time, "changeover")
        case s.ScatterLevel(level):
            return "scatter", LEVELS[one_of(level.text, level.span, LEVELS, "level of player")]
        case s.ScatterStated(parts):
            return "scatter", _scatter(parts)


def _scatter(parts: tuple[s.Deviation, ...]) -> ReplyScatter:
    """What is not said is as of the usual level."""
    found: dict[str, float] = {}
    spans: dict[str, Span] = {}
    for part in parts:
        what = part.of.text
        once(spans, f"the scatter in {what}", part.span)
        found[what] = quantity(part.amount, f"scatter in {what}")
    return replace(LEVELS[USUAL_LEVEL], **found)


def _air(node: s.Air) -> Air:
    found: dict[str, float] = {}
    spans: dict[str, Span] = {}
    for weather in node.weather:
        match weather:
            case s.Temperature(degrees):
                what, value = "the temperature", quantity(degrees, "temperature")
            case s.Altitude(height):
                what, value = "the altitude", quantity(height, "altitude")
            case s.SeaLevel():
                what, value = "the altitude", 0.0
            case s.Humidity(share):
                what, value = "the humidity", quantity(share, "humidity")
            case s.Wind(pace, origin):
                # As the player sees it: from the left blows towards -x, from behind towards the net.
                ways = {"left": ("across", -1), "right": ("across", 1), "behind": ("along", -1), "ahead": ("along", 1)}
                way, sign = ways[one_of(origin.text, origin.span, ways, "wind direction")]
                what, value = f"the wind {way} the court", sign * quantity(pace, "wind")
        once(spans, what, weather.span)
        found[what] = value
    wind = (found.get("the wind across the court", 0.0), found.get("the wind along the court", 0.0), 0.0)
    temperature, altitude = found.get("the temperature", 20.0), found.get("the altitude", 0.0)
    humidity = found.get("the humidity", 0.5)
    return Air(density(temperature, altitude, humidity), wind, temperature, altitude, humidity)


def _profile(node: s.Feeder, profiles: Profiles) -> Feeder:
    name = node.name
    try:
        feeder = profiles.load(name.text)
    except ProfileProblem as problem:
        raise Rejected(ProfileBroken(name.text, str(problem)), name.span) from problem
    if feeder is None:
        one_of(name.text, name.span, profiles.names(), "feeder profile")
        raise AssertionError("a profile is listed and cannot be loaded")
    if node.sort.text != feeder.kind:
        raise Rejected(FeederKind(name.text, node.sort.text, feeder.kind), node.sort.span)
    return feeder
