"""Variations, and zones that the coach names."""

from collections.abc import Mapping
from typing import Any

from ...grammar import syntax as s
from ...grammar import units
from ...grammar.edits import changed
from ...grammar.facts import Names, read_in
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ...grammar.messages import LikelySlip
from ...grammar.print import text
from ...grammar.syntax import Line
from ..findings.bounds import BoundsApart, MostOfAReply
from ..findings.feeds import ReplySide, ZoneIncomplete
from ..findings.names import Duplicate, WrongUnit
from ..kept import Kept
from ..model.program import BroadGoal, Goal, Range, Reply, ReplyPlace, Variation, Zone
from .amounts import Rejected, Rejections, extent, one_of, quantity
from .goals import goal_of, hit_if
from .options import stroke_of
from .places import DEPTHS, Ground
from .spins import plain_spin

_VARIATIONS: Kept[tuple[object, Variation]] = Kept(1000)
"""By the script, the player and the name."""
_WISHES = {
    "x": "side", "y": "depth", "over_net": "least height over net", "under": "greatest height over net",
    "spin": "spin", "pace": "pace", "slowest": "least pace", "fastest": "greatest pace",
}  # fmt: skip


def read_zones(
    lines: Mapping[str, tuple[Line, s.Zone]], rejections: Rejections, ground: Ground
) -> dict[str, Zone | None]:
    """The zones by name, None for one that could not be read."""
    return {
        name: rejections.read(lambda: _zone(line, rejections, ground))  # noqa: B023 - read at once
        for name, (line, _) in lines.items()
    }


def _zone(line: Line, rejections: Rejections, ground: Ground) -> Zone | None:
    found: dict[str, s.Side | s.Depth] = {}
    for child in line.children:
        node = child.sentence
        if not isinstance(node, s.Side | s.Depth):
            return None
        if node.kind in found:
            raise Rejected(Duplicate(node.kind), child.span, (("first here", found[node.kind].span),))
        if len(node.choices) > 1 or node.steps:
            raise Rejected(ZoneIncomplete(), child.span)
        found[node.kind] = node
    match found.get("side"), found.get("depth"):
        case s.Side((lateral,)), s.Depth((place,)) if not isinstance(place, s.Row):
            side, depth = rejections.read(lambda: ground.side(lateral)), rejections.read(lambda: ground.depth(place))
            return Zone(side, depth) if side and depth else None
    raise Rejected(ZoneIncomplete(), line.span)


def read_variations(
    lines: Mapping[str, tuple[Line, s.Variation]],
    rejections: Rejections,
    ground: Ground,
    zones: Mapping[str, Zone | None],
) -> tuple[dict[str, Variation], dict[str, Goal | BroadGoal | None]]:
    """The variations by name, and the goals of those of which it is known, None for no goal."""
    found = {
        name: rejections.again(
            _VARIATIONS,
            (line.span.source.name, ground.player.name, name),
            (ground, zones, *line.said()),
            lambda: _variation(line, said, rejections, ground, zones),  # noqa: B023 - read at once
        )
        for name, (line, said) in lines.items()
    }
    return found, {name: one.goal or one.broad for name, one in found.items() if _goal_known(lines[name][0], one)}


def _goal_known(line: Line, variation: Variation) -> bool:
    """Whether the lines of a variation say if it has a goal, and which."""
    if variation.goal or variation.broad:
        return True
    return not any(child.sentence is None or isinstance(child.sentence, s.Goal) for child in line.children)


def _variation(
    line: Line, node: s.Variation, rejections: Rejections, ground: Ground, zones: Mapping[str, Zone | None]
) -> Variation:
    when, goal, reply = None, None, None
    asked: s.Goal | None = None
    stroke: s.Stroke | None = None
    seen: dict[str, Line] = {}
    for child in line.children:
        if child.kind in seen and child.kind in ("when", "reply", "goal", "stroke"):
            rejections.add(Finding(Duplicate(child.kind), child.span, (("first here", seen[child.kind].span),)))
            continue
        seen[child.kind] = child
        match child.sentence:
            case None:
                rejections.whole = False
            case s.When(words):
                when = words.text
            case s.Goal():
                asked = said = child.sentence
                goal = rejections.read(lambda: goal_of(said))  # noqa: B023 - read at once
            case s.Stroke() as struck:
                known = rejections.read(lambda: stroke_of(struck))
                stroke = struck if known else None
            case s.Reply() as wanted:
                reply = rejections.read(lambda: _reply(wanted, ground, zones))
    within, broad = (None, goal) if isinstance(goal, BroadGoal) else (goal, None)
    return Variation(
        node.name.text,
        node.title.unquoted,
        when,
        reply,
        within,
        line.notes,
        line.span,
        broad,
        asked,
        stroke,
        hit_if(line),
    )


