"""The picture of one ball as a file of its own (SVG): from above with the balls of its variation, from the side with
all, and its numbers. It loads nothing."""

import re
from html import escape
from importlib.resources import files
from textwrap import wrap

from ....compiler.model.plan import Plan
from ....compiler.printable import visible
from ..court.pictures import pictures
from ..court.svg import draw
from ..sheet.letters import letters
from . import NO_REPLIES, Paths, Replies, figures
from .page import KEY
from .terminal import choose
from .views import beside, strips

PIXELS = 24
"""Per metre of the court, unless another size is asked for."""
ROW = 1.15
LABEL, CHARACTER, SMALLER = 6.8, 0.42, 0.35
"""Width of the labels, and of a character of the figures and of the key, m: an estimate on the safe side."""
MM = 0.17
"""Metres of the picture for a millimetre of the drawing from above."""
WORDS = (
    ".words { font: .72px system-ui, sans-serif; } "
    ".head { font-size: .95px; font-weight: 700; } .key { font-size: .6px; }"
)


def render(plan: Plan, paths: Paths, feed: str = "", replies: Replies = NO_REPLIES) -> bytes:
    """UTF-8; `feed` is a letter, a feed or a shot, the first without one. The others stand in grey."""
    shown = figures.balls(plan)
    ball, shots = shown[(chosen := choose(plan, shown, feed))], list(plan.shots)
    order = [n for n in range(len(shots)) if n != chosen] + [chosen]  # what is drawn last lies on top
    last = plan.model_copy(update={"shots": tuple(shots[n] for n in order)})
    picture = next(one for one in pictures(plan, letters(plan)) if shots[chosen] in one.shots)
    top, wide, high = _bare(
        draw(plan, picture, more=True, strips=strips(replies), front=shots[chosen].id).svg, chosen, MM
    )
    side, long, flat = _bare(beside(last, paths, [shown[n] for n in order], replies), len(shots) - 1, 1.0)
    left, rows = wide + 1.2, [*ball.figures]
    parts = [f'<g transform="translate(0 1.6)">{top}</g><g transform="translate({left:.2f} 1.6)">{side}</g>']
    parts.append(_text(0.2, 1.0, visible(plan.program), "head"))
    y = 1.6 + flat + 1.6
    parts.append(_text(left, y, f"{ball.letter} {ball.name}", "head"))
    for label, text in rows:
        y += ROW
        parts.append(_text(left, y, f"{label}:") + _text(left + LABEL, y, text))
    room = max(long, LABEL + CHARACTER * max(len(text) for _, text in rows))
    y += ROW
    for sentence in KEY.split(". "):
        for line in wrap(sentence.rstrip(".") + ".", int(room / SMALLER)):
            y += ROW
            parts.append(_text(left, y, line, "key"))
    width, height = left + room + 0.3, max(high + 1.6, y + 0.6)
    title = escape(f"{visible(plan.program)}: {ball.letter} {ball.name} from above and from the side")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width * PIXELS:.0f}" height="{height * PIXELS:.0f}" '
        f'viewBox="0 0 {width:.2f} {height:.2f}" role="img"><title>{title}</title><style>{_style()}</style>'
        f'<rect width="100%" height="100%" fill="#ffffff"/>{"".join(parts)}</svg>\n'
    ).encode()


def _bare(svg: str, chosen: int, metres: float) -> tuple[str, float, float]:
    """A view for use in another drawing, so many metres for one of its units, without what only a page uses; its width
    and height, m."""
    box = re.search(r'viewBox="(\S+) (\S+) (\S+) (\S+)"', svg)
    assert box is not None
    wide, high = float(box[3]) * metres, float(box[4]) * metres
    svg = re.sub(r'<(?:polyline|line) class="touch"[^>]*/>|<circle class="flying"[^>]*/>', "", svg)
    svg = re.sub(rf'<g class="(ball|label)" data-ball="{chosen}">', r'<g class="\1 on">', svg)
    svg = re.sub(r' data-\w+="[^"]*"| width="[\d.]+mm" height="[\d.]+mm"', "", svg)
    return svg.replace("<svg ", f'<svg width="{wide:.2f}" height="{high:.2f}" ', 1), wide, high


def _style() -> str:
    """The page's in its light colours, written out, because not every SVG viewer knows variables."""
    style, _, _ = (files(__package__) / "drawing.css").read_text("utf-8").partition("@media")
    for name, value in re.findall(r"(--\w+): (#\w+)", style):
        style = style.replace(f"var({name})", value)
    return re.sub(r":root \{.*?\}\n", "", style) + WORDS


def _text(x: float, y: float, text: str, kind: str = "") -> str:
    return f'<text class="words{" " + kind if kind else ""}" x="{x:.2f}" y="{y:.2f}">{escape(text)}</text>'
