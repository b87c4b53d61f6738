"""The rank histogram of the fit as a picture: `python -m tests.calibration.ranks` draws it again."""

from math import erf, sqrt
from pathlib import Path

import numpy as np

PICTURE = Path(__file__).parents[2] / "compiler" / "calibration" / "ranks.svg"
BARS = 10
WIDE, TALL, FOOT = 60, 200, 46


def counts(offs: np.ndarray) -> np.ndarray:
    """How often the truth lies in each tenth of its own posterior, from how many standard deviations it is off."""
    ranks = np.array([(1 + erf(z / sqrt(2))) / 2 for z in offs.ravel()])
    return np.histogram(ranks, BARS, (0.0, 1.0))[0]


def drawn(found: np.ndarray) -> str:
    """Bars, the even height as a line, and the band that 99 % of even bars lie in."""
    even, total = found.sum() / BARS, int(found.sum())
    band = 2.576 * np.sqrt(even * (1 - 1 / BARS))
    top = 1.15 * max(found.max(), even + band)

    def y(value: float) -> float:
        return TALL * (1 - value / top)

    bars = "".join(
        f'<rect x="{i * WIDE + 4}" y="{y(n):.1f}" width="{WIDE - 8}" height="{TALL - y(n):.1f}" '
        'fill="#bbb" stroke="#000"/>'
        for i, n in enumerate(found.tolist())
    )
    lines = "".join(
        f'<line x1="0" x2="{BARS * WIDE}" y1="{y(v):.1f}" y2="{y(v):.1f}" stroke="#000" stroke-dasharray="{dash}"/>'
        for v, dash in ((even, "none"), (even - band, "6 5"), (even + band, "6 5"))
    )
    words = f"How often the truth lies in each tenth of its posterior, {total} unknowns; dashed: 99 of 100 even bars"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {BARS * WIDE} {TALL + FOOT}" role="img" '
        f'font-family="sans-serif"><title>{words}</title><rect width="100%" height="100%" fill="#fff"/>{bars}{lines}'
        f'<text x="4" y="{TALL + 20}" font-size="14">{words.partition(";")[0]}</text>'
        f'<text x="4" y="{TALL + 39}" font-size="14">{words.partition("; ")[2]}</text></svg>\n'
    )


if __name__ == "__main__":
    from .test_figures import trials

    found = counts(np.array([one.unknowns[:8] for one in trials(12, 200)]))
    PICTURE.write_text(drawn(found), "utf-8")
    print(found)
