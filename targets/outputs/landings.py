"""Test balls on the court: where each landed, where the profile expected it, and where the new profile does."""

from collections.abc import Sequence
from math import isfinite

from ...compiler.model.plan import Plan
from ...compiler.printable import visible
from .lines import court_lines

Places = Sequence[Sequence[float]]
"""x and y of each ball, m; not a number where it is not known."""
PER_M = 40
MARGIN_M = 1.2
LEGEND = ("landed", "expected before", "expected now")


def render(plan: Plan, balls: Sequence[str], measured: Places, before: Places, now: Places) -> str:
    """An SVG of the player's half, the net below, as seen from behind the machine. Marks differ by shape:
    a dot landed, a ring was expected before, a cross is expected now; a dashed line joins ring and dot."""
    court = plan.court
    wide = court.doubles_half_width_m + MARGIN_M
    deep = max([court.half_length_m, *(y for _, y in [*measured, *before, *now] if isfinite(y))]) + MARGIN_M
    foot = 1.6

    def at(x: float, y: float) -> tuple[str, str]:
        return f"{(x + wide) * PER_M:.1f}", f"{(deep - y) * PER_M:.1f}"

    parts = []
    for x1, y1, x2, y2 in _half(plan):
        (a, b), (c, d) = at(x1, y1), at(x2, y2)
        parts.append(f'<line x1="{a}" y1="{b}" x2="{c}" y2="{d}" stroke="#000" stroke-width="2"/>')
    for ball, here, was, will in zip(balls, measured, before, now, strict=True):
        if not all(map(isfinite, here)):
            continue
        x, y = at(here[0], here[1])
        if all(map(isfinite, was)):
            a, b = at(was[0], was[1])
            parts.append(f'<line x1="{x}" y1="{y}" x2="{a}" y2="{b}" stroke="#000" stroke-dasharray="3 4"/>')
            parts.append(_ring(a, b))
        if all(map(isfinite, will)):
            parts.append(_cross(*at(will[0], will[1])))
        parts.append(_dot(x, y))
        parts.append(f'<text x="{float(x) + 8:.1f}" y="{float(y) - 6:.1f}" font-size="15">{_plain(ball)}</text>')
    base = (deep + 0.8) * PER_M
    for i, (mark, words) in enumerate(zip((_dot, _ring, _cross), LEGEND, strict=True)):
        x0 = (0.5 + 3.7 * i) * PER_M
        parts.append(mark(f"{x0:.1f}", f"{base:.1f}"))
        parts.append(f'<text x="{x0 + 14:.1f}" y="{base + 6:.1f}" font-size="17">{words}</text>')
    size = f"{2 * wide * PER_M:.0f} {(deep + foot) * PER_M:.0f}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" role="img" font-family="sans-serif">'
        "<title>Where the test balls landed, and where they were and are expected</title>"
        f'<rect width="100%" height="100%" fill="#fff"/>{"".join(parts)}</svg>\n'
    )


def _half(plan: Plan) -> list[tuple[float, float, float, float]]:
    """The lines of the player's half, and the net."""
    court = plan.court
    net = (-court.post_x_m, 0.0, court.post_x_m, 0.0)
    lines = ((*one, *other) for one, other in court_lines(court))
    return [net, *((x1, max(y1, 0.0), x2, max(y2, 0.0)) for x1, y1, x2, y2 in lines if max(y1, y2) > 0)]


def _dot(x: str, y: str) -> str:
    return f'<circle cx="{x}" cy="{y}" r="5"/>'


def _ring(x: str, y: str) -> str:
    return f'<circle cx="{x}" cy="{y}" r="7" fill="none" stroke="#000" stroke-width="2"/>'


def _cross(x: str, y: str) -> str:
    a, b = float(x), float(y)
    return f'<path d="M{a - 7:.1f} {b:.1f}h14M{a:.1f} {b - 7:.1f}v14" stroke="#000" stroke-width="3" fill="none"/>'


def _plain(text: str) -> str:
    from html import escape

    return escape(visible(text))
