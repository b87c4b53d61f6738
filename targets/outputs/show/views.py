"""Every flight of a plan from the side, to scale: SVG in metres.

Marks differ by shape: a dot where the ball lands, a diamond where it is met, a square for the feeder. A group of class
`ball` holds what belongs to one shot; the style of the page shows the chosen one.
"""

from collections.abc import Sequence
from html import escape
from itertools import pairwise
from math import ceil, hypot

from ....compiler.model.plan import Plan, Shot
from ..court.svg import deviations
from . import NO_REPLIES, Path, Paths, Replies
from .figures import BallFigures

Point = tuple[float, float]
STRETCH = 2.0
"""How many times larger the side view draws heights than lengths."""
BEHIND_M = 0.7
"""How far behind the contact the player is drawn, m: about an arm with a bent elbow (common practice, no source)."""


STRINGS_M = 0.53
"""From the hand to the middle of the strings, m: a racket of 0.69 m, held at its end, with a head of about 0.33 m
(common practice, no source)."""
SCALE_M = 0.75
"""Over the highest line of the scale of heights, for its figures, in m of the drawing."""
CAP_M = 0.5
"""Half the breadth of an end of a place, m of the drawing."""
LETTER_M = 2.0
"""Room for the letter of a ball behind the player, where no flight passes."""
NAMES_M, UNDER_M = 3.0, 0.7
"""From a baseline to its service line, under which their names do not stand beside each other; how much lower one of
them then stands, m of the drawing."""
LOW_M = 0.1
"""Under this height a lowest point of a flight is a bounce: the centre is then one radius, 0.033 m, up."""


def beside(plan: Plan, paths: Paths, shown: Sequence[BallFigures], replies: Replies = NO_REPLIES) -> str:
    """From the side, player at the right; heights stretched."""
    court = plan.court
    ys = [y for shot in plan.shots for _, _, y, _ in paths[shot.id]] + [-court.half_length_m, court.half_length_m]
    peak = max(max(z for *_, z in paths[shot.id]) for shot in plan.shots) if plan.shots else 1.0
    grid = range(ceil(peak + 0.5))
    replied = [z + 0.3 for ways in replies.values() for way in ways[:3] for *_, z in way]
    top = max(STRETCH * max([peak + 0.5, *replied]), STRETCH * grid[-1] + SCALE_M)
    left, right = min(ys) - 1.2, max(ys) + BEHIND_M + 0.5 + LETTER_M
    parts = []
    for height in grid:
        y = -STRETCH * height
        kind = "grid" if height else "ground"
        parts.append(f'<line class="{kind}" x1="{left:.2f}" y1="{y}" x2="{right:.2f}" y2="{y}"/>')
        parts.append(f'<text class="scale" x="{left + 0.1:.2f}" y="{y - 0.15:.2f}">{height} m</text>')
    below = UNDER_M if court.half_length_m - court.service_m < NAMES_M else 0.0
    for y, name in ((court.half_length_m, "baseline"), (court.service_m, "service line"), (0.0, "net")):
        under = 0.9 + below * (y == court.service_m)
        for at in sorted({-y, y}):
            parts.append(f'<line class="line" x1="{at:.2f}" y1="0" x2="{at:.2f}" y2="{under - 0.55:.2f}"/>')
            parts.append(f'<text class="scale" x="{at:.2f}" y="{under:.2f}" text-anchor="middle">{name}</text>')
    centre, post = -STRETCH * court.net_centre_m, -STRETCH * court.net_post_m
    parts.append(
        f'<line class="net" x1="0" y1="0" x2="0" y2="{centre:.3f}"/>'
        f'<line class="line" x1="0" y1="{centre:.3f}" x2="0" y2="{post:.3f}"/>'
    )
    for n, (shot, ball) in enumerate(zip(plan.shots, shown, strict=True)):
        way = [(y, -STRETCH * z) for _, _, y, z in paths[shot.id]]
        landing = shot.predicted.landing_m
        dot = f'<circle class="lands" cx="{landing[1]:.3f}" cy="0" r=".18"/>' if landing else ""
        dot += "".join(f'<circle class="again" cx="{y:.3f}" cy="0" r=".18"/>' for y in bounces(paths[shot.id])[1:])
        met = shot.predicted.contact_m
        inner = _corridor(replies[shot.id]) if shot.id in replies else ""
        inner += _player(plan, shot) + _place(shot) + _flight(way) + dot + _diamond(met[1], -STRETCH * met[2])
        inner += _letter(ball, met[1] + BEHIND_M + 0.4, -STRETCH * met[2])
        parts.append(_group(n, ball, inner))
    box = f"{left:.2f} {-top:.2f} {right - left:.2f} {top + 1.2 + below:.2f}"
    return _svg("beside", "From the side, player at the right; heights drawn twice as large", box, parts)