def _reply(node: s.Reply, ground: Ground, zones: Mapping[str, Zone | None]) -> Reply:
    found: dict[str, object] = {}
    wishes: dict[str, s.Wish] = {}
    places: tuple[ReplyPlace, ...] = ()
    for wish in node.wishes:
        said: Mapping[str, object]
        if isinstance(wish, s.OneOf):
            of = _places(node, wish, ground, zones)
            places, said = _combined(places, of), _around(of)
        else:
            said = _wish(wish, ground, zones)
        for key, value in said.items():
            if key in found:
                also = (("first here", wishes[key].span),)
                one_place = _one_of(node, wishes[key], wish) if key in ("x", "y") else None
                raise Rejected(Duplicate(f"the reply's {_WISHES[key]}"), wish.span, also, hint=one_place)
            found[key], wishes[key] = value, wish
    bound = next((key for key in ("slowest", "fastest") if key in found), None)
    if "pace" in found and bound:
        later, first = sorted((wishes["pace"], wishes[bound]), key=lambda wish: -wish.span.start)
        raise Rejected(Duplicate("the reply's pace"), later.span, (("first here", first.span),))
    _between(found, wishes, "over_net", "under", "m")
    _between(found, wishes, "slowest", "fastest", "km/h")
    spin = found.pop("spin", (None, None))
    assert isinstance(spin, tuple)
    blank = dict.fromkeys(("x", "y", "over_net", "pace", "under", "slowest", "fastest"))
    made = Reply(node.said, **{**blank, **found}, topspin=spin[0], sidespin=spin[1], sentence=node, wishes=wishes)  # type: ignore[arg-type]
    return replace(made, places=places)


def _places(reply: s.Reply, node: s.OneOf, ground: Ground, zones: Mapping[str, Zone | None]) -> list[dict[str, Any]]:
    """What each of the places says."""
    across = [place for place in node.places if isinstance(place, s.Landing) and place.across]
    if across and len(across) < len(node.places):  # a half that the ball decides, or a place that it does not
        said = (changed(reply, wishes=tuple(one if w is node else w for w in reply.wishes)) for one in node.places)
        apart = LikelySlip(f"a half that the ball decides is a variation of its own: {'; '.join(map(text, said))}")
        raise Rejected(Duplicate("the reply's side"), across[0].span, hint=apart)
    into = any(isinstance(place, s.Into) for place in node.places)  # `into` may stand once for all of the zones
    named = [
        place.word if into and isinstance(place, s.Name) and place.word.text not in DEPTHS else None
        for place in node.places
    ]
    return [
        _wish(s.Into(zone) if zone else place, ground, zones) for zone, place in zip(named, node.places, strict=True)
    ]


def _combined(before: tuple[ReplyPlace, ...], said: list[dict[str, Any]]) -> tuple[ReplyPlace, ...]:
    """Each place with each of those before; `crosscourt or down the line` is no place by itself."""
    mine = [ReplyPlace(one.get("x"), one.get("y")) for one in said if one.get("x") or one.get("y")]
    return (
        tuple(ReplyPlace(a.x or b.x, a.y or b.y) for a in before or (ReplyPlace(None, None),) for b in mine) or before
    )


def _around(said: list[dict[str, Any]]) -> dict[str, Range | None]:
    """What holds all of the places; None for the whole width, or all of the half."""
    found = dict[str, Range | None]()
    for key in ("x", "y"):
        ends = [end for one in said if (end := one.get(key))]
        whole = len(ends) < len(said)
        low, high = min((end.low for end in ends), default=0.0), max((end.high for end in ends), default=0.0)
        if any(key in one for one in said):
            found[key] = None if whole else Range(low, high, (low + high) / 2)
    return found


