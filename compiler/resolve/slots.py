"""The lines of a feed by what they say: which replaces which, what is missing, and what they leave open."""

from collections.abc import Mapping

from ...grammar import syntax as s

# Lines of which a flight needs exactly one, beside place and spin. `contact` is the height of a ball on the full.
FIXING = ("net height", "top height", "bounce height", "pace", "time")
NEEDED = ("side", "depth", "stance", "spin", "interval")
FARTHEST, NEAREST = "stance no farther back", "stance no nearer"
ANYWHERE = "anywhere"
ORDINARY_M = 1.0
"""About how high a ball passes over the net of which a feed says only where it lands and how high it is met. Common
practice for a rally, no source."""


def lacking(slots: Mapping[str, s.Sentence]) -> list[str]:
    """The lines that a feed needs and lacks."""
    given = {"into": ("side", "depth"), "contact": ("depth",)}
    said = {*slots, *(slot for key, covered in given.items() if key in slots for slot in covered)}
    said |= {"stance"} if {"contact", "depth"} <= slots.keys() else set()
    said |= left_open(slots)
    met = slots.get("bounce height")
    if isinstance(met, s.Height) and any(isinstance(level, s.TopOfBounce) for level in met.choices):
        said -= {"stance"} - slots.keys()  # a ball has a top wherever it bounces, so that says no place
        return [slot for slot in NEEDED if slot not in said]
    bounded = FARTHEST in slots or NEAREST in slots  # then the height at the player says where in between
    return ["height at the player" if slot == "stance" and bounded else slot for slot in NEEDED if slot not in said]


def slot_of(node: s.Sentence) -> str:
    if isinstance(node, s.StanceBound):
        return FARTHEST if node.upper else NEAREST
    if isinstance(node, s.Bound):
        over = {"OVER_NET": " over net", "AT_THE_TOP": " at the top"}.get(node.end.kind if node.end else "", "")
        return f"{node.kind}{over} at {'most' if node.upper else 'least'}"
    if not isinstance(node, s.Height):
        return node.kind
    if node.place:
        return "net height" if node.place.kind == "OVER_NET" else "top height"
    return "contact" if node.phase and node.phase.on_the_full else "bounce height"


def word_of(slot: str) -> str:
    """The coach's word for a slot."""
    return {
        "net height": "height over net", "top height": "height at the top", "bounce height": "height",
        "contact": "height", "same": "ball", "stands": "feeder",
    }.get(slot, slot)  # fmt: skip


def inherit(slots: dict[str, s.Sentence], own: Mapping[str, s.Sentence]) -> None:
    """Puts a feed's own lines over inherited ones; a line that decides the flight replaces the inherited one. A bound
    on the full, or a height over the net or at the top of such a ball, also stands for the height there, if no line
    says that."""
    full = [node for node in own.values() if beside_the_full(node)]
    own = {"contact": full[0], **own} if full else own
    if any(says_most(node) for node in own.values()):
        for slot in [slot for slot, node in slots.items() if says_most(node)]:
            del slots[slot]
    if own.keys() & set(FIXING):
        for slot in FIXING:
            slots.pop(slot, None)
    if own.keys() & {"stance", FARTHEST, NEAREST}:
        stays = ("stance",) if says_where(slots.get("stance")) else ()
        for slot in {"stance", FARTHEST, NEAREST}.difference(stays):
            slots.pop(slot, None)
    if says_where(own.get("stance")):
        slots.pop("bounce height", None)
    if "bounce height" in own and says_where(slots.get("stance")):
        del slots["stance"]
    for slot in [slot for slot, node in slots.items() if of_another_kind(own.get("spin"), node)]:
        del slots[slot]
    down = {"contact", "depth"} <= slots.keys()  # where a ball on the full would come down
    if "bounce height" in own or ("depth" in own and not down):
        slots.pop("contact", None)
    if "contact" in own:
        slots.pop("bounce height", None)
    if {"contact", "depth"} <= own.keys():  # which say where the player stands
        for slot in ("stance", FARTHEST, NEAREST):
            slots.pop(slot, None)
    if ("contact" in own and not down) or ("stance" in own and down):
        slots.pop("depth", None)
    if "into" in own:
        slots.pop("side", None)
        slots.pop("depth", None)
    if {"side", "depth"} & own.keys():
        slots.pop("into", None)
    slots.update(own)


