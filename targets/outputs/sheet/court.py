"""The court as a picture: black on white. Marks differ by shape, letter and dash, never by tone.

One unit of the picture is one millimetre on paper. The player is at the top, as the feeder sees it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import cos, pi, sin

from ....compiler.model.plan import Plan, Shot
from ..lines import court_lines
from .letters import listed, places

WIDTH_MM = 68.0
CROWD, CROWDED_MM = 10, 58.0
"""More labels than this need room beside the court: then the picture has at least this width, mm."""
LARGE_FROM_MM = 110.0
LETTER_MM, SMALL_LETTER_MM = 7.5, 6.0  # 21 pt, and 17 pt in a picture lower than LARGE_FROM_MM
WORD_MM = 5.0  # 14 pt
_LETTER_EM, _WORD_EM = 0.68, 0.48  # mean width; textLength gives it to any font
MOST_NAMED = 8  # characters beside a reply's target; all its letters are with the variation
_STEPS = 24

Zone = tuple[float, float, float, float]
"""x from, x to, y from, y to, m."""


@dataclass(frozen=True, slots=True)
class Box:
    x: float
    y: float
    width: float
    height: float
    """Middle and size, mm."""

    def touches(self, other: "Box", gap: float = 0.3) -> bool:
        return (
            abs(self.x - other.x) < (self.width + other.width) / 2 + gap
            and abs(self.y - other.y) < (self.height + other.height) / 2 + gap
        )

    def at(self, x: float, y: float) -> "Box":
        return Box(x, y, self.width, self.height)


@dataclass(frozen=True, slots=True)
class _Scale:
    """Metres of the court to millimetres of the picture."""

    left: float
    top: float
    factor: float

    def __call__(self, x: float, y: float) -> tuple[float, float]:
        return (x - self.left) * self.factor, (self.top - y) * self.factor


def size(plan: Plan, shots: list[Shot], height_mm: float) -> tuple[float, float]:
    """Width and height, mm, of the picture, at most `height_mm` high."""
    return _fit(plan, shots, height_mm)[1:]


def court(plan: Plan, lettered: Mapping[str, list[Shot]], height_mm: float = 146.0) -> tuple[str, float, float]:
    """An SVG with its width and height, mm: the feeder's place, and for each letter where its balls land and where the
    player meets them."""
    scale, width, height = _fit(plan, [shot for shots in lettered.values() for shot in shots], height_mm)
    letter_mm = LETTER_MM if height_mm >= LARGE_FROM_MM else SMALL_LETTER_MM
    pad_x, pad_y = (4.2, 1.8) if height_mm >= LARGE_FROM_MM else (2.4, 1.0)
    under, over = _lines(plan, scale), []
    fixed: list[Box] = []
    wanted: list[tuple[Box, str, str]] = []  # box about its anchor, text, shape

    for letter, shots in lettered.items():
        for zone in dict.fromkeys(shot.zone_m for shot in shots if shot.zone_m):
            under.append(_zone(scale, zone, "1.6 1.2", 0.35))
        for shot in shots:
            met = scale(*shot.predicted.contact_m[:2])
            spot = scale(*shot.predicted.landing_m) if shot.predicted.landing_m else met
            under.append(_line(*spot, *met, 0.3, "0.6 1"))
            over += [_diamond(*met), _dot(*spot)] if shot.predicted.landing_m else [_diamond(*met)]
            fixed += [Box(*met, 3.6, 3.6), Box(*spot, 2, 2)]
        shape = "bounce" if shots[0].predicted.landing_m else "full"
        for place in places(shots):
            spots = [scale(*(shot.predicted.landing_m or shot.predicted.contact_m[:2])) for shot in place]
            x, y = (sum(values) / len(spots) for values in zip(*spots, strict=True))
            wanted.append((_text_box(x, y, letter, letter_mm, pad_x, pad_y), letter, shape))
    replies = _reply_zones(plan, lettered)
    for zone, users in replies.items():
        under.append(_zone(scale, zone, "4 1.2 0.6 1.2", 0.5))
        few = told if len(told := listed(users)) <= MOST_NAMED else f"{users[0]} …"
        text = "reply" if len(users) == len(lettered) else f"reply {few}"
        x, y = scale(*_own_ground(zone, [other for other in replies if other != zone]))
        wanted.append((_text_box(x, y, text, WORD_MM), text, "word"))
    x, y = scale(*plan.feeder.place_m)
    over.append(f'<rect x="{x - 2:.2f}" y="{y - 2:.2f}" width="4" height="4"/>')
    fixed.append(Box(x, y, 4, 4))
    text = "machine" if plan.feeder.kind == "machine" else "you"
    wanted.append((_text_box(x, y, text, WORD_MM), text, "word"))

    boxes = placed([box for box, _, _ in wanted], fixed, width, height)
    for (anchor, _, shape), box in zip(wanted, boxes, strict=True):
        if shape != "word":
            under.append(_line(anchor.x, anchor.y, box.x, box.y, 0.25, ""))
    labels = [
        _label(box, text, shape, WORD_MM if shape == "word" else letter_mm)
        for box, (_, text, shape) in zip(boxes, wanted, strict=True)
    ]
    return (
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="The court, player at the top"'
            f' width="{width:.1f}mm" height="{height:.1f}mm" viewBox="0 0 {width:.2f} {height:.2f}"'
            f' font-family="Roboto, Helvetica, Arial, sans-serif">{"".join([*under, *over, *labels])}</svg>'
        ),
        width,
        height,
    )


def placed(wanted: list[Box], fixed: list[Box], width: float, height: float) -> list[Box]:
    """The nearest free place for each box, in their order. No box touches another, nor a mark if there is room.

    A box tries places in growing circles round its own; if the picture is full, it stays.
    """
    done: list[Box] = []
    for box in wanted:
        free = None
        for near in _around(box, width, height):
            if not any(near.touches(other) for other in done):
                free = free or near
                if not any(near.touches(mark) for mark in fixed):
                    free = near
                    break
        done.append(free or box)
    return done


def _around(box: Box, width: float, height: float) -> Iterator[Box]:
    half_w, half_h = box.width / 2, box.height / 2
    for ring in range(60):
        radius = 2.5 * ring
        for step in range(_STEPS if ring else 1):
            turn = 2 * pi * step / _STEPS  # to the right first: beside the mark, off the ball's line
            x, y = box.x + radius * cos(turn), box.y + radius * sin(turn)
            if half_w <= x <= width - half_w and half_h <= y <= height - half_h:
                yield box.at(x, y)


def _fit(plan: Plan, shots: list[Shot], height_mm: float) -> tuple[_Scale, float, float]:
    court_ = plan.court
    side = max(court_.doubles_half_width_m, court_.post_x_m)
    xs = [-side, side, plan.feeder.place_m[0]]
    ys = [-court_.half_length_m, court_.half_length_m, plan.feeder.place_m[1]]
    for shot in shots:
        for x, y in (shot.predicted.contact_m[:2], shot.predicted.landing_m or shot.predicted.contact_m[:2]):
            xs.append(x)
            ys.append(y)
    left, right, bottom, top = min(xs) - 0.5, max(xs) + 0.5, min(ys) - 1.5, max(ys) + 1.5
    factor = min(WIDTH_MM / (right - left), height_mm / (top - bottom))
    if len(shots) > CROWD:
        beside = max(0.0, CROWDED_MM / factor - (right - left)) / 2
        left, right = left - beside, right + beside
    return _Scale(left, top, factor), (right - left) * factor, (top - bottom) * factor


def _reply_zones(plan: Plan, lettered: Mapping[str, list[Shot]]) -> dict[Zone, list[str]]:
    zones = {variation.id: variation.reply.zone_m for variation in plan.variations}
    result: dict[Zone, list[str]] = {}
    for letter, shots in lettered.items():
        zone = zones.get(shots[0].variation or "")
        if zone:
            result.setdefault(zone, []).append(letter)
    return result


def _own_ground(zone: Zone, others: list[Zone]) -> tuple[float, float]:
    """The point of a zone, near its middle, that lies in the fewest other zones, so that its name is not taken for
    theirs."""
    parts = (0.5, 0.25, 0.75, 0.1, 0.9)
    points = [(zone[0] + u * (zone[1] - zone[0]), zone[2] + v * (zone[3] - zone[2])) for u in parts for v in parts]
    return min(points, key=lambda p: sum(z[0] <= p[0] <= z[1] and z[2] <= p[1] <= z[3] for z in others))


def _lines(plan: Plan, scale: _Scale) -> list[str]:
    post = plan.court.post_x_m
    drawn = [_line(*scale(*one), *scale(*other), 0.3, "") for one, other in court_lines(plan.court)]
    return [*drawn, _line(*scale(-post, 0), *scale(post, 0), 1.1, "")]


def _line(x1: float, y1: float, x2: float, y2: float, stroke: float, dash: str) -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.2f}" y1="{y1:.2f}" x2="{x2:.2f}" y2="{y2:.2f}" stroke="black"'
        f' stroke-width="{stroke}"{dashed}/>'
    )


def _zone(scale: _Scale, zone: Zone, dash: str, stroke: float) -> str:
    (x1, y1), (x2, y2) = scale(zone[0], zone[3]), scale(zone[1], zone[2])
    return (
        f'<rect x="{x1:.2f}" y="{y1:.2f}" width="{x2 - x1:.2f}" height="{y2 - y1:.2f}" fill="none" stroke="black"'
        f' stroke-width="{stroke}" stroke-dasharray="{dash}"/>'
    )


def _dot(x: float, y: float) -> str:
    return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1"/>'


def _diamond(x: float, y: float) -> str:
    return (
        f'<path d="M{x:.2f} {y - 1.8:.2f}l1.8 1.8l-1.8 1.8l-1.8 -1.8z" fill="white" stroke="black" stroke-width="0.5"/>'
    )


def _text_box(x: float, y: float, text: str, size: float, pad_x: float = 0.6, pad_y: float = 0.4) -> Box:
    return Box(x, y, _em(size) * size * len(text) + pad_x, size + pad_y)


def _em(size: float) -> float:
    return _WORD_EM if size == WORD_MM else _LETTER_EM


def _label(box: Box, text: str, shape: str, size: float) -> str:
    frame = 'fill="white"' if shape == "word" else 'fill="white" stroke="black" stroke-width="0.6"'
    round_by = box.height / 2 if shape == "bounce" else 0
    length = _em(size) * size * len(text)
    weight = "normal" if shape == "word" else "bold"
    return (
        f'<g class="label"><rect x="{box.x - box.width / 2:.2f}" y="{box.y - box.height / 2:.2f}"'
        f' width="{box.width:.2f}" height="{box.height:.2f}" rx="{round_by:.2f}" {frame}/>'
        f'<text x="{box.x:.2f}" y="{box.y + 0.36 * size:.2f}" font-size="{size}" font-weight="{weight}"'
        f' text-anchor="middle" textLength="{length:.2f}" lengthAdjust="spacingAndGlyphs">{text}</text></g>'
    )
