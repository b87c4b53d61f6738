"""What was read of one sentence -> its node: puts each word and each part of a rule into a field."""

from collections.abc import Callable
from functools import partial
from typing import Any

from . import syntax as s
from .frozen import replace
from .reader import Branch, Token
from .rule_parts import RuleParts
from .source import Span
from .syntax import Node, Word
from .terminals import KEYWORDS


def build(tree: Branch, line: Span) -> Any:
    """The node for what was read; `line` is the place of the sentence."""
    source, start = line.source, line.start
    parts: list[Any] = []
    for part in tree.parts:
        if isinstance(part, Branch):
            parts.append(build(part, line))
        else:
            parts.append(Word(part.kind, _plain(part)).at(Span(source, start + part.start, start + part.end)))
    rule = tree.rule
    if len(parts) == 1 and rule in _INLINE and type(parts[0]) is not Word:
        return parts[0]
    node = _RULES[rule](RuleParts(parts))
    return node.at(Span(source, parts[0].span.start, parts[-1].span.end))


def _plain(token: Token) -> str:
    """A keyword of several words gets one space between them, however it was written; one that says the same in other
    words gets the usual ones."""
    if token.kind in OTHERWISE:
        return KEYWORDS[token.kind]
    return " ".join(token.split()) if token.kind in SEVERAL_WORDS else str(token)


SEVERAL_WORDS = frozenset(kind for kind, text in KEYWORDS.items() if " " in text) | {"BASELINE", "CENTRE"}
"""Keywords that may hold spaces."""
AFTER, AMONG, AT = ("AFTER_ONE_BOUNCE", "AFTER_TWO_BOUNCES"), ("OF", "IN", "EVERY"), ("OVER_NET", "AT_THE_TOP")
OTHERWISE = frozenset({
    *AFTER, "BEHIND_BOUNCE", "BETWEEN_ROUNDS", "CROSSCOURT", "DOWN_THE_LINE", "NEXT_POINT", "ONE_SIDE", "SAME_AS",
})  # fmt: skip
"""Keywords that may be said in other words, such as `after the second bounce`."""
_INLINE = frozenset({
    "aimed", "amount", "bar", "extent", "lateral", "level", "place", "post", "speed", "spot", "standing", "weather",
    "wish",
})  # fmt: skip
"""Rules that add nothing to the one node they hold."""


def _quantity(p: RuleParts) -> Node:
    return s.GivenAmount(p.word("NAME")) if p.optional("GIVEN") else s.Quantity(p.word("NUMBER"), p.word("UNIT"))


def _bounds(p: RuleParts) -> Node:
    low, high = p.words("NUMBER")
    return s.Bounds(low, high, p.word("UNIT"))


def _distance(p: RuleParts) -> Node:
    line = p.optional("BASELINE", "SERVICE_LINE")
    if line is None:
        return s.FromNet(p.first, p.word("FROM_NET"))
    way = p.optional("INSIDE", "BEHIND")
    return s.FromLine(p.first, way, line) if way else s.OnLine(line)


def _row(p: RuleParts) -> Node:
    distances = p.first if isinstance(p.first, s.Series) else tuple(p.nodes)
    return s.Row(distances, p.optional("INSIDE", "BEHIND"), p.all[-1])


def _offset(p: RuleParts) -> Node:
    if p.first is None:
        return s.OnCentre(p.word("CENTRE"))
    centre = p.optional("OF_CENTRE", "TO_FOREHAND_SIDE", "TO_BACKHAND_SIDE")
    return s.FromCentre(p.first, p.optional("NAME"), centre) if centre else s.FromSideline(p.first, p.word("NAME"))


def _ball(p: RuleParts) -> Node:
    if not (state := p.optional("STATE")):
        return s.Ball(p.all[1], p.optional("NUMBER"), p.words("NAME"))
    return s.Ball(None, None, (Word("NAME", state.text).at(state.span), *p.words("NAME")))


def _lateral(p: RuleParts) -> Node:
    if len(p.nodes) == 2:
        return s.Across(*p.nodes)
    centre = p.optional("OF_CENTRE")
    return s.Within(p.first, centre) if centre else s.NamedSide(p.words("NAME"))


