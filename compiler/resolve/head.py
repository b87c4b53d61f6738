"""The head of a script: court, surface, ball, player, feeder and its place, air, seed."""

from dataclasses import dataclass, replace
from math import inf

from ...grammar.source import Span
from ...grammar.syntax import Line, Node
from ..model.court import Court, courts
from ..model.feeder import Feeder, ProfileProblem, Profiles
from ..model.player import BODY_SHARES, Player
from ..model.program import Post, Range
from ..physics.air import Air, density
from ..physics.ball import BALLS, Ball, prepared
from ..physics.bounce import SURFACES, Surface, restitution, surface_of_pace
from ..report.finding import Finding
from .amounts import Desk, Slip, count, one_of, plain, quantity
from .places import Ground

YOUNGEST_ADULT_STATURE = 1.45  # below it the shares of adults mislead; own choice
AT_NET_M = 3.0
"""Where a feeder on the player's side stands when nothing is said: between net and landing, common practice."""
PACES = ("slow", "medium-slow", "medium", "medium-fast", "fast")


@dataclass(slots=True)
class Head:
    """What holds for the whole script; None where it could not be settled."""

    court: Court | None = None
    surface: Surface | None = None
    ball: Ball | None = None
    player: Player | None = None
    feeder: Feeder | None = None
    post: Post | None = None
    air: Air | None = None
    seed: int = 0
    notes: tuple[str, ...] = ()


def read_head(program: Line, desk: Desk, profiles: Profiles) -> Head:
    lines: dict[str, Line] = {}
    broken = any(child.node is None for child in program.children)
    for child in program.children:
        if child.kind in lines and child.kind not in ("note", "given"):
            desk.add(Finding("said-twice", child.span, {"what": child.kind}, (("first here", lines[child.kind].span),)))
        lines.setdefault(child.kind, child)

    def node(kind: str, needed: bool = False) -> Node | None:
        line = lines.get(kind)
        if needed and line is None and not broken:
            desk.add(Finding("head-incomplete", program.span, {"what": kind}))
        return line.node if line else None

    court_node, ceiling_node = node("court"), node("ceiling")
    ball_node, surface_node = node("ball"), node("surface", True)
    court = desk.read(lambda: _court(court_node, ceiling_node))
    ball = BALLS["type 2"] if ball_node is None else desk.read(lambda: _ball(ball_node))
    surface = desk.read(lambda: _surface(surface_node)) if surface_node else None
    player = _player(node("player", True), node("body"), desk)
    air_node, seed_node, feeder_node = node("air"), node("seed"), node("feeder", True)
    air = Air(density(20.0, 0.0)) if air_node is None else desk.read(lambda: _air(air_node))
    if surface and ball and air:
        livelier = restitution(surface, ball, air.temperature_c)
        surface = Surface(surface.name, surface.friction, min(livelier, 1.0), surface.grip)
    feeder = desk.read(lambda: _feeder(feeder_node, profiles)) if feeder_node else None
    post = None
    if feeder_node and court and player:
        ground = Ground(court, player)
        post = desk.read(lambda: _post(feeder_node, ground))
    seed = desk.read(lambda: count(seed_node.words("NUMBER")[0], "seed")) if seed_node else 1
    return Head(court, surface, ball, player, feeder, post, air, seed or 0, notes(program))


def sound(line: Line) -> bool:
    """Whether a line and all under it could be read."""
    return line.node is not None and all(sound(child) for child in line.children)


def notes(line: Line) -> tuple[str, ...]:
    return tuple(
        title.text[1:-1] for c in line.children if c.node and c.kind == "note" for title in c.node.words("TITLE")
    )


def _court(node: Node | None, ceiling: Node | None) -> Court:
    court = courts(False)["singles"]
    if node:
        name, known = node.words("NAME")[0], courts(node.has("STICKS"))
        court = known[one_of(name.text, name.span, known, "court")]
    if ceiling and (amount := ceiling.node("quantity")):
        court = replace(court, ceiling=quantity(amount, "ceiling"))
    return court


def _surface(node: Node) -> Surface:
    if node.has("FRICTION"):
        words = node.words("NUMBER")
        whats = ("friction", "restitution", "grip")
        values = [plain(word, what, whole=False) for word, what in zip(words, whats, strict=False)]
        return Surface("as given", *values)
    name = node.words("NAME")[0]
    if node.has("PACE"):
        return surface_of_pace(one_of(name.text, name.span, PACES, "pace category"))
    paced = [f"pace {pace}" for pace in PACES]
    return SURFACES[one_of(name.text, name.span, SURFACES, "surface", paced)]


def _ball(node: Node) -> Ball:
    number = node.word("NUMBER")
    kind = "stage" if node.has("STAGE") else "type"
    name = f"{kind} {count(number, f'ball {kind}')}" if number else "high altitude"
    states = {word.text: word for word in node.words("NAME")}
    for text, word in states.items():
        one_of(text, word.span, ("new", "worn", "pressurised", "pressureless"), "state of a ball")
    return prepared(BALLS[name], pressurised="pressureless" not in states, worn="worn" in states)


