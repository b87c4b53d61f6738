"""A picture as SVG, black on white; a page recolours it by its classes. One unit is one millimetre.

Marks differ by shape, letter and dash, never by tone: a dot where the ball lands, a diamond where it is met, a black
square for the feeder, a thick bar for the screen. Short dashes frame where the ball should land, long ones with dots
the reply's target.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import cos, hypot, radians, sin
from types import MappingProxyType

from ....compiler.model.plan import Plan, Shot
from ..lines import court_lines
from ..sheet.fit import width as text_width
from .pictures import CourtPicture, Tag, spot
from .placing import FEW, MANY, Box, Point, Stroke, placed
from .screen import AHEAD_M, WIDE_M, screen

COURT_MM = 61.0
"""Width of the receiving half between its outer lines."""
LETTER_MM, WORD_MM = 6.4, 5.0  # 18 pt, 14 pt
SMALL_MM, GAP_MM = 21.0, 2.0
"""Width of the whole court, and between it and the half."""
EDGE_MM = 2.5
"""Least room around the half's outer lines and marks."""
NET_M = 0.5
"""How much of the feeder's half is drawn below the net."""
PAST_M = 1.0
"""How much is drawn behind the service line of a half that is cut off there."""
SHORT = "1.6 1.2"
"""Dashes of where a ball has to come to, mm."""
CAP_MM = 1.2
"""Of the ends of a place across the court, to each side of it."""
POINT = 25.4 / 72
Strips = Mapping[str, Sequence[Point]]
NO_STRIPS: Strips = MappingProxyType({})
NO_NAMES: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Drawing:
    svg: str
    width: float
    height: float
    """Millimetres."""
    labels: tuple[tuple[str, Box | None], ...]
    """Text and place of each label; None if there was no room for it."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """Metres of the court to millimetres of the picture."""

    left: float
    top: float
    factor: float
    at: float = 0.0
    """Where the picture begins, mm from the left."""

    @property
    def told(self) -> str:
        """For a page that lets a ball fly: m, m, mm for a metre, mm."""
        return f"{self.left:.4f} {self.top:.4f} {self.factor:.4f} {self.at:.2f}"

    def __call__(self, x: float, y: float) -> Point:
        return self.at + (x - self.left) * self.factor, (self.top - y) * self.factor


def draw(
    plan: Plan, picture: CourtPicture, zoom: float = 1.0, more: bool = False, strips: Strips = NO_STRIPS,
    own: Mapping[str, str] = NO_NAMES, cut: bool = False, short: bool = False, front: str = "",
) -> Drawing:  # fmt: skip
    """The receiving half with a label for each letter, and the whole court with the feeder and the reply's target.

    `more` adds what a page shows of the ball that is chosen: its spread, and a broad strip to point at; `strips`
    the outline, m, of the replies to some balls, on the whole court; `own` the label of a ball that shares its
    letter with others and its place with none. `cut` ends the half behind the service line if nothing lies farther
    back and all labels have room; `short` names all balls of a feed by its letter alone, and so does a drawing that has
    no room for more. The ball in `front` lies over the others. Whoever enlarges the drawing by `zoom` gets the courts
    in the sizes above, with larger letters on them.
    """
    feeder = plan.feeder.at(picture.fed_from)
    scale, width, height = _half(plan, feeder.place_m, picture.shots, COURT_MM / zoom, cut)
    small, small_height = _whole(plan, picture, width + GAP_MM, SMALL_MM / zoom, strips)
    whole_width, whole_height = width + GAP_MM + SMALL_MM / zoom, max(height, small_height)
    number = {shot.id: n for n, shot in enumerate(plan.shots)}
    parts = _lines(plan, scale, 0.35, 1.1, between=(-NET_M, scale.top))
    marks: list[Box] = []
    ways: list[Stroke] = []
    zones = dict.fromkeys(shot.zone_m for shot in picture.shots if shot.zone_m)
    parts += [_zone("zone", scale, zone, SHORT, 0.35) for zone in zones]
    places = dict.fromkeys(_across(scale, shot) for shot in picture.shots if shot.place_m)
    parts += [_place(*ends) for ends in places]
    ways += places  # no label covers them if there is room elsewhere
    for shot in sorted(picture.shots, key=lambda shot: shot.id == front):
        marked, drawn, way = _ball(scale, shot, number[shot.id], more)
        parts.append(drawn)
        marks += marked
        ways += way
    here = feeder.place_m[1] >= -NET_M
    if here:
        at = scale(*feeder.place_m)
        parts.append(_square(*at, 2.0))
        marks.append(Box(*at, 4.0, 4.0))
    tags = [
        replace(tag, text=own.get(tag.shots[0].id, tag.text)) if len(tag.shots) == 1 else tag for tag in picture.tags
    ]
    if short:
        tags = [replace(tag, text=tag.short or tag.text) for tag in tags]
    wanted = [_label_box(scale, tag) for tag in tags]
    named = [[scale(*at) for at in tag.spots] for tag in tags]
    texts = [tag.text for tag in tags]
    if here:
        text = who(plan)
        wanted.append(Box(*at, text_width(text, WORD_MM / POINT) + 1, WORD_MM + 0.6))
        named.append([at])
        texts.append(text)
    shorter = not short and any(tag.short for tag in tags)
    found, astray = placed(wanted, named, marks, ways, width, height, FEW if shorter else MANY)
    if astray and shorter:
        return draw(plan, picture, zoom, more, strips, own, cut, True, front)
    if astray and cut:
        return draw(plan, picture, zoom, more, strips, own, front=front)
    for tag in tags:
        parts.append(_chain(scale, tag))
    labels = []  # over the lines to all of them
    for n, (text, box) in enumerate(zip(texts, found, strict=True)):
        if box is None or not text:  # a ball that no letter names is drawn without one
            continue
        if n == len(tags):
            labels.append(_word(box, text))
            continue
        tag = tags[n]
        near = min((scale(*at) for at in tag.spots), key=lambda at: hypot(box.x - at[0], box.y - at[1]))
        to = box.edge(near)
        if hypot(to[0] - near[0], to[1] - near[1]) > 2.8:  # beyond the mark's own edge
            parts.append(_line("leader", near, to, 0.25))
        balls = [number[shot.id] for shot in tag.shots]
        labels.append(_label(box, text, balls, bounces=tag.shots[0].predicted.landing_m is not None))
    parts += [*labels, small]
    title = f"The court, player at the top: {', '.join(tag.text for tag in picture.tags)}"
    return Drawing(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="court" role="img" aria-label="{title}"'
            f' width="{whole_width:.1f}mm" height="{whole_height:.1f}mm"'
            f' viewBox="0 0 {whole_width:.2f} {whole_height:.2f}" data-scale="{scale.told}"'
            f' font-family="Roboto, Helvetica, Arial, sans-serif">{"".join(parts)}</svg>'
        ),
        whole_width,
        whole_height,
        tuple(zip(texts, found, strict=True)),
    )


def who(plan: Plan) -> str:
    return "machine" if plan.feeder.kind == "machine" else "you"


def _half(plan: Plan, place: Point, shots: Sequence[Shot], court_mm: float, cut: bool) -> tuple[_Scale, float, float]:
    """The receiving half with all marks, cut off if that is wanted; its width and height, mm."""
    court = plan.court
    factor = court_mm / (2 * court.doubles_half_width_m)
    edge = EDGE_MM / factor
    spots = [at for shot in shots for at in (spot(shot), shot.predicted.contact_m[:2])]
    if place[1] >= -NET_M:
        spots.append(place)
    side = court.doubles_half_width_m
    left = min([-side, *(x for x, _ in spots)]) - edge
    right = max([side, *(x for x, _ in spots)]) + edge
    farthest = max([*(y for _, y in spots), *(shot.zone_m[3] for shot in shots if shot.zone_m)])
    if cut and farthest + edge < court.service_m + PAST_M:
        top = court.service_m + PAST_M
    else:
        top = max([court.half_length_m, *(y for _, y in spots)]) + edge
    return _Scale(left, top, factor), (right - left) * factor, (top + NET_M) * factor


def _whole(plan: Plan, picture: CourtPicture, at: float, wide: float, strips: Strips) -> tuple[str, float]:
    """The whole court, and its height: where the feeder stands, how the balls come, and where the replies go."""
    court, feeder = plan.court, plan.feeder.at(picture.fed_from)
    place = feeder.place_m
    side = max(court.post_x_m, court.doubles_half_width_m + 0.3, abs(place[0]) + 0.6)
    spots = [shot.predicted.contact_m[:2] for shot in picture.shots]
    top = max([court.half_length_m, *(y for _, y in spots)]) + 0.8
    bottom = min(-court.half_length_m, place[1]) - 1.2
    factor = wide / (2 * side)
    scale = _Scale(-side, top, factor, at)
    parts = _lines(plan, scale, 0.2, 0.8)
    for shot in picture.shots:
        parts.append(_line("way", scale(*shot.launch.origin_m[:2]), scale(*spot(shot)), 0.2, "0.6 0.8"))
    for n, shot in enumerate(plan.shots):
        if shot.id in strips and shot in picture.shots:
            outline = "L".join("{:.2f} {:.2f}".format(*scale(*point)) for point in strips[shot.id])
            parts.append(f'<g class="ball" data-ball="{n}"><path class="corridor extra" d="M{outline}z"/></g>')
    aimed = picture.shots if picture.variation else ()
    for target in dict.fromkeys(zone for shot in aimed for zone in plan.targets(shot)):
        parts.append(_zone("target", scale, target, "2 0.7 0.4 0.7", 0.5))
    for x, y in (scale(*spot(shot)) for shot in picture.shots):
        parts.append(f'<circle class="dot" cx="{x:.2f}" cy="{y:.2f}" r="0.5"/>')
    parts.append(_square(*scale(*place), 1.3))
    if feeder.screen and (cover := screen(plan, picture.fed_from)):
        edge, y = place[0] + cover.edge_m, place[1] + AHEAD_M
        parts.append(_line("cover", scale(edge, y), scale(edge + cover.side * WIDE_M, y), 1.1))
    return f'<g class="whole" data-scale="{scale.told}">{"".join(parts)}</g>', (top - bottom) * factor


def _ball(scale: _Scale, shot: Shot, number: int, more: bool) -> tuple[list[Box], str, list[Stroke]]:
    """Its marks as boxes, its drawing, and its way from landing to contact."""
    met, at = scale(*shot.predicted.contact_m[:2]), scale(*spot(shot))
    inner = _line("way", at, met, 0.3, "0.6 1") if at != met else ""
    if more:
        inner = _touch(at, met) + _spread(scale, shot) + inner
    boxes = [Box(*met, 3.6, 3.6)]
    inner += _diamond(*met)
    if shot.predicted.landing_m:
        boxes.append(Box(*at, 2.2, 2.2))
        inner += f'<circle class="dot" cx="{at[0]:.2f}" cy="{at[1]:.2f}" r="1.1"/>'
    return boxes, f'<g class="ball" data-ball="{number}">{inner}</g>', [(at, met)]


def _touch(at: Point, met: Point) -> str:
    return f'<line class="touch" x1="{at[0]:.2f}" y1="{at[1]:.2f}" x2="{met[0]:.2f}" y2="{met[1]:.2f}"/>'


def _spread(scale: _Scale, shot: Shot) -> str:
    """Ellipses of one and two standard deviations about the landing; on the full strokes so far to each side."""
    known = shot.spread
    if known is None or known.half_axes_m is None:
        return ""
    x, y = scale(*spot(shot))
    if shot.predicted.landing_m is None:
        aside = scale.factor * deviations(shot)[0]
        return "".join(
            f'<path class="spread s{n}" d="M{x - n * aside:.2f} {y - CAP_MM / 2:.2f}v{CAP_MM}'
            f'M{x + n * aside:.2f} {y - CAP_MM / 2:.2f}v{CAP_MM}" fill="none"/>'
            for n in (1, 2)
        )
    long, short = (scale.factor * axis for axis in (max(known.half_axes_m), min(known.half_axes_m)))
    turn = -(known.angle_deg or 0.0)  # y points down in the drawing
    return "".join(
        f'<ellipse class="spread s{n}" cx="{x:.2f}" cy="{y:.2f}" rx="{n * long:.2f}" ry="{n * short:.2f}" fill="none"'
        f' transform="rotate({turn:.2f} {x:.2f} {y:.2f})"/>'
        for n in (1, 2)
    )


def deviations(shot: Shot) -> tuple[float, ...]:
    """One standard deviation of a ball on the full across the court and in height, m; empty where it is not known."""
    known = shot.spread
    if known is None or known.half_axes_m is None:
        return ()
    long, short, turn = max(known.half_axes_m), min(known.half_axes_m), radians(known.angle_deg or 0.0)
    return hypot(long * cos(turn), short * sin(turn)), hypot(long * sin(turn), short * cos(turn))


def _across(scale: _Scale, shot: Shot) -> Stroke:
    """On the full, how far across the ball is to be met."""
    assert shot.place_m is not None
    left, right, *_ = shot.place_m
    return scale(left, shot.predicted.contact_m[1]), scale(right, shot.predicted.contact_m[1])


def _place(one: Point, two: Point) -> str:
    """That line with its ends."""
    (left, y), (right, _) = one, two
    ends = f"M{left:.2f} {y - CAP_MM:.2f}v{2 * CAP_MM}M{right:.2f} {y - CAP_MM:.2f}v{2 * CAP_MM}"
    return (
        f'<path class="zone" d="M{left:.2f} {y:.2f}H{right:.2f}" fill="none" stroke="black" stroke-width="0.35"'
        f' stroke-dasharray="{SHORT}"/><path class="zone" d="{ends}" fill="none" stroke="black" stroke-width="0.35"/>'
    )


def _chain(scale: _Scale, tag: Tag) -> str:
    """A thin line through the marks that share a label."""
    ends = list(dict.fromkeys(scale(*at) for at in tag.spots))
    return "".join(_line("leader", one, two, 0.25) for one, two in pairwise(ends))


def _label_box(scale: _Scale, tag: Tag) -> Box:
    spots = [scale(*at) for at in tag.spots]
    x, y = (sum(values) / len(spots) for values in zip(*spots, strict=True))
    near = min(spots, key=lambda at: hypot(at[0] - x, at[1] - y))
    return Box(*near, max(text_width(tag.text, LETTER_MM / POINT, True) + 2.6, LETTER_MM + 1.6), LETTER_MM + 1.6)


def _lines(
    plan: Plan, scale: _Scale, stroke: float, net: float, between: tuple[float, float] | None = None
) -> list[str]:
    """The lines of the rules; what of them is not `between` two distances from the net is cut off."""
    drawn = []
    for (x1, y1), (x2, y2) in court_lines(plan.court):
        if between is not None:
            low, high = between
            if max(y1, y2) <= low or min(y1, y2) >= high:
                continue
            y1, y2 = (min(max(y, low), high) for y in (y1, y2))
        drawn.append(_line("line", scale(x1, y1), scale(x2, y2), stroke))
    post = plan.court.post_x_m if between is None else plan.court.doubles_half_width_m
    return [*drawn, _line("net", scale(-post, 0), scale(post, 0), net)]


def _line(kind: str, one: Point, two: Point, stroke: float, dash: str = "") -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line class="{kind}" x1="{one[0]:.2f}" y1="{one[1]:.2f}" x2="{two[0]:.2f}" y2="{two[1]:.2f}" stroke="black"'
        f' stroke-width="{stroke}"{dashed}/>'
    )


def _zone(kind: str, scale: _Scale, zone: tuple[float, float, float, float], dash: str, stroke: float) -> str:
    (x1, y1), (x2, y2) = scale(zone[0], zone[3]), scale(zone[1], zone[2])
    return (
        f'<rect class="{kind}" x="{x1:.2f}" y="{y1:.2f}" width="{x2 - x1:.2f}" height="{y2 - y1:.2f}" fill="none"'
        f' stroke="black" stroke-width="{stroke}" stroke-dasharray="{dash}"/>'
    )


def _square(x: float, y: float, half: float) -> str:
    return f'<rect class="feeder" x="{x - half:.2f}" y="{y - half:.2f}" width="{2 * half}" height="{2 * half}"/>'


def _diamond(x: float, y: float) -> str:
    return (
        f'<path class="met" d="M{x:.2f} {y - 1.8:.2f}l1.8 1.8l-1.8 1.8l-1.8 -1.8z" fill="white" stroke="black"'
        ' stroke-width="0.5"/>'
    )


def _label(box: Box, text: str, named: Sequence[int], bounces: bool) -> str:
    """A letter in a round frame, or in a square one if the ball is met on the full. Of the balls that it names, a page
    finds the first in `data-ball`, the rest in `data-also`."""
    also = f' data-also="{" ".join(map(str, named[1:]))}"' if named[1:] else ""
    return (
        f'<g class="label" data-ball="{named[0]}"{also}>'
        f'<rect x="{box.x - box.width / 2:.2f}" y="{box.y - box.height / 2:.2f}"'
        f' width="{box.width:.2f}" height="{box.height:.2f}" rx="{box.height / 2 if bounces else 0:.2f}" fill="white"'
        f' stroke="black" stroke-width="0.5"/>{_text(box, text, LETTER_MM, "bold")}</g>'
    )


def _word(box: Box, text: str) -> str:
    return f'<g class="word">{_text(box, text, WORD_MM, "normal")}</g>'


def _text(box: Box, text: str, size_mm: float, weight: str) -> str:
    return (
        f'<text x="{box.x:.2f}" y="{box.y + 0.355 * size_mm:.2f}" font-size="{size_mm}" font-weight="{weight}"'
        f' text-anchor="middle">{text}</text>'
    )