def _surface(p: RuleParts) -> Node:
    if p.optional("FRICTION"):
        return s.SurfaceMeasured(*p.words("NUMBER"))
    return (s.SurfacePace if p.optional("PACE") else s.SurfaceNamed)(p.word("NAME"))


def _trait(p: RuleParts) -> Node:
    match p.all[0].kind, p.all[-1].kind:
        case "CALLED", _:
            return s.Called(p.word("NAME"))
        case "RIGHT_HANDED" | "LEFT_HANDED", _:
            return s.Hand(p.all[0])
        case _, "TALL":
            return s.Tall(p.first)
        case "REACH", _:
            return s.Reach(p.first)
        case "REPLY", _:
            return s.ReplyUpTo(p.first)
        case "TWO_BOUNCES", _:
            return s.TwoBounces()
        case "TWO_HANDED_BACKHAND", _:
            return s.TwoHandedBackhand()
        case "SCATTER", _:
            return s.ScatterStated(tuple(p.nodes)) if p.nodes else s.ScatterLevel(p.word("NAME"))
        case "CHANGEOVER", _:
            return s.Changeover(p.first)
        case _, "TAKING_TURNS":
            return s.TakingTurns(p.all[0])
    return s.ChangingEvery(p.optional("NUMBER"), p.word("BALLS", "POINTS"))


def _post(p: RuleParts) -> Node:
    if way := p.optional("RAISED_TO", "LETS_GO_AT"):
        return s.Raised(way, p.first)
    return s.PlayersSide(side) if (side := p.optional("ON_PLAYERS_SIDE")) else s.Screen()


def _weather(p: RuleParts) -> Node:
    if p.optional("WIND"):
        return s.Wind(p.first, p.word("NAME"))
    if level := p.optional("SEA_LEVEL"):
        return s.SeaLevel(level)
    return {"ALTITUDE": s.Altitude, "HUMIDITY": s.Humidity}[p.all[0].kind](p.first)


def _wish(p: RuleParts) -> Node:
    if way := p.optional("AT_LEAST", "AT_MOST"):
        net = p.optional("OVER_NET")
        return s.Clearance(way, p.first, net) if net else s.PaceWithin(way, p.first)
    return s.OneOf(tuple(p.nodes))


def _reply(p: RuleParts) -> Node:
    """Spins with an `and` between them are said together; after a comma, or beside another wish, each stands alone."""
    wishes: list[Any] = []
    for i, node in enumerate(p.nodes):
        if not isinstance(node, s.Flat | s.MostSpin | s.Topspin | s.Backspin | s.Sidespin):
            wishes.append(node)
        elif i and isinstance(before := wishes[-1], s.Spins) and p.all[i].kind == "AND":
            wishes[-1] = s.Spins((*before.turns, node)).at(before.span.to(node.span))
        else:
            wishes.append(s.Spins((node,)).at(node.span))
    return s.Reply(tuple(wishes))


def _toward(p: RuleParts) -> Node:
    if middle := p.optional("DOWN_THE_MIDDLE"):
        return s.Toward(s.NamedSide((Word("NAME", "middle").at(middle.span),)).at(middle.span))
    if centre := p.optional("OF_CENTRE"):
        within = s.Within(p.first, centre)
        return s.Toward(within.at(p.word("WITHIN").span.to(centre.span)))
    if len(p.nodes) == 2:
        return s.Toward(s.Across(*p.nodes).at(p.nodes[0].span.to(p.nodes[1].span)))
    names = p.words("NAME")
    return s.Toward(s.NamedSide(names).at(names[0].span.to(names[1].span)) if names else p.first)


def _level(p: RuleParts) -> Node:
    if top := p.optional("TOP_OF_BOUNCE"):
        return s.TopOfBounce(top)
    return _most(p) if p.optional("LOWEST", "HIGHEST") else _bar(p)


def _most(p: RuleParts) -> Node:
    return s.Utmost(p.all[0])


