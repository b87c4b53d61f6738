"""The form of one ball: the lines that its blanks write, and the blanks that a ball of the script fills, so that it is
changed or copied as it was written."""

import re
from collections.abc import Iterator, Mapping
from itertools import product

from ...grammar import syntax as s
from ...grammar.edits import Edit, amount, below, counted, from_baseline, instead, name
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.syntax import Line, Node, Word, keyword
from ...grammar.units import number
from ..resolve.slots import ANYWHERE, inherit, slot_of
from .blanks import (
    ARCS,
    BODY,
    BOUNCES,
    BOUNDS,
    BOX_M,
    DEEP_M,
    DEPTHS,
    LEVELS,
    OPEN,
    SPEEDS,
    STANCES,
    TURNS,
    WHERE,
    BallBlanks,
    BlankProblem,
    bounded,
    choices,
    new_name,
    within,
)
from .rearranged import made_line, without
from .script import Script, renamed

GROUPS = {
    "side": ("side",), "depth": ("depth",), "stance": ("stance",),
    "flight": ("contact", "net height", "top height", "bounce height", "pace", "time"),
    "spin": ("spin",), "interval": ("interval",),
}  # fmt: skip
"""What the blanks of a ball say together, and the slots of a feed that hold it."""
Lines = dict[str, tuple[s.Sentence, ...]]
Slots = Mapping[str, s.Sentence]


def lines_of_ball(blanks: BallBlanks) -> Lines:
    """By group, but for those that are kept; BlankProblem if a blank holds what it may not."""
    if blanks.bounce == "overhead":
        blanks = replace(blanks, bounce=BOUNCES[1])
    made = {
        "side": _side, "depth": _depth, "stance": _stance, "flight": _flight, "spin": _spin, "interval": _interval
    }  # fmt: skip
    if {"depth", "flight"}.isdisjoint(blanks.kept):
        _decided(blanks)
    return {group: write(blanks) for group, write in made.items() if group not in blanks.kept}


def feed_of(script: Script, blanks: BallBlanks) -> tuple[s.Feed, tuple[s.Sentence, ...]]:
    """A new feed: of a copy the lines that differ from those of its ball."""
    aims = _aims(script, blanks)
    note = _note(blanks.note)
    lines = lines_of_ball(blanks)
    if not blanks.like:
        return s.Feed(name(blanks.name), aims), (*_all(lines), *note)
    base = slots_of(script, blanks.like)
    other = {group: new for group, new in lines.items() if _words(new) != _words(_held(base, group))}
    aimed = _aims_of(script, blanks.like)
    own = None if aims and aims.text == aimed else aims
    if (aims or not aimed) and (needed := _as_wanted(base, other, lines)) is not None:
        return s.Feed(name(blanks.name), own, name(blanks.like)), (*needed, *note)
    rest = [line for slot, line in base.items() if not any(slot in slots for slots in GROUPS.values())]
    kept = {group: _held(base, group) for group in GROUPS if group not in lines}
    return s.Feed(name(blanks.name), aims), (*_all({**kept, **lines}), *rest, *note)


def ball_changed(script: Script, blanks: BallBlanks) -> tuple[Edit, ...]:
    """The ball `like`, called `name` and with what the blanks say; BlankProblem if a blank holds what it may not."""
    old, new = blanks.like, blanks.name
    line, head = made_line(script, old)
    place = head.name.span
    if new != old:
        new_name(new, "ball", choices(script)["balls"])
    renaming = () if new == old else renamed(script, place.start, new)
    if renaming is None:
        raise BlankProblem(f"the ball cannot be called {new}: the script has that name, or the word means something")
    edits = [one for one in renaming if one.span != place]
    aims = _aims(script, blanks)
    if head.like and not aims and _aims_of(script, head.like.text):
        raise BlankProblem(f"{old} takes what the player does from {head.like.text}: change it in the script")
    if (aims and aims.text) != _aims_of(script, old):
        edits.append(instead(head, s.Feed(name(new), aims, head.like)))
    else:
        edits += [one for one in renaming if one.span == place]
    lines, base = lines_of_ball(blanks), slots_of(script, old)
    other = {group: said for group, said in lines.items() if _words(said) != _words(_held(base, group))}
    above = slots_of(script, head.like.text) if head.like else {}
    kept = {
        slot_of(one.sentence): one.sentence for one in line.children
        if one.sentence and not isinstance(one.sentence, s.Note) and _group(slot_of(one.sentence)) not in other
    }  # fmt: skip
    inherit(trial := dict(above), kept)
    needed = _as_wanted(trial, other, lines)
    if needed is None:
        raise BlankProblem(f"{old} takes a line from {head.like.text if head.like else old}: change it in the script")
    return (*edits, *_written(script, line, other, needed), *_noted(script, line, blanks))


