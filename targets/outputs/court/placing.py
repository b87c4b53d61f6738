"""Where labels stand: near what they name, and never on a mark or on each other. Millimetres of the picture."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from math import cos, dist, hypot, inf, pi, sin

Point = tuple[float, float]
Stroke = tuple[Point, Point]
APART = 0.5
"""Between two labels, or a label and a mark, mm."""
FEW, MANY = (24, 24), (24, 24, 24, 36, 36, 48)
"""In how many directions places are tried, a number for each order in which the labels are placed: if a label finds no
place at what it names, it comes first in the next."""
_RINGS, _STEP = 70, 1.0
"""In how many distances places are tried, and how far apart these are, mm."""
_CROSSES_WAY, _CROSSES_MARK, _CROSSES_LABEL, _NEARER, _ASTRAY = 4.0, 12.0, 25.0, 8.0, 60.0
"""What a place costs, in millimetres of distance, if the label lies on the way of a ball, if its line to the mark
passes over another mark or label, if it stands nearer to any mark of another ball than to its own, or not nearer to
what it names than to what another label names."""
_FARTHEST = 25.0
"""No better place is looked for farther away than this, mm (our own choice)."""
_ONE, _ALIKE = 2.7, 0.3
"""Marks nearer to each other than the first look like one, and nobody tells apart distances that differ by the second,
mm (our own choice)."""
_ROUNDS = 3
"""How often all labels are placed: first around those before, then around all others."""


@dataclass(frozen=True, slots=True)
class Box:
    x: float
    y: float
    width: float
    height: float
    """Middle and size, mm."""

    def touches(self, other: "Box", gap: float = APART) -> bool:
        return (
            abs(self.x - other.x) < (self.width + other.width) / 2 + gap
            and abs(self.y - other.y) < (self.height + other.height) / 2 + gap
        )

    def at(self, x: float, y: float) -> "Box":
        return Box(x, y, self.width, self.height)

    def edge(self, point: Point) -> Point:
        """The point of the box nearest to another."""
        across, down = self.width / 2, self.height / 2
        return (
            min(max(point[0], self.x - across), self.x + across),
            min(max(point[1], self.y - down), self.y + down),
        )


def placed(
    wanted: Sequence[Box], named: Sequence[Sequence[Point]], marks: Sequence[Box], ways: Sequence[Stroke],
    width: float, height: float, orders: Sequence[int] = MANY,
) -> tuple[list[Box | None], int]:  # fmt: skip
    """A place for each label, whose box comes with the middle of what it names, and with all that it names; None where
    no place is free. And how many labels do not stand at what they name.

    Of all free places the nearest counts, and one off the ways of the balls before one on them.
    """
    crowd = [sum(hypot(box.x - other.x, box.y - other.y) < 15 for other in [*wanted, *marks]) for box in wanted]
    foreign = [_foreign(spots, marks, ways) for spots in named]
    rivals = [_rivals(n, named) for n in range(len(named))]
    order = sorted(range(len(wanted)), key=lambda n: (-crowd[n], n))  # the most crowded first
    best: list[Box | None] = []
    least = inf, inf

    @cache
    def spots(n: int, turns: int) -> _Spots:
        return _Spots(wanted[n], named[n], marks, foreign[n], rivals[n], ways, width, height, turns)

    for turns in orders:
        done: list[Box | None] = [None] * len(wanted)
        for _ in range(_ROUNDS):
            before = list(done)
            for n in order:
                others = [box for m, box in enumerate(done) if box and m != n]
                done[n] = spots(n, turns).best(others)
            if done == before:
                break
        astray = [n for n in order if not (box := done[n]) or is_astray(box, named[n], rivals[n])]
        if (found := (done.count(None), len(astray))) < least:
            best, least = done, found
        if not astray:
            break
        order = [*astray, *(n for n in order if n not in astray)]
    return best, int(least[1])


def _rivals(n: int, named: Sequence[Sequence[Point]]) -> list[Point]:
    """What other labels name, but for what looks like one mark with something that this one names."""
    others = (at for m, spots in enumerate(named) if m != n for at in spots)
    return [at for at in others if all(dist(at, own) > _ONE for own in named[n])]


def is_astray(box: Box, named: Sequence[Point], rivals: Sequence[Point]) -> bool:
    """Whether a label does not stand nearer to what it names than to what others name."""
    far = min(dist(at, box.edge(at)) for at in named) + _ALIKE
    return any(dist(at, box.edge(at)) < far for at in rivals)


def _foreign(named: Sequence[Point], marks: Sequence[Box], ways: Sequence[Stroke]) -> list[Box]:
    """The marks that are neither what a label names nor where those balls go on to."""
    own = [Box(*at, 0.1, 0.1) for at in (*named, *(end for start, end in ways if start in named))]
    return [mark for mark in marks if not any(mark.touches(at, 0.0) for at in own)]


class _Spots:
    """The places for a label on no mark, in growing distance, with what each costs whatever the other labels do: found
    and priced once, however often the labels are placed, and no farther than anybody looks."""

    def __init__(
        self, wanted: Box, named: Sequence[Point], marks: Sequence[Box], foreign: Sequence[Box],
        rivals: Sequence[Point], ways: Sequence[Stroke], width: float, height: float, turns: int,
    ) -> None:  # fmt: skip
        self._named, self._foreign, self._rivals, self._ways = named, foreign, rivals, ways
        self._further = _around(wanted, marks, width, height, turns)
        self._known: list[_Spot] = []

    def __iter__(self) -> Iterator["_Spot"]:
        yield from self._known
        for box, far in self._further:
            spot = _Spot(box, far)
            self._known.append(spot)
            yield spot

    def best(self, others: Sequence[Box]) -> Box | None:
        best, cost = None, inf
        for spot in self:
            if spot.far >= cost or (best and spot.far > _FARTHEST):
                break
            if any(map(spot.box.touches, others)):
                continue
            if spot.astray is None:
                spot.astray = _ASTRAY * is_astray(spot.box, self._named, self._rivals)
            price = spot.far + spot.astray
            if price < cost:
                if spot.price is None:
                    spot.leader, spot.price = self._price(spot.box)
                price += spot.price + _CROSSES_LABEL * sum([_meets(spot.leader, other) for other in others])
            if price < cost:
                best, cost = spot.box, price
        return best

    def _price(self, box: Box) -> tuple[Stroke, float]:
        """The line to the nearest of what is named, and what it and the place cost."""
        far, leader = min([(dist(at, box.edge(at)), (at, box.edge(at))) for at in self._named])
        nearer = any(dist((mark.x, mark.y), box.edge((mark.x, mark.y))) < far for mark in self._foreign)
        ways = sum([_meets(way, box) for way in self._ways])
        return leader, (
            _CROSSES_WAY * ways
            + _CROSSES_MARK * sum([_meets(leader, mark) for mark in self._foreign])
            + _NEARER * nearer
        )


@dataclass(slots=True)
class _Spot:
    box: Box
    far: float
    astray: float | None = None
    price: float | None = None
    leader: Stroke = ((0.0, 0.0), (0.0, 0.0))


def _meets(stroke: Stroke, box: Box) -> bool:
    """Whether a stroke passes through a box (Liang and Barsky, ACM Transactions on Graphics 3(1), 1984)."""
    (x, y), (to_x, to_y) = stroke
    low, high = 0.0, 1.0
    for start, move, middle, half in ((x, to_x - x, box.x, box.width / 2), (y, to_y - y, box.y, box.height / 2)):
        if abs(move) < 1e-9:
            if abs(start - middle) > half:
                return False
            continue
        ends = sorted(((middle - half - start) / move, (middle + half - start) / move))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low <= high


@cache
def _directions(turns: int) -> list[Point]:
    """To the right first."""
    ways = [2 * pi * step / turns for step in range(turns)]
    return [(cos(turn) if abs(cos(turn)) > 1e-9 else 0.0, sin(turn) if abs(sin(turn)) > 1e-9 else 0.0) for turn in ways]


def _around(box: Box, marks: Sequence[Box], width: float, height: float, turns: int) -> Iterator[tuple[Box, float]]:
    """Places in growing distance, which comes with each: that of the box's nearest edge from what it names. None of
    them touches a mark."""
    half_w, half_h = box.width / 2, box.height / 2
    near = [(m.x, m.y, (box.width + m.width) / 2 + APART, (box.height + m.height) / 2 + APART) for m in marks]
    for ring in range(_RINGS):
        far = APART + ring * _STEP
        for across, down in _directions(turns):
            x, y = box.x + (half_w + far) * across, box.y + (half_h + far) * down
            if half_w <= x <= width - half_w and half_h <= y <= height - half_h:
                for at, low, wide, high in near:
                    if abs(x - at) < wide and abs(y - low) < high:
                        break
                else:
                    yield box.at(x, y), far