def left_open(slots: Mapping[str, s.Sentence]) -> frozenset[str]:
    """What of depth, stance, spin and height on the full the lines of a feed leave to be found: all that is not said
    where something is to be most or least, the spin where no line says it, a height on the full of which bounds alone
    speak, and depth or stance where two lines decide the flight. Where a height at the player is all that is said of
    the flight, and no line says how far back, the height over the net is as near as can be to `ORDINARY_M`."""
    place, depth = slots.get("stance"), slots.get("depth")
    where = says_where(place)
    most = mosts(slots)
    enough = bool(most) or sum(slot in slots for slot in FIXING) + where > 1
    found = set()
    if "contact" not in slots and "into" not in slots and (says_anywhere(depth) or (depth is None and enough)):
        found.add("depth")
    alone = (
        (place is None or where)
        and not most
        and [slot for slot in FIXING if slot in slots] == ([] if where else ["bounce height"])
    )
    found_there = isinstance(place, s.Stance) and place.found
    if "contact" not in slots and (found_there or alone or (place is None and "bounce height" in slots and enough)):
        found.add("stance")
    if "contact" not in slots and alone and not says_anywhere(depth):
        found.add("height over net")
    if slots.get("spin") in most or says_some(slots.get("spin")) or ("spin" not in slots and "arc" not in slots):
        found.add("spin")
    if beside_the_full(slots.get("contact")):
        found.add("height")
    return frozenset(found)


def choosing(slots: Mapping[str, s.Sentence], free: frozenset[str]) -> list[str]:
    """The lines of which each ball of a feed has one choice."""
    full = "contact" in slots
    placed = ["into"] if "into" in slots else ["side", *(() if full and "depth" not in slots else ("depth",))]
    place = slots.get("stance")
    where = place.found if isinstance(place, s.Stance) else full and "depth" in slots
    flight = [slot for slot in (*(() if "height" in free else ("contact",)), *FIXING) if slot in slots]
    found = [*(("spin",) if "spin" in slots else ()), *placed, *(() if where else ("stance",)), *flight]
    return [slot for slot in found if not (slot in ("depth", "stance") and slot in free)]


def beside_the_full(node: s.Sentence | None) -> bool:
    """Whether a line says that the ball is met on the full, and not how high."""
    if isinstance(node, s.HeightBound):
        return node.on_the_full
    return isinstance(node, s.Height) and node.place is not None and node.phase is not None and node.phase.on_the_full


def mosts(slots: Mapping[str, s.Sentence]) -> list[s.Sentence]:
    """The lines that ask for the most or the least of something."""
    return [slots[slot] for slot in (*FIXING, "spin") if slot in slots and says_most(slots[slot])]


def no_depth(slots: Mapping[str, s.Sentence]) -> bool:
    """Whether its depth cannot be where a ball on the full would come down: it may land anywhere, or what is most is
    not known before the player has a place."""
    return {"contact", "depth"} <= slots.keys() and (says_anywhere(slots["depth"]) or bool(mosts(slots)))


def says_most(node: s.Sentence) -> bool:
    match node:
        case s.Height(choices) | s.Pace(choices) | s.Time(choices):
            return any(isinstance(choice, s.Utmost) for choice in choices)
        case s.Spin(choices):
            return any(isinstance(turn, s.MostSpin) for spins in choices for turn in spins.turns)
    return False


def says_some(node: s.Sentence | None) -> bool:
    """Whether a line of the spin says a kind alone, and not how much."""
    return isinstance(node, s.Spin) and any(isinstance(spins.turns[0], s.SomeSpin) for spins in node.choices)


def of_another_kind(spin: s.Sentence | None, bound: s.Sentence) -> bool:
    """Whether a bound names topspin or backspin where the line of the spin names the other."""
    if not isinstance(spin, s.Spin) or not isinstance(bound, s.SpinBound) or bound.turn is None:
        return False
    kinds = {s.Topspin: "TOPSPIN", s.Backspin: "BACKSPIN"}
    turns = [turn for spins in spin.choices for turn in spins.turns]
    named = {
        turn.way.kind if isinstance(turn, s.MostSpin | s.SomeSpin) and turn.way else kinds.get(type(turn))
        for turn in turns
    }
    return bool(named - {None, bound.turn.kind})


def says_where(node: s.Sentence | None) -> bool:
    """Whether a stance is where the ball has a height."""
    return isinstance(node, s.Stance) and node.where is not None


def freeing(slots: Mapping[str, s.Sentence]) -> list[s.Sentence]:
    """The lines without one of which one more may decide the flight: that of the spin, and that of where the player
    stands if a height at the player would say so."""
    place = slots.get("stance")
    stands = place if "bounce height" in slots and not says_where(place) else None
    return [line for line in (stands, slots.get("spin")) if line]


def says_anywhere(node: s.Sentence | None) -> bool:
    if not isinstance(node, s.Depth) or len(node.choices) > 1:
        return False
    place = node.choices[0]
    return isinstance(place, s.Name) and place.word.text == ANYWHERE and node.steps is None