def ball_of(script: Script, feed: str) -> tuple[BallBlanks, dict[str, str]]:
    """The blanks of a ball as the script says it, and by group what no blank can hold, in its words."""
    line, _ = made_line(script, feed)
    slots, blanks, kept = slots_of(script, feed), BallBlanks(feed, _aims_of(script, feed) or "", like=feed), {}
    for group in GROUPS:
        said = _words(_held(slots, group))
        found = next((one for one in _fillings(blanks, slots, group) if _writes(one, group) == said), None)
        if found is None:
            kept[group] = "; ".join(said) or "nothing said"
        else:
            blanks = found
    try:
        _decided(blanks)
    except BlankProblem:  # such as a ball of which the most spin is wanted
        kept.setdefault("flight", "; ".join(_words(_held(slots, "flight"))) or "nothing said")
    if "into" in slots:
        kept |= dict.fromkeys(("side", "depth"), text(slots["into"]))
    if "same" in slots:
        kept |= dict.fromkeys(("side", "depth", "flight", "spin"), text(slots["same"]))
    notes = [one.sentence.title.unquoted for one in line.children if isinstance(one.sentence, s.Note)]
    return replace(blanks, kept=tuple(kept), note=" ".join(notes)), kept


def slots_of(script: Script, feed: str) -> dict[str, s.Sentence]:
    """What is said of a feed, with what it takes from those that it is like."""
    feeds = {said.name.text: (line, said) for tree in (*script.used, script.tree) for line, said in tree.of(s.Feed)}
    chain: list[str] = []
    each: str | None = feed
    while each in feeds and each not in chain:
        chain.append(each)
        like = feeds[each][1].like
        each = like.text if like else None
    slots: dict[str, s.Sentence] = {}
    for link in reversed(chain):
        said = [
            one.sentence for one in feeds[link][0].children if one.sentence and not isinstance(one.sentence, s.Note)
        ]
        inherit(slots, {slot_of(one): one for one in said})
    return slots


# ---- what the blanks write


def _decided(blanks: BallBlanks) -> None:
    """Of where it lands, how high and how fast it is, two decide the third; on the full, where nothing lands, one."""
    high, fast = blanks.level != OPEN, blanks.speed != OPEN
    if blanks.bounce == BOUNCES[1]:
        if high == fast:
            raise BlankProblem("of a ball on the full say either its height over the net or how fast it is")
        return
    said = (blanks.depth != OPEN) + high + fast
    if said > 2:
        raise BlankProblem("where it lands, how high and how fast it is: say two of them, the third follows")
    if said < 2:
        raise BlankProblem("say one more of these: where it lands, how high or how fast it is")


def _side(blanks: BallBlanks) -> tuple[s.Sentence, ...]:
    within({"side": WHERE}, blanks, ("side",), ())
    return (s.Side((s.NamedSide(tuple(name(word) for word in blanks.side.split())),)),)


def _depth(blanks: BallBlanks) -> tuple[s.Sentence, ...]:
    within({"depth": DEPTHS}, blanks, ("depth",), ())
    if blanks.depth == OPEN or blanks.bounce == BOUNCES[1]:
        return ()
    if blanks.depth == "metres":
        within({}, blanks, (), ("near", "far"))
        return (s.Depth((zone(blanks.near, blanks.far),)),)
    if blanks.depth == "deep and wide":
        return (s.Depth((zone(*DEEP_M),)),)
    if blanks.depth == "service box":
        bounds = s.Bounds(counted(BOX_M[0], 2), counted(BOX_M[1], 2), Word("UNIT", "m"))
        return (s.Depth((s.FromLine(bounds, keyword("INSIDE"), keyword("SERVICE_LINE")),)),)
    return (s.Depth((s.Name(name(blanks.depth)),)),)


def zone(near: float, far: float) -> s.FromLine:
    near, far = sorted((near, far))
    if far - near < 0.25:
        raise BlankProblem("the zone is less than 25 cm deep")
    bounds = s.Bounds(counted(near, 2), counted(far, 2), Word("UNIT", "m"))
    return s.FromLine(bounds, keyword("INSIDE"), keyword("BASELINE"))