def _time(p: RuleParts) -> Node:
    choices = p.but(s.Steps) or (s.Utmost(p.all[1]).at(p.all[1].span),)
    return s.Time(choices, p.optional("TO_CONTACT"), p.one(s.Steps))


def _bar(p: RuleParts) -> Node:
    return s.Name(_height_named(p.word("NAME")))


def _height_named(name: Word) -> Word:
    """The one word for a height that has two."""
    return Word(name.kind, "waist").at(name.span) if name.text == "belt" else name


def _where(p: RuleParts) -> Node:
    level = p.first or s.Name(_height_named(p.word("NAME"))).at(p.word("NAME").span)
    return s.Where(level, p.optional("RISING", "FALLING"))


def _bound(p: RuleParts) -> Node:
    kinds = {bound.kind: bound for bound in s.Bound.__subclasses__()}
    end = p.optional(*AT, "TO_CONTACT", "ON_THE_FULL", "RISING", "FALLING")
    return kinds[p.all[0].kind.lower()](p.all[1], p.first, end)


def _turned(p: RuleParts) -> Node:
    way, turn = p.optional("AT_MOST", "AT_LEAST"), p.optional("TOPSPIN", "BACKSPIN")
    assert way
    return s.SpinBound(way, p.first, None, turn)


def _limit(p: RuleParts) -> Node:
    way = p.optional("ABOVE", "BELOW")
    return s.Limit(s.Nothing(way, p.first).at(way.span.to(p.first.span)) if way else p.first)


def _turn(p: RuleParts) -> Node:
    kinds = {"TOPSPIN": s.Topspin, "BACKSPIN": s.Backspin}
    kind = p.all[0].kind
    if kind == "FLAT":
        return s.Flat()
    if kind == "MOST":
        return s.MostSpin(p.optional("TOPSPIN", "BACKSPIN"))
    if kind == "SIDESPIN":
        return s.Sidespin(p.first, p.all[-1])
    much = p.optional("MUCH")
    way = p.optional("TOPSPIN", "BACKSPIN")
    assert way
    return kinds[way.kind](s.Name(Word("NAME", much.text).at(much.span)).at(much.span) if much else p.first)


def _share(p: RuleParts) -> Node:
    walk = p.optional("IN_ORDER", "THERE_AND_BACK")
    number, of_each = p.optional("NUMBER"), p.optional("OF_EACH") is not None
    percent, whom = p.optional("PERCENT"), p.one(s.For)
    return s.Share(None if of_each else number, p.word("NAME"), walk, percent, whom, number if of_each else None)


def _order(p: RuleParts) -> Node:
    if not p.nodes:
        return _share(p)
    limits = tuple(node for node in p.nodes if isinstance(node, s.AtMost))
    return (s.Cycle if p.optional("CYCLE") else s.Mix)(p.but(s.AtMost), limits)


def _served(p: RuleParts) -> tuple[Any, Any, Any]:
    """What a block plays, for whom and until when. Who plays all of it was read as who plays its last share."""
    order, whom = p.nodes[-1 - sum(isinstance(node, s.For | s.Until) for node in p.nodes)], p.one(s.For)
    *others, last = (order,) if isinstance(order, s.Share) else (*order.shares, *order.limits)
    if whom is None and isinstance(last, s.Share) and last.whom and not any(share.whom for share in others):
        first, end = last.number or last.name, (last.walk or last.name).span
        whom, last = last.whom, replace(last, whom=None).at(first.span.to(end))
        order = replace(order, shares=(*others, last)).at(Span(end.source, order.span.start, end.end))
    return order, whom, p.one(s.Until)


def _until(p: RuleParts) -> s.Until:
    if p.optional("SCORE"):
        return s.Until(ends=p.words("NUMBER"), each=p.optional("EACH"))
    return s.Until(p.optional("NUMBER"), p.behind(*AMONG), p.optional("MISSES"), p.optional("EVERY"))


def _worth(p: RuleParts) -> s.Worth:
    row, misses = p.optional("IN_A_ROW"), p.optional("MISSES")
    return s.Worth(row or p.all[0], p.all[-1], p.all[0] if row else None, misses if misses is not p.all[0] else None)


