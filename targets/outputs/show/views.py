"""Every flight of a plan from the side, to scale: SVG in metres.

Marks differ by shape: a dot where the ball lands, a diamond where it is met, a square for the feeder. A group of class
`ball` holds what belongs to one shot; the style of the page shows the chosen one.
"""

from collections.abc import Sequence
from html import escape
from math import cos, radians, sin

from ....compiler.model.plan import Plan, Shot
from . import Paths
from .figures import BallFigures

Point = tuple[float, float]
STRETCH = 2.0
"""How many times larger the side view draws heights than lengths."""
FAN_M = 5.0
"""Length of the fan in which 19 of 20 replies leave."""
DEVIATIONS = 2.0
LETTER_M = 0.65
"""Width of a character of a ball's letter, bold .9 px: an estimate on the safe side."""


def beside(plan: Plan, paths: Paths, shown: Sequence[BallFigures]) -> str:
    """From the side, player at the right; heights stretched."""
    court = plan.court
    ys = [y for shot in plan.shots for _, _, y, _ in paths[shot.id]] + [-court.half_length_m, court.half_length_m]
    peak = max(max(z for *_, z in paths[shot.id]) for shot in plan.shots) if plan.shots else 1.0
    left, top = min(ys) - 1.2, STRETCH * max([peak + 0.5, *(_fan_top(plan, shot) for shot in plan.shots)])
    ends = [shot.predicted.contact_m[1] - 0.2 + _wide(ball) for shot, ball in zip(plan.shots, shown, strict=True)]
    right = max(max(ys) + 0.8, *ends)
    parts = []
    for height in range(0, int(peak) + 2):
        if height < peak + 0.5:
            y = -STRETCH * height
            kind = "grid" if height else "ground"
            parts.append(f'<line class="{kind}" x1="{left:.2f}" y1="{y}" x2="{right:.2f}" y2="{y}"/>')
            parts.append(f'<text class="scale" x="{left + 0.1:.2f}" y="{y - 0.15:.2f}">{height} m</text>')
    for y in (-court.half_length_m, -court.service_m, court.service_m, court.half_length_m):
        parts.append(f'<line class="line" x1="{y:.2f}" y1="0" x2="{y:.2f}" y2=".35"/>')
    centre, post = -STRETCH * court.net_centre_m, -STRETCH * court.net_post_m
    parts.append(
        f'<line class="net" x1="0" y1="0" x2="0" y2="{centre:.3f}"/>'
        f'<line class="line" x1="0" y1="{centre:.3f}" x2="0" y2="{post:.3f}"/>'
    )
    for n, (shot, ball) in enumerate(zip(plan.shots, shown, strict=True)):
        way = [(y, -STRETCH * z) for _, _, y, z in paths[shot.id]]
        landing = shot.predicted.landing_m
        dot = f'<circle class="lands" cx="{landing[1]:.3f}" cy="0" r=".18"/>' if landing else ""
        met = shot.predicted.contact_m
        inner = _fan_beside(plan, shot) + _flight(way) + dot + _diamond(met[1], -STRETCH * met[2])
        inner += _letter(ball, met[1] - 0.2, -STRETCH * met[2] - 0.5)
        parts.append(_group(n, ball, inner))
    box = f"{left:.2f} {-top:.2f} {right - left:.2f} {top + 0.6:.2f}"
    return _svg("beside", "From the side, player at the right; heights drawn twice as large", box, parts)


def _svg(name: str, title: str, box: str, parts: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{name}" class="{name}" role="img" aria-label="{title}"'
        f' viewBox="{box}">'
        f'{"".join(parts)}<circle class="flying" r=".22" cx="0" cy="0" visibility="hidden"/></svg>'
    )


def _group(n: int, ball: BallFigures, inner: str) -> str:
    title = escape(f"{ball.letter} {ball.name}", quote=True)
    return f'<g class="ball" data-ball="{n}"><title>{title}</title>{inner}</g>'


def _flight(way: Sequence[Point]) -> str:
    points = " ".join(f"{x:.3f},{y:.3f}" for x, y in way)
    return f'<polyline class="touch" points="{points}"/><polyline class="flight" points="{points}"/>'


def _wide(ball: BallFigures) -> float:
    return LETTER_M * len(ball.letter)


def _letter(ball: BallFigures, x: float, y: float) -> str:
    return f'<text class="letter extra" x="{x:.2f}" y="{y:.2f}">{escape(ball.letter)}</text>'


def _diamond(x: float, y: float) -> str:
    return f'<path class="met" d="M{x:.3f} {y - 0.28:.3f}l.28 .28l-.28 .28l-.28 -.28z"/>'


def _fan(x: float, y: float, ends: Sequence[Point]) -> str:
    way = "".join(f"L{a:.3f} {b:.3f}" for a, b in ends)
    return f'<path class="fan extra" d="M{x:.3f} {y:.3f}{way}z"/>'


def _fan_beside(plan: Plan, shot: Shot) -> str:
    """Elevations of the reply, which flies towards -y."""
    turns = _rising(plan, shot)
    _, y, z = shot.predicted.contact_m
    if not turns:
        return ""
    return _fan(y, -STRETCH * z, [(y - FAN_M * cos(turn), -STRETCH * (z + FAN_M * sin(turn))) for turn in turns])


def _rising(plan: Plan, shot: Shot) -> list[float]:
    known = shot.reply
    if known is None or known.elevation_deg is None:
        return []
    half = DEVIATIONS * plan.player.scatter_angle_deg
    return [radians(known.elevation_deg + half * step / 4) for step in range(-4, 5)]


def _fan_top(plan: Plan, shot: Shot) -> float:
    return shot.predicted.contact_m[2] + FAN_M * max([sin(turn) for turn in _rising(plan, shot)], default=0.0)