def _one_of(node: s.Reply, first: s.Wish, later: s.Wish) -> LikelySlip:
    """The reply with either of the places, or with the one and with the other, where the ball decides one of them."""
    if not any(isinstance(one, s.OneOf) or (isinstance(one, s.Landing) and one.across) for one in (first, later)):
        either = s.OneOf((first, later))  # type: ignore[arg-type]
        wishes = tuple(either if w is first else w for w in node.wishes if w is not later)
        return LikelySlip(
            f"between two places of which either will do stands an or: {text(changed(node, wishes=wishes))}"
        )
    said = (changed(node, wishes=tuple(w for w in node.wishes if w is not out)) for out in (later, first))
    return LikelySlip(f"a reply has one place, and another is a variation of its own: {'; '.join(map(text, said))}")


def _between(found: Mapping[str, object], wishes: Mapping[str, s.Wish], least: str, most: str, unit: str) -> None:
    """Raises Rejected where a least is more than its most."""
    low, high = found.get(least), found.get(most)
    if isinstance(low, float) and isinstance(high, float) and low > high:
        first, later = sorted((wishes[least], wishes[most]), key=lambda wish: wish.span.start)
        apart = BoundsApart(read_in(low, unit), read_in(high, unit), "")
        raise Rejected(apart, later.span, (("together with this", first.span),))


def _wish(wish: s.Wish, ground: Ground, zones: Mapping[str, Zone | None]) -> dict[str, object]:
    """A reply lands in the feeder's half: depths count from the net and the baseline of that half; left and right
    stay the player's."""
    match wish:
        case s.Clearance(way, height):
            return {"over_net" if way.kind == "AT_LEAST" else "under": quantity(height, "height over net")}
        case s.PaceWithin(way, pace):
            if isinstance(pace, s.Quantity) and units.UNITS[pace.unit.text].dimension == "length":
                meant = LikelySlip(f"a height is over the net: {text(s.Clearance(way, pace, s.keyword('OVER_NET')))}")
                wanted = Names(units.units_of("speed"))
                wrong = WrongUnit(near=Names(), what="pace", found=pace.unit.text, wanted=wanted)
                raise Rejected(wrong, wish.span, hint=meant)
            return {"slowest" if way.kind == "AT_LEAST" else "fastest": quantity(pace, "pace")}
        case s.Spins():
            most = next((turn for turn in wish.turns if isinstance(turn, s.MostSpin)), None)
            if most:
                raise Rejected(MostOfAReply(), most.span)
            return {"spin": plain_spin(wish)}
        case s.Toward(s.NamedSide((word,))) if word.text in DEPTHS:  # `to deep`, as coaches say it
            return {"y": _across(ground.depth(s.Name(word).at(word.span)))}
        case s.Toward(lateral):
            if _by_stroke(lateral):
                raise Rejected(ReplySide(), lateral.span)
            return {"x": ground.side(lateral)}
        case s.Into(zone):
            into = zones[one_of(zone.text, zone.span, zones, "zone")]
            return {"x": into.x, "y": _across(into.y)} if into else {}
        case s.Landing() if wish.across:  # `across.py` says which half, once it is known which balls aim at it
            return {"x": None}
        case s.Landing(where):
            near, far = ground.court.service * (where.kind == "PAST_SERVICE_LINE"), ground.court.half_length
            return {"y": Range(-far, -near, -(near + far) / 2)}
        case s.Quantity() | s.GivenAmount() | s.Bounds():
            speed = extent(wish, "pace")
            if speed.low != speed.high:
                return {"slowest": speed.low, "fastest": speed.high}
            return {"pace": speed.aim}
        case _:
            assert not isinstance(wish, s.OneOf)
            return {"y": _across(ground.depth(wish))}


def _by_stroke(lateral: s.Lateral) -> bool:
    """Whether a side is named by a stroke, forehand or backhand, and it is not said that this is the player's own."""
    match lateral:
        case s.NamedSide(words):
            said = words[0].text
        case s.FromCentre(_, None, side) if "own" in side.text.split():
            return False
        case s.FromSideline() | s.FromCentre():
            said = lateral.hand.text
        case s.Across(first, last):
            return _by_stroke(first) or _by_stroke(last)
        case _:
            return False
    return "hand" in said


def _across(depth: Range) -> Range:
    return Range(-depth.high, -depth.low, -depth.aim)