def _player(node: Node | None, body: Node | None, desk: Desk) -> Player | None:
    if node is None:
        return None

    def read() -> Player:
        found: dict[str, object] = {"stature": None}
        spans: dict[str, Span] = {}
        for trait in node.nodes("trait"):
            amount, number = trait.node("quantity"), trait.word("NUMBER")
            if trait.has("RIGHT_HANDED", "LEFT_HANDED"):
                key, value = "hand", ("right" if trait.has("RIGHT_HANDED") else "left")  # type: tuple[str, object]
            elif trait.has("TALL") and amount:
                key, value = "stature", quantity(amount, "stature")
            elif trait.has("REACH") and amount:
                key, value = "reach", quantity(amount, "reach")
            elif trait.has("REPLY") and amount:
                key, value = "reply_limit", quantity(amount, "pace limit")
            elif trait.has("TAKING_TURNS") and number:
                key, value = "in_line", count(number, "players")
            elif trait.has("CHANGING_EVERY") and number:
                key, value = "rotate_every", count(number, "balls")
            else:
                key, value = "two_bounces", True
            if key in spans:
                what = key.replace("_", " ")
                raise Slip("said-twice", trait.span, (("first here", spans[key]),), what=f"the player's {what}")
            found[key], spans[key] = value, trait.span
        if "hand" not in found:
            raise Slip("hand-missing", node.span)
        heights = {}
        for part in body.nodes("part") if body else ():
            name, amount = part.words("NAME")[0], part.node("quantity")
            assert amount
            heights[one_of(name.text, name.span, BODY_SHARES, "body height")] = quantity(amount, "body height")
        return Player(**found, body=heights)  # type: ignore[arg-type]

    player = desk.read(read)
    if player and not body and (player.stature or inf) < YOUNGEST_ADULT_STATURE:
        desk.add(Finding("adult-heights", node.span, {"stature": f"{player.stature:.2f} m"}), breaks=False)
    return player


def _air(node: Node) -> Air:
    temperature, altitude, humidity = 20.0, 0.0, 0.5
    wind = (0.0, 0.0, 0.0)
    for weather in node.nodes("weather"):
        amount = weather.node("quantity")
        assert amount
        if weather.has("ALTITUDE"):
            altitude = quantity(amount, "altitude")
        elif weather.has("HUMIDITY"):
            humidity = quantity(amount, "humidity")
        elif weather.has("WIND"):
            speed, origin = quantity(amount, "wind"), weather.words("NAME")[0]
            # Seen by the player: from the left blows towards -x, from behind towards the net.
            ways = {"left": (-1, 0), "right": (1, 0), "behind": (0, -1), "ahead": (0, 1)}
            x, y = ways[one_of(origin.text, origin.span, ways, "wind direction")]
            wind = (wind[0] + x * speed, wind[1] + y * speed, 0.0)
        else:
            temperature = quantity(amount, "temperature")
    return Air(density(temperature, altitude, humidity), wind, temperature)


def _feeder(node: Node, profiles: Profiles) -> Feeder:
    name = node.words("NAME")[0]
    try:
        feeder = profiles.load(name.text)
    except ProfileProblem as problem:
        raise Slip("profile-broken", name.span, name=name.text, why=str(problem)) from problem
    if feeder is None:
        one_of(name.text, name.span, profiles.names(), "feeder profile")
        raise AssertionError("a profile is listed and cannot be loaded")
    word = node.words("MACHINE", "PERSON")[0]
    if word.text != feeder.kind:
        raise Slip("feeder-kind", word.span, name=name.text, found=word.text, kind=feeder.kind)
    return feeder


def _post(node: Node, ground: Ground) -> Post:
    spots = node.nodes("spot")
    players_side = any(spot.has("ON_PLAYERS_SIDE") for spot in spots)
    along = AT_NET_M if players_side else ground.court.half_length
    x, y = Range(0.0, 0.0, 0.0), Range(along, along, along)
    for spot in spots:
        distance, offset = spot.node("distance"), spot.node("offset")
        if distance:
            y = ground.distance(distance, zone=False)
        elif offset:
            x = ground.offset(offset, zone=False)
        if x.low != x.high or y.low != y.high:
            raise Slip("range-not-here", spot.span, what="the feeder's place")
    words = ", ".join(spot.span.text for spot in spots) or "on centre, on baseline"
    if players_side and not any(spot.node("distance") for spot in spots):
        words = f"{words}, {AT_NET_M:g} m from net"
    place = y.aim if players_side else -y.aim
    return Post(x.aim, place, players_side, any(s.has("BEHIND_A_SCREEN") for s in spots), words, node.span)