def _height(p: RuleParts) -> s.Height:
    return s.Height(p.but(s.Steps, s.Phase), p.optional(*AT), p.one(s.Steps), p.one(s.Phase), p.optional(*AFTER))


def _pace(p: RuleParts) -> s.Pace:
    return s.Pace(p.but(s.Steps), p.one(s.Steps))


def _depth(p: RuleParts) -> s.Depth:
    return s.Depth(p.but(s.Steps), p.one(s.Steps))


def _spin(p: RuleParts) -> s.Spin:
    return s.Spin(tuple(p.nodes))


_RUNGS: dict[str, Callable[[RuleParts], Node]] = {
    "PACE": _pace, "TIME": _time, "HEIGHT": _height, "SPIN": _spin, "DEPTH": _depth,
}  # fmt: skip


def _alone(word: str, *kinds: type[s.Sentence]) -> dict[str, Callable[[RuleParts], Node]]:
    """Sentences that say one word."""
    return {kind.kind: partial(lambda kind, p: kind(p.word(word)), kind) for kind in kinds}


_RULES: dict[str, Callable[[RuleParts], Node]] = {
    **_alone("NAME", s.Accept, s.Zone, s.Into, s.Point, s.Same),
    **_alone("TITLE", s.Program, s.Use, s.Note, s.HitIf),
    **_alone("NUMBER", s.Seed),
    **{kind.lower(): rule for kind, rule in _RUNGS.items()},
    "court": lambda p: s.Court(p.word("NAME"), p.optional("DOUBLES_POSTS", "STICKS")),
    "ceiling": lambda p: s.Ceiling(p.first),
    "surface": _surface,
    "ball": _ball,
    "player": lambda p: s.Player(tuple(p.nodes)),
    "trait": _trait,
    "deviation": lambda p: s.Deviation(p.first, p.all[-1]),
    "body": lambda p: s.Body(tuple(p.nodes), p.optional("NAME")),
    "rotation": lambda p: s.Rotation(p.optional("NUMBER"), p.optional("BALLS", "POINTS"), p.first),
    "part": lambda p: s.BodyPart(_height_named(p.word("NAME")), p.first),
    "feeder": lambda p: s.Feeder(p.all[1], p.word("NAME"), tuple(p.nodes)),
    "stands": lambda p: s.Stands(tuple(p.nodes)),
    "spot": lambda p: s.Hopper(p.word("NUMBER"), p.word("BALLS")),
    "post": _post,
    "air": lambda p: s.Air(
        tuple(s.Temperature(n).at(n.span) if isinstance(n, s.Quantity | s.GivenAmount) else n for n in p.nodes)
    ),
    "weather": _weather,
    "limit": _limit,
    "given": lambda p: s.Given(p.word("NAME"), p.first),
    "side": lambda p: s.Side(p.but(s.Steps), p.one(s.Steps)),
    "stance": lambda p: s.Stance(p.but(s.Steps), p.one(s.Steps), p.optional(*AFTER)),
    "standing": lambda p: s.Way(*p.nodes),
    "together": lambda p: s.Together(tuple(p.nodes)),
    "line": lambda p: s.Name(p.all[0]),
    "where": _where,
    "behindbounce": lambda p: s.BehindBounce(p.first, p.word("BEHIND_BOUNCE")),
    **dict.fromkeys(("place", "amount"), lambda p: s.Name(p.word("NAME"))),
    "distance": _distance,
    "row": _row,
    "lateral": _lateral,
    "offset": _offset,
    "variation": lambda p: s.Variation(p.word("NAME"), p.word("TITLE")),
    "when": lambda p: s.When(p.word("FREE_TEXT")),
    "reply": _reply,
    "wish": _wish,
    "aimed": lambda p: s.Into(p.word("NAME")),
    "landing": lambda p: s.Landing(p.all[0]),
    "toward": _toward,
    "goal": lambda p: s.Goal(p.word("NUMBER"), p.behind("OF"), p.optional("IN_ALL"), p.optional("EACH")),
    "feed": lambda p: s.Feed(p.word("NAME"), p.behind("AIMS"), p.behind("LIKE")),
    "level": _level,
    **dict.fromkeys(("phase", "bounced"), lambda p: s.Phase(p.all[0])),
    "spins": lambda p: s.Spins(tuple(p.nodes)),
    "some": lambda p: s.Spins((s.SomeSpin(p.all[0]).at(p.all[0].span),)),
    "turn": _turn,
    "speed": _most,
    **dict.fromkeys(("bound", "reached", "way"), _bound),
    "turned": _turned,
    "bar": _bar,
    "interval": lambda p: s.Interval(p.nodes[0], p.optional("BETWEEN_CONTACTS"), p.nodes[1] if p.nodes[1:] else None),
    "arc": lambda p: s.Arc(p.all[1]),
    "starts": lambda p: s.Starts(tuple(p.nodes)),
    "stroke": lambda p: s.Stroke(p.word("NAME")),
    "serves": lambda p: s.Serves(p.nodes[-1], p.first if p.nodes[1:] else None),
    "plays": lambda p: s.Plays(tuple(p.nodes)),
    "missed": lambda p: s.Missed(p.word("IF_MISSED"), p.all[-1]),
    "won": lambda p: s.Won(p.word("NUMBER"), p.all[-1]),
    "session": lambda p: s.Session(p.word("TITLE"), p.first, p.optional("AT_MOST")),
    "timed": lambda p: s.Timed(p.first, *_served(p)),
    "counted": lambda p: s.Counted(p.word("NUMBER"), p.all[1], *_served(p)),
    "until": _until,
    "record": lambda p: s.ToBeat(p.word("NUMBER"), p.word("BALLS", "POINTS")),
    "score": lambda p: s.Score(tuple(p.nodes)),
    "worth": _worth,
    "scoregoal": lambda p: s.ScoreGoal(p.word("NUMBER"), p.word("SCORE"), p.optional("EACH")),
    **dict.fromkeys(("for", "whom"), lambda p: s.For(p.words("NAME"))),
    "order": _order,
    **dict.fromkeys(("fed", "share", "percent"), _share),
    "most": lambda p: s.AtMost(p.word("AT_MOST"), p.word("NUMBER"), p.optional("NAME", "ONE_SIDE")),
    "game": lambda p: s.Game(p.word("FIRST_TO"), p.word("NUMBER")),
    "rounds": lambda p: s.Rounds(p.word("NUMBER"), p.word("ROUNDS")),
    "ownserves": lambda p: s.OwnServes(p.word("NUMBER"), p.word("SERVES"), p.first),
    "rest": lambda p: s.Rest(p.first, p.optional("BETWEEN_ROUNDS")),
    "collect": lambda p: s.Collect(p.first, p.optional("BETWEEN_ROUNDS")),
    "refill": lambda p: s.Refill(p.first, p.word("WHEN_EMPTY")),
    "ladder": lambda p: s.Ladder(p.words("NAME"), p.word("NUMBER"), p.word("BALLS", "SETS"), p.first),
    "rungs": lambda p: _RUNGS[p.all[0].kind](p),
    "begin": lambda p: s.Begin(p.word("FREE_TEXT")),
    "up": lambda p: s.Up(p.all[0], p.optional("NUMBER"), p.behind(*AMONG), p.optional("EVERY")),
    "down": lambda p: s.Down(p.all[0], p.word("NUMBER"), p.word("MISSES"), p.all[-1], p.optional("EVERY")),
    "mostsets": lambda p: s.MostSets(p.word("NUMBER")),
    "downsets": lambda p: s.DownSets(p.all[0], p.word("NUMBER")),
    "lastwon": lambda p: s.LastWon(p.word("LAST_RUNG")),
    "setrest": lambda p: s.SetRest(p.first, p.word("BETWEEN_SETS")),
    "blockrest": lambda p: s.BlockRest(p.first, p.word("NUMBER"), p.all[-1], p.word("AFTER_EVERY")),
    "quantity": _quantity,
    "extent": _bounds,
    "series": lambda p: s.Series(p.words("NUMBER"), p.word("UNIT")),
    "steps": lambda p: s.Steps(p.word("NUMBER")),
}