def _stance(blanks: BallBlanks) -> tuple[s.Sentence, ...]:
    within({"stance_from": STANCES}, blanks, ("stance_from",), ("stance",))
    part = blanks.stance_from.removesuffix(" high")
    if part in BODY:
        if blanks.bounce == BOUNCES[1] or blanks.level in ("falling", "rising"):
            raise BlankProblem("say once how high the ball is at the player")
        return (s.Stance((s.Where(s.Name(name(part)), keyword("FALLING")),)),)
    if blanks.stance_from in ("falling", "rising"):
        if blanks.bounce == BOUNCES[1] or blanks.level in ("falling", "rising"):
            raise BlankProblem("say once how high the ball is at the player")
        bounded("stance", blanks.stance, *BOUNDS["met"])
        return (s.Stance((s.Where(amount(blanks.stance, 2, "m"), keyword(blanks.stance_from.upper())),)),)
    if blanks.stance_from == "from net":
        return (s.Stance((s.FromNet(amount(blanks.stance, 2, "m"), keyword("FROM_NET")),)),)
    return (s.Stance((from_baseline(blanks.stance if blanks.stance_from == "behind baseline" else -blanks.stance),)),)


def _flight(blanks: BallBlanks) -> tuple[s.Sentence, ...]:
    within({"bounce": BOUNCES, "level": LEVELS, "speed": SPEEDS}, blanks, ("bounce", "level", "speed"), ())
    lines: list[s.Sentence] = []
    if blanks.bounce == BOUNCES[1]:
        if blanks.level in ("falling", "rising"):
            raise BlankProblem("of a ball on the full say its way over the net or how fast it is")
        within({}, blanks, (), ("met",))
        lines.append(s.Height((amount(blanks.met, 2, "m"),), phase=s.Phase(keyword("ON_THE_FULL"))))
    if blanks.level != OPEN:
        if blanks.level not in ARCS:
            within({}, blanks, (), ("height",))
        height = amount(ARCS.get(blanks.level, blanks.height), 2, "m")
        at_player = blanks.level in ("falling", "rising")
        phase = s.Phase(keyword(blanks.level.upper())) if at_player else None
        lines.append(s.Height((height,), None if at_player else keyword("OVER_NET"), phase=phase))
    if blanks.speed != OPEN:
        within({}, blanks, (), (blanks.speed,))
        lines.append(
            s.Pace((amount(blanks.pace, 0, "km/h"),)) if blanks.speed == "pace"
            else s.Time((amount(blanks.time, 2, "s"),), keyword("TO_CONTACT"))
        )  # fmt: skip
    return tuple(lines)


def _spin(blanks: BallBlanks) -> tuple[s.Sentence, ...]:
    within({"turn": TURNS}, blanks, ("turn",), ("rpm",) if blanks.turn != "flat" else ())
    turning: dict[str, type[s.Topspin] | type[s.Backspin]] = {"topspin": s.Topspin, "backspin": s.Backspin}
    turn = turning[blanks.turn](amount(blanks.rpm, 0, "rpm")) if blanks.turn in turning else s.Flat()
    return (s.Spin((s.Spins((turn,)),)),)


def _interval(blanks: BallBlanks) -> tuple[s.Sentence, ...]:
    within({}, blanks, (), ("interval",))
    return (s.Interval(amount(blanks.interval, 1, "s")),)


def _note(said: str) -> tuple[s.Sentence, ...]:
    note = " ".join(said.split())
    if '"' in note or not note.isprintable():
        raise BlankProblem('a note is a few words, without "')
    return (s.Note(Word("TITLE", f'"{note}"')),) if note else ()


def _aims(script: Script, blanks: BallBlanks) -> Word | None:
    if (
        blanks.aims
        and not blanks.goal
        and blanks.aims not in (*choices(script)["aims"], blanks.like and _aims_of(script, blanks.like))
    ):
        raise BlankProblem(f"there is no variation {blanks.aims}")
    return name(blanks.aims) if blanks.aims else None


def _aims_of(script: Script, feed: str) -> str | None:
    feeds = {said.name.text: said for tree in (*script.used, script.tree) for _, said in tree.of(s.Feed)}
    seen: set[str] = set()
    while feed in feeds and feed not in seen:
        seen.add(feed)
        if aims := feeds[feed].aims:
            return aims.text
        like = feeds[feed].like
        feed = like.text if like else ""
    return None


# ---- which blanks write what stands there


def _writes(blanks: BallBlanks, group: str) -> tuple[str, ...] | None:
    try:
        alone = replace(blanks, kept=tuple(one for one in GROUPS if one != group))
        return _words(lines_of_ball(alone)[group])
    except BlankProblem:
        return None


