"""Where labels stand: near what they name, and never on a mark or on each other. Millimetres of the picture."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
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
    for turns in orders:
        done: list[Box | None] = [None] * len(wanted)
        for _ in range(_ROUNDS):
            before = list(done)
            for n in order:
                others = [box for m, box in enumerate(done) if box and m != n]
                done[n] = _best(wanted[n], named[n], others, marks, foreign[n], rivals[n], ways, width, height, turns)
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


def _best(
    wanted: Box, named: Sequence[Point], others: Sequence[Box], marks: Sequence[Box], foreign: Sequence[Box],
    rivals: Sequence[Point], ways: Sequence[Stroke], width: float, height: float, turns: int,
) -> Box | None:  # fmt: skip
    best, cost = None, float("inf")
    for box, far in _around(wanted, width, height, turns):
        if far >= cost or (best and far > _FARTHEST):
            break
        if any(map(box.touches, others)) or any(map(box.touches, marks)):
            continue
        price = far + _ASTRAY * is_astray(box, named, rivals)
        if price < cost:
            price += _price(box, named, others, foreign, ways)
        if price < cost:
            best, cost = box, price
    return best


def _price(
    box: Box, named: Sequence[Point], others: Sequence[Box], foreign: Sequence[Box], ways: Sequence[Stroke]
) -> float:
    far, leader = min((dist(at, box.edge(at)), (at, box.edge(at))) for at in named)
    return (
        _CROSSES_WAY * sum(_meets(way, box) for way in ways)
        + _CROSSES_MARK * sum(_meets(leader, mark) for mark in foreign)
        + _CROSSES_LABEL * sum(_meets(leader, other) for other in others)
        + _NEARER * any(dist((mark.x, mark.y), box.edge((mark.x, mark.y))) < far for mark in foreign)
    )


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


def _around(box: Box, width: float, height: float, turns: int) -> Iterator[tuple[Box, float]]:
    """Places in growing distance, which comes with each: that of the box's nearest edge from what it names."""
    half_w, half_h = box.width / 2, box.height / 2
    for ring in range(_RINGS):
        far = APART + ring * _STEP
        for step in range(turns):
            turn = 2 * pi * step / turns  # to the right first
            x = box.x + (half_w + far) * cos(turn) if abs(cos(turn)) > 1e-9 else box.x
            y = box.y + (half_h + far) * sin(turn) if abs(sin(turn)) > 1e-9 else box.y
            if half_w <= x <= width - half_w and half_h <= y <= height - half_h:
                yield box.at(x, y), far
