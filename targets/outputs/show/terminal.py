"""The picture in a terminal: the court from above, one ball from the side, and the table of all. Plain characters."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from ....compiler.model.plan import Plan
from ....compiler.printable import visible
from ....grammar.units import of_ten
from .. import band
from ..lines import court_lines
from . import Paths, figures
from .figures import BallFigures

ACROSS, ALONG = 0.5, 1.0
"""Metres of a character's width and height, from above: a character is about twice as high as wide."""
UP = 0.4
NARROW = 78
HEADS = ("", "ball", "over net", "contact", "time", "in zone", "good replies")
FOLDED = 3
"""Most balls of one feed that have a row each."""


class NoBall(ValueError):
    """No ball has this name; the text lists those that there are."""


def render(plan: Plan, paths: Paths, feed: str = "", width: int = 100, colour: bool = False) -> str:
    """Text of at most `width` columns; `feed` is a letter, a feed or a shot for the view from the side."""
    from rich.console import Console, Group
    from rich.table import Table
    from rich.text import Text

    shown = figures.balls(plan)
    chosen = choose(plan, shown, feed)
    ball = shown[chosen]
    console = Console(width=width, force_terminal=colour, no_color=not colour, highlight=False, markup=False,
                      emoji=False, legacy_windows=False)  # fmt: skip
    above = "\n".join(court(plan, shown, chosen))
    side = "\n".join(profile(plan, paths[ball.id], min(width - 40 if width >= NARROW else width - 2, 72)))
    title = f"{ball.letter} {ball.name} from the side: = net, * flight, + contact"
    facts = Table.grid(padding=(0, 2))
    for label, text in ball.figures:
        facts.add_row(Text(f"{label}:", no_wrap=True), Text(text))
    right = Group(Text(title, style="bold"), Text(side), Text(""), facts)
    table = Table(box=None, pad_edge=False, header_style="bold")
    heads = HEADS if width >= NARROW else HEADS[:5]  # the figures of the chosen ball stand above
    for head in heads:
        table.add_column(Text(head), overflow="fold")
    listed = list(rows(plan, shown, plan.shots[chosen].feed if feed else ""))
    for cells in listed:
        table.add_row(*map(Text, cells[: len(heads)]))
    with console.capture() as captured:
        console.print(Text(f"{visible(plan.program)}: {visible(plan.session)}", style="bold"))
        if plan.source.given:
            console.print(Text(f"Given: {visible(plan.source.given_words)}"))
        console.print(Text("From above, player at the top. Capital: landing; small: contact; #: feeder. Marks at one "
                           "place stand side by side.\n"))  # fmt: skip
        if width >= NARROW:
            beside = Table.grid(padding=(0, 3))
            beside.add_row(Text(above, no_wrap=True), right)
            console.print(beside)
        else:
            console.print(Group(Text(above), Text(""), right))
        console.print()
        console.print(table)
        if len(listed) < len(shown):
            console.print(Text("\nA row of several balls gives the least and the most; --feed lists each ball."))
    return "\n".join(line.rstrip() for line in captured.get().splitlines()) + "\n"


def rows(plan: Plan, shown: list[BallFigures], opened: str) -> Iterator[tuple[str, ...]]:
    """The table's cells. The balls of a feed stand together, and many of them share a row unless it is `opened`."""
    families: dict[str, list[int]] = {}
    for n, shot in enumerate(plan.shots):
        families.setdefault(shot.feed, []).append(n)
    for feed, members in families.items():
        folded = len(members) > FOLDED and feed != opened
        for group in [members] if folded else [[n] for n in members]:
            first, last, shots = shown[group[0]], shown[group[-1]], [plan.shots[n] for n in group]
            over = [shot.predicted.net_clearance_m for shot in shots]
            yield (
                f"{first.letter} to {last.letter}" if folded else first.letter,
                f"{visible(feed)}, {len(group)} balls" if folded else first.name,
                figures.clearance(plan, shots[over.index(None)]) if None in over else _range(over, ".2f", " m"),
                _range([shot.predicted.contact_m[2] for shot in shots], ".2f", " m"),
                _range([shot.predicted.contact_s for shot in shots], ".2f", " s"),
                band.in_zone(shots) or figures.NOT_COMPUTED,
                _good([shot.reply.share_good if shot.reply else None for shot in shots]),
            )


def _good(shares: Sequence[float | None]) -> str:
    known = [share for share in shares if share is not None]
    if not known:
        return figures.NOT_COMPUTED
    fewest, most = of_ten(min(known)), of_ten(max(known))
    return f"{fewest if fewest == most else f'{fewest} to {most}'} of 10"