def _fillings(blanks: BallBlanks, slots: Slots, group: str) -> Iterator[BallBlanks]:
    """Each way in which the blanks of a group could be filled, with the numbers that stand there."""
    first, second, *_ = (*(float(one) for line in _held(slots, group) for one in _numbers(line)), 0.0, 0.0)
    full = blanks.bounce
    match group:
        case "side":
            yield from (replace(blanks, side=side) for side in WHERE)
        case "depth":
            full = BOUNCES["contact" in slots]
            near, far = sorted((first, second))
            numbers = {"near": near, "far": far} if near < far else {}
            yield from (replace(blanks, bounce=full, depth=depth, **numbers) for depth in reversed(DEPTHS))
        case "stance":
            yield from (replace(blanks, stance_from=line, stance=first) for line in STANCES)
        case "flight":
            numbers = {
                blank: float(next(_numbers(slots[slot]), "0"))
                for slot, blank in (("contact", "met"), ("net height", "height"), ("bounce height", "height"),
                                    ("pace", "pace"), ("time", "time"))
                if slot in slots
            }  # fmt: skip
            for level, speed in product(LEVELS, SPEEDS):
                yield replace(blanks, level=level, speed=speed, **numbers)
        case "spin":
            yield from (replace(blanks, turn=turn, **({"rpm": first} if first else {})) for turn in TURNS)
        case "interval":
            yield replace(blanks, interval=first)


def _numbers(node: Node) -> Iterator[str]:
    if isinstance(node, Word):
        if node.kind == "NUMBER":
            yield node.text
        return
    for part in node.nodes():
        yield from _numbers(part)


def _held(slots: Slots, group: str) -> tuple[s.Sentence, ...]:
    return tuple(slots[slot] for slot in GROUPS[group] if slot in slots)


def _words(lines: tuple[s.Sentence, ...]) -> tuple[str, ...]:
    """What they say, whatever blanks and zeros they are written with."""
    said = (" ".join(text(line).split()) for line in lines)
    return tuple(re.sub(r"\d+\.\d+", lambda found: number(float(found[0]), 3), one) for one in said)


def _group(slot: str) -> str:
    return next((group for group, slots in GROUPS.items() if slot in slots), "")


def _all(lines: Lines) -> tuple[s.Sentence, ...]:
    return tuple(line for group in GROUPS for line in lines.get(group, ()))


def _as_wanted(base: Slots, other: Lines, wanted: Lines) -> tuple[s.Sentence, ...] | None:
    """The lines over those that a feed has already, after which it says what is wanted and nothing else; None if none
    do."""
    needed = _all(other)
    for more in ((), (s.Depth((s.Name(name(ANYWHERE)),)),)):
        slots = dict(base)
        inherit(slots, {slot_of(line): line for line in (*needed, *more)})
        held = {group: tuple(line for line in _held(slots, group) if line not in more) for group in wanted}
        if all(_words(held[group]) == _words(lines) for group, lines in wanted.items()):
            return (*needed, *more)
    return None


# ---- the edits of a ball that stands there


def _written(script: Script, line: Line, other: Lines, needed: tuple[s.Sentence, ...]) -> Iterator[Edit]:
    """What differs, in place of the feed's own lines that said it; a line of its own where none did."""
    new: dict[str, list[s.Sentence]] = {}
    for one in needed:
        new.setdefault(_group(slot_of(one)), []).append(one)
    added: list[s.Sentence] = []
    for group in dict.fromkeys((*other, *new)):
        own = [one for one in line.children if one.sentence and _group(slot_of(one.sentence)) == group]
        said = new.get(group, [])
        for n, row in enumerate(own):
            if n >= len(said):
                yield without(script, row)
            else:
                yield instead(_sentence(row), said[n], *(said[n + 1 :] if row is own[-1] else ()))
        added += () if own else said
    if added:
        yield below(line, *added)


def _noted(script: Script, line: Line, blanks: BallBlanks) -> Iterator[Edit]:
    own = [one for one in line.children if isinstance(one.sentence, s.Note)]
    note = _note(blanks.note)
    if _words(note) == tuple(" ".join(text(one.sentence).split()) for one in own if one.sentence) or len(own) > 1:
        return
    if own and note:
        yield Edit(own[0].span, text(note[0]).replace("note ", "note      ", 1))
    elif own:
        yield without(script, own[0])
    elif note:
        last = line.children[-1].span if line.children else None
        if last is None:
            yield below(line, *note)
        else:
            yield instead(_sentence(line.children[-1]), _sentence(line.children[-1]), *note)


def _sentence(line: Line) -> s.Sentence:
    assert line.sentence
    return line.sentence