def strips(replies: Replies) -> dict[str, list[Point]]:
    """The outline from above, x and y, m, of the strip in which 19 of 20 replies leave."""
    return {
        name: [(x, y) for way in (ways[3], ways[4][::-1]) for _, x, y, _ in way]
        for name, ways in replies.items()
        if len(ways) > 4
    }


def bounces(path: Path) -> list[float]:
    """Where a flight touches the ground, y, m: lowest points near it."""
    near = pairwise(pairwise(path))
    return [at[2] for (before, at), (_, after) in near if before[3] > at[3] <= after[3] and at[3] < LOW_M]


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


def _letter(ball: BallFigures, x: float, y: float) -> str:
    return f'<text class="letter extra" x="{x:.2f}" y="{y:.2f}" >{escape(ball.letter)}</text>'


def _diamond(x: float, y: float) -> str:
    return f'<path class="met" d="M{x:.3f} {y - 0.28:.3f}l.28 .28l-.28 .28l-.28 -.28z"/>'


def _place(shot: Shot) -> str:
    """On the full, between which heights the ball is to be met, and one and two standard deviations of its own."""
    if shot.place_m is None:
        return ""
    (_, y, z), (*_, low, high) = shot.predicted.contact_m, shot.place_m
    ends = [(low, CAP_M), (high, CAP_M)]
    drawn = (
        f'<line class="place extra" x1="{y:.3f}" y1="{-STRETCH * low:.3f}" x2="{y:.3f}" y2="{-STRETCH * high:.3f}"/>'
    )
    drawn += "".join(_cap("place", y, end, wide) for end, wide in ends)
    sides = deviations(shot)
    return drawn + "".join(_cap("spread", y, z + n * sides[1], CAP_M / 2) for n in (-2, -1, 1, 2) if sides)


def _cap(kind: str, y: float, z: float, wide: float) -> str:
    at = -STRETCH * z
    return f'<line class="{kind} extra" x1="{y - wide:.3f}" y1="{at:.3f}" x2="{y + wide:.3f}" y2="{at:.3f}"/>'


def _corridor(ways: Sequence[Path]) -> str:
    """The reply's flight, and the strip in which 19 of 20 leave."""
    best, low, high = ([(y, -STRETCH * z) for _, _, y, z in way] for way in ways[:3])
    strip = "L".join(f"{x:.3f} {y:.3f}" for x, y in [*low, *reversed(high)])
    line = " ".join(f"{x:.3f},{y:.3f}" for x, y in best)
    return f'<path class="corridor extra" d="M{strip}z"/><polyline class="answer extra" points="{line}"/>'


def _player(plan: Plan, shot: Shot) -> str:
    """To scale if the script says how tall: behind the contact, the arm to the hand, the racket to the ball."""
    tall, (_, y, z) = plan.player_of(shot).stature_m, shot.predicted.contact_m
    if tall is None:
        return ""
    foot, shoulder, head = y + BEHIND_M, STRETCH * 0.82 * tall, 0.065 * tall
    neck = STRETCH * (tall - 2 * head)
    part = STRINGS_M / hypot(BEHIND_M, z - 0.82 * tall)
    hand, high = y + part * BEHIND_M, STRETCH * (z + part * (0.82 * tall - z))
    return (
        f'<g class="player extra"><line x1="{foot:.3f}" y1="0" x2="{foot:.3f}" y2="{-neck:.3f}"/>'
        f'<line x1="{foot:.3f}" y1="{-shoulder:.3f}" x2="{hand:.3f}" y2="{-high:.3f}"/>'
        f'<line class="racket" x1="{hand:.3f}" y1="{-high:.3f}" x2="{y:.3f}" y2="{-STRETCH * z:.3f}"/>'
        f'<circle class="hand" cx="{hand:.3f}" cy="{-high:.3f}" r=".12"/>'
        f'<ellipse cx="{foot:.3f}" cy="{-STRETCH * (tall - head):.3f}" rx="{head:.3f}" ry="{STRETCH * head:.3f}"/></g>'
    )