def _range(values: Sequence[float | None], form: str, unit: str) -> str:
    known = [value for value in values if value is not None]
    if not known:
        return figures.NOT_COMPUTED
    low, high = format(min(known), form), format(max(known), form)
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


def choose(plan: Plan, shown: list[BallFigures], feed: str) -> int:
    """Index of the ball meant by a letter, a shot or a feed; the first without one."""
    if not feed:
        return 0
    for n, (ball, shot) in enumerate(zip(shown, plan.shots, strict=True)):
        if feed in (shot.id, shot.feed) or feed.upper() == ball.letter:
            return n
    names = ", ".join(f"{ball.letter} {ball.name}" for ball in shown)
    raise NoBall(f"there is no ball {feed}; there are {names}")


def court(plan: Plan, shown: list[BallFigures], chosen: int) -> list[str]:
    """The court from above, a line for each metre. The chosen ball's marks stay; others may move aside."""
    lines = plan.court
    places = [plan.feeder.place_m, *(shot.predicted.contact_m[:2] for shot in plan.shots)]
    top = max(lines.half_length_m, *(y for _, y in places)) + 1
    bottom = min(-lines.half_length_m, *(y for _, y in places)) - 1
    left = min(-lines.post_x_m, *(x for x, _ in places)) - 0.5
    right = max(lines.post_x_m, *(x for x, _ in places)) + 1.5
    canvas = [[" "] * (round((right - left) / ACROSS) + 1) for _ in range(round((top - bottom) / ALONG) + 1)]

    def put(x: float, y: float, text: str, mark: bool = False) -> None:
        """Characters at a place; a mark moves to the nearest free one if another has its place."""
        row, column = round((top - y) / ALONG), round((x - left) / ACROSS)
        if mark:
            aside = (0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5)
            free = (n for n in aside if all(cell in " |-" for cell in canvas[row][column + n : column + n + len(text)]))
            column += next(free, 0)
        for n, character in enumerate(text):
            if 0 <= column + n < len(canvas[row]):
                canvas[row][column + n] = character

    def across(y: float, to: float, mark: str) -> None:
        for n in range(round(2 * to / ACROSS) + 1):
            put(min(-to + n * ACROSS, to), y, mark)

    def along(x: float, low: float, high: float) -> None:
        for n in range(round((high - low) / ALONG) + 1):
            put(x, min(low + n * ALONG, high), "|")

    for (x1, y1), (x2, y2) in sorted(court_lines(lines), key=lambda line: line[0][1] == line[1][1]):
        if y1 == y2:  # drawn last, over the ends of the others
            across(y1, x2, "-")
        elif abs(y2 - y1) >= ALONG:  # a centre mark is less than a character
            along(x1, y1, y2)
    across(0.0, lines.post_x_m, "=")
    put(*plan.feeder.place_m, "#")
    for n in sorted(range(len(shown)), key=lambda n: n != chosen):
        seen = plan.shots[n].predicted
        put(*seen.contact_m[:2], shown[n].letter.lower(), mark=True)
        if seen.landing_m is not None:
            put(*seen.landing_m, shown[n].letter, mark=True)
    return ["".join(row).rstrip() for row in canvas]


def profile(plan: Plan, points: Sequence[tuple[float, float, float, float]], columns: int) -> list[str]:
    """A flight from the side, player to the right, with a scale of heights."""
    ys, zs = [y for _, _, y, _ in points], [z for *_, z in points]
    low, high = min([*ys, 0.0]) - 0.5, max([*ys, 0.0]) + 0.5
    rows = max(6, round(max(zs) / UP) + 2)
    room = columns - 6
    canvas = [[" "] * room for _ in range(rows)]

    def column(y: float) -> int:
        return min(room - 1, max(0, round((y - low) / (high - low) * (room - 1))))

    def row(z: float) -> int:
        return min(rows - 1, max(0, rows - 1 - round(z / UP)))

    for n in range(rows):
        if row(plan.court.net_centre_m) <= n:
            canvas[n][column(0.0)] = "="
    for (_, _, y1, z1), (_, _, y2, z2) in pairwise(points):
        steps = max(1, abs(column(y2) - column(y1)), abs(row(z2) - row(z1)))
        for step in range(steps + 1):
            share = step / steps
            canvas[row(z1 + share * (z2 - z1))][column(y1 + share * (y2 - y1))] = "*"
    canvas[row(zs[-1])][column(ys[-1])] = "+"
    lines = []
    for n, cells in enumerate(canvas):
        height = (rows - 1 - n) * UP
        label = f"{height:.0f} m" if n % 5 == (rows - 1) % 5 else ""  # five rows of 0.4 m are two metres
        lines.append(f"{label:>4} {''.join(cells)}".rstrip())
    return [*lines, "     " + "-" * room]
