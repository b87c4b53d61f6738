"""Where labels stand: near what they name, and never on a mark or on each other. Millimetres of the picture."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, dist, hypot, pi, sin

Point = tuple[float, float]
Stroke = tuple[Point, Point]
APART = 0.5
"""Between two labels, or a label and a mark, mm."""
_TURNS, _RINGS, _STEP = 24, 70, 1.0
_CROSSES_WAY, _CROSSES_MARK, _CROSSES_LABEL, _NEARER = 4.0, 12.0, 25.0, 8.0
"""What a place costs, in millimetres of distance, if the label lies on the way of a ball, if its line to the mark
passes over another mark or label, or if it stands nearer to a mark of another ball than to its own."""
_ROUNDS, _ORDERS = 3, 4
"""How often all labels are placed: first around those before, then around all others; and in how many orders, if a
label finds no place, which then comes first."""


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
    width: float, height: float,
) -> list[Box | None]:  # fmt: skip
    """A place for each label, whose box comes with the middle of what it names, and with all that it names; None where
    no place is free.

    Of all free places the nearest counts, and one off the ways of the balls before one on them.
    """
    crowd = [sum(hypot(box.x - other.x, box.y - other.y) < 15 for other in [*wanted, *marks]) for box in wanted]
    foreign = [_foreign(spots, marks, ways) for spots in named]
    order = sorted(range(len(wanted)), key=lambda n: (-crowd[n], n))  # the most crowded first
    done: list[Box | None] = []
    for _ in range(_ORDERS):
        done = [None] * len(wanted)
        for _ in range(_ROUNDS):
            before = list(done)
            for n in order:
                others = [box for m, box in enumerate(done) if box and m != n]
                done[n] = _best(wanted[n], named[n], others, marks, foreign[n], ways, width, height)
            if done == before:
                break
        without = [n for n in order if done[n] is None]
        if not without:
            break
        order = [*without, *(n for n in order if n not in without)]
    return done


def _foreign(named: Sequence[Point], marks: Sequence[Box], ways: Sequence[Stroke]) -> list[Box]:
    """The marks that are neither what a label names nor where those balls go on to."""
    own = [Box(*at, 0.1, 0.1) for at in (*named, *(end for start, end in ways if start in named))]
    return [mark for mark in marks if not any(mark.touches(at, 0.0) for at in own)]


def _best(
    wanted: Box, named: Sequence[Point], others: Sequence[Box], marks: Sequence[Box], foreign: Sequence[Box],
    ways: Sequence[Stroke], width: float, height: float,
) -> Box | None:  # fmt: skip
    best, cost = None, float("inf")
    for box, far in _around(wanted, width, height):
        if far >= cost:
            break
        if any(map(box.touches, others)) or any(map(box.touches, marks)):
            continue
        price = far + _price(box, named, others, foreign, ways)
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


def _around(box: Box, width: float, height: float) -> Iterator[tuple[Box, float]]:
    """Places in growing distance, which comes with each: that of the box's nearest edge from what it names."""
    half_w, half_h = box.width / 2, box.height / 2
    for ring in range(_RINGS):
        far = APART + ring * _STEP
        for step in range(_TURNS):
            turn = 2 * pi * step / _TURNS  # to the right first
            x = box.x + (half_w + far) * cos(turn) if abs(cos(turn)) > 1e-9 else box.x
            y = box.y + (half_h + far) * sin(turn) if abs(sin(turn)) > 1e-9 else box.y
            if half_w <= x <= width - half_w and half_h <= y <= height - half_h:
                yield box.at(x, y), far
