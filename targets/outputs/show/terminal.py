"""The picture in a terminal: a drawing for each variation, one ball from the side, and the table of all. Plain
characters, and no word is broken."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise, zip_longest
from textwrap import wrap

from ....compiler.model.plan import Plan
from ....compiler.printable import visible
from ....grammar.units import of_ten
from .. import band, verdict
from ..court.pictures import CourtPicture, pictures
from ..lines import court_lines
from ..sheet.letters import letters, listed
from . import Paths, figures
from .figures import BallFigures

COLUMNS, GAP = 38, 3
"""Characters of a drawing from above, so that two stand side by side in 80 columns, and between two."""
TALL = 2.0
"""A character is about so many times higher than wide."""
EDGE_M, NET_M = 0.6, 0.4
"""Around the receiving half, and of the feeder's half below the net."""
ASIDE = (0, 1, -1, 2, -2, 3, -3)
"""How far a letter may stand beside its place, in characters."""
UP = 0.4
NARROW = 78
HEADS = ("", "", "ball", "over net", "contact", "time", "in zone", "replies", "way")
FOLDED = 3
"""Most balls of one feed that have a row each."""


class NoBall(ValueError):
    """No ball has this name; the text lists those that there are."""


def render(plan: Plan, paths: Paths, feed: str = "", width: int = 100, colour: bool = False) -> str:
    """Text of at most `width` columns. With a `feed`, which is a letter, a feed or a shot, only the drawing of its
    variation, and that ball from the side."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    shown = figures.balls(plan)
    if not shown:
        return f"{visible(plan.program)}: {visible(plan.session)}\nNothing is fed.\n"
    chosen = choose(plan, shown, feed)
    ball = shown[chosen]
    console = Console(width=width, force_terminal=colour, no_color=not colour, highlight=False, markup=False,
                      emoji=False, legacy_windows=False)  # fmt: skip
    drawn = [one for one in pictures(plan, letters(plan)) if not feed or plan.shots[chosen] in one.shots]
    place = (plan.shots[chosen].place_m or ())[2:]
    side = "\n".join(profile(plan, paths[ball.id], min(width - 2, 72), place))
    facts = Table.grid(padding=(0, 2))
    told = [(word.capitalize(), texts) for word, texts in verdict.by_word(plan, plan.shots[chosen])]
    for label, text in [*told, *ball.figures]:
        facts.add_row(Text(f"{label}:", no_wrap=True), Text(text))
    with console.capture() as captured:
        console.print(Text(f"{visible(plan.program)}: {visible(plan.session)}", style="bold"))
        if plan.source.given:
            console.print(Text(f"Given: {visible(plan.source.given_words)}"))
        console.print(Text("The player's half from above, player at the top, = net. Capital: landing; small: contact; "
                           "#: feeder. Left and right are the feeder's, as in the drawing; in names and in "
                           "the coach's words they are the player's.\n"))  # fmt: skip
        for line in _side_by_side([above(plan, one, shown, chosen) for one in drawn], width):
            console.print(Text(line, no_wrap=True))
        console.print(Text(f"{ball.letter} {ball.name} from the side: = net, * flight, + contact"
                           f"{', : its place' if place else ''}", style="bold"))  # fmt: skip
        console.print(Text(side, no_wrap=True))
        console.print(facts)
        console.print()
        found = list(rows(plan, shown, plan.shots[chosen].feed if feed else ""))
        some = -1 if all(shot.way_m is None for shot in plan.shots) else None
        for word, line in _table(found, HEADS[:some] if width >= NARROW else HEADS[:6], width):
            console.print(Text(line, no_wrap=True, style=STYLES.get(word, "")))
        if signs := [f"{verdict.PLAIN[word]} {word}" for word in verdict.LOOK if any(w == word for w, _ in found)]:
            console.print(Text(f"\nIn front: {', '.join(signs)}."))
        if any("(" in cells[6] for _, cells in found) and width >= NARROW:
            console.print(Text("\nIn brackets: with balls of another make."))
        if len(found) < len(shown):
            console.print(Text("\nA row of several balls gives the least and the most; --feed lists each ball."))
    return "\n".join(line.rstrip() for line in captured.get().splitlines()) + "\n"


STYLES: dict[str, str] = {"care": "bold red", "": "bold"}
"""Of the rows with that word, and of the headings."""


def _side_by_side(drawings: Sequence[Sequence[str]], width: int) -> Iterator[str]:
    many = max(1, (width + GAP) // (COLUMNS + GAP))
    for start in range(0, len(drawings), many):
        for cells in zip_longest(*drawings[start : start + many], fillvalue=""):
            yield (" " * GAP).join(cell.ljust(COLUMNS) for cell in cells).rstrip()
        yield ""


def _table(found: Sequence[tuple[str, tuple[str, ...]]], heads: Sequence[str], width: int) -> Iterator[tuple[str, str]]:
    """Lines with their word. If the names make them too wide, each name has a line of its own."""
    cells = [("", tuple(heads)), *((word, row[: len(heads)]) for word, row in found)]
    wide = [max(len(row[n]) for _, row in cells) for n in range(len(heads))]
    alone = sum(wide) + 2 * len(wide) - 3 > width
    for word, row in cells:
        start = f"{row[0].ljust(wide[0])} {row[1].ljust(wide[1])}" if wide[0] else row[1].ljust(wide[1])
        if alone:
            yield word, f"{start}  {row[2]}".rstrip()
            yield word, "  " + "  ".join(_padded(row[3:], wide[3:])).rstrip()
        else:
            yield word, f"{start}  " + "  ".join(_padded(row[2:], wide[2:])).rstrip()


def _padded(row: Iterable[str], wide: Iterable[int]) -> list[str]:
    return [cell.ljust(room) for cell, room in zip(row, wide, strict=True)]


def rows(plan: Plan, shown: list[BallFigures], opened: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The word of the verdict with the table's cells. The balls of a feed stand together, and many of them share a row
    unless it is `opened`."""
    families: dict[str, list[int]] = {}
    for n, shot in enumerate(plan.shots):
        families.setdefault(shot.feed, []).append(n)
    for feed, members in families.items():
        folded = len(members) > FOLDED and feed != opened
        for group in [members] if folded else [[n] for n in members]:
            first, last, shots = shown[group[0]], shown[group[-1]], [plan.shots[n] for n in group]
            over = [shot.predicted.net_clearance_m for shot in shots]
            word = verdict.first([verdict.worst(plan, shot) for shot in shots])
            yield (
                word,
                (
                    verdict.PLAIN[word] if word in verdict.LOOK else "",
                    f"{first.letter} to {last.letter}" if folded else first.letter,
                    f"{visible(feed)}, {len(group)} balls" if folded else first.name,
                    figures.clearance(plan, shots[over.index(None)]) if None in over else _range(over, ".2f", " m"),
                    _range([shot.predicted.contact_m[2] for shot in shots], ".2f", " m"),
                    _range([shot.predicted.contact_s for shot in shots], ".2f", " s"),
                    band.in_zone(shots) or figures.NOT_COMPUTED,
                    _good([shot.reply.share_good if shot.reply else None for shot in shots]),
                    _range([shot.way_m for shot in shots], ".1f", " m").replace(figures.NOT_COMPUTED, "-"),
                ),
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
    """Index of the ball meant by a letter, a shot or a feed; of a family, as B is of B1 and B2, its first; the first of
    all without one."""
    if not feed:
        return 0
    for n, (ball, shot) in enumerate(zip(shown, plan.shots, strict=True)):
        if feed in (shot.id, shot.feed) or feed.upper() == ball.letter:
            return n
    for n, ball in enumerate(shown):
        if feed.upper() == ball.letter.rstrip("·0123456789"):
            return n
    names = ", ".join(f"{ball.letter} {ball.name}" for ball in shown)
    raise NoBall(f"there is no ball {feed}; there are {names}")


def above(plan: Plan, picture: CourtPicture, shown: list[BallFigures], chosen: int) -> list[str]:
    """Title and lines of a drawing. No letter covers another: those without a free place beside theirs are listed."""
    lines = plan.court
    number = {shot.id: n for n, shot in enumerate(plan.shots)}
    shots = sorted(picture.shots, key=lambda shot: number[shot.id] != chosen)
    stands = plan.feeder.at(picture.fed_from).place_m
    here = stands[1] >= -NET_M
    spots = [place for shot in shots for place in (shot.predicted.contact_m[:2], shot.predicted.landing_m) if place]
    spots += [stands] if here else []
    left = min([-lines.doubles_half_width_m, *(x for x, _ in spots)]) - EDGE_M
    right = max([lines.doubles_half_width_m, *(x for x, _ in spots)]) + EDGE_M
    top = max([lines.half_length_m, *(y for _, y in spots)]) + EDGE_M
    across = (right - left) / (COLUMNS - 1)
    canvas = [[" "] * COLUMNS for _ in range(round((top + NET_M) / (TALL * across)) + 1)]
    free = [[True] * COLUMNS for _ in canvas]

    def place(x: float, y: float) -> tuple[int, int]:
        return min(round((top - y) / (TALL * across)), len(canvas) - 1), round((x - left) / across)

    def line(one: tuple[float, float], two: tuple[float, float], sign: str) -> None:
        (row, column), (to_row, to_column) = sorted((place(*one), place(*two)))
        for n in range(max(to_row - row, abs(to_column - column)) + 1):
            canvas[row + n * (to_row > row)][min(column, to_column) + n * (to_row == row)] = sign

    def letter(x: float, y: float, text: str) -> bool:
        row, column = place(x, y)
        for aside in ASIDE:
            start = column + aside
            around = free[row][max(0, start - 1) : start + len(text) + 1]  # a space between two letters
            if 0 <= start <= COLUMNS - len(text) and all(around):
                canvas[row][start : start + len(text)] = text
                free[row][start : start + len(text)] = [False] * len(text)
                return True
        return False

    for (x1, y1), (x2, y2) in sorted(court_lines(lines), key=lambda ends: ends[0][1] == ends[1][1]):
        if max(y1, y2) > 0 and abs(y2 - y1) + abs(x2 - x1) >= TALL * across:  # a centre mark is less than a character
            line((x1, max(y1, 0.0)), (x2, max(y2, 0.0)), "-" if y1 == y2 else "|")
    line((-lines.doubles_half_width_m, 0.0), (lines.doubles_half_width_m, 0.0), "=")
    if here:
        letter(*stands, "#")
    lost = []
    for shot in shots:
        name, seen = shown[number[shot.id]].letter, shot.predicted
        if not letter(*(seen.landing_m or seen.contact_m[:2]), name):
            lost.append(name)
    for shot in shots:
        if shot.predicted.landing_m:
            letter(*shot.predicted.contact_m[:2], shown[number[shot.id]].letter.lower())
    variation = picture.variation
    title = f"{listed(picture.letters)}: {(variation.title or variation.id) if variation else 'no variation'}"
    told = wrap(visible(title), COLUMNS) + ["".join(row).rstrip() for row in canvas]
    return told + wrap(f"Beside the others: {', '.join(lost)}", COLUMNS) if lost else told


def profile(
    plan: Plan, points: Sequence[tuple[float, float, float, float]], columns: int, place: Sequence[float] = ()
) -> list[str]:
    """A flight from the side, player to the right, with a scale of heights; between which heights its `place` is."""
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
    for n in range(row(place[1]), row(max(place[0], 0.0)) + 1) if place else ():
        canvas[n][column(ys[-1])] = ":"
    canvas[row(zs[-1])][column(ys[-1])] = "+"
    lines = []
    for n, cells in enumerate(canvas):
        height = (rows - 1 - n) * UP
        label = f"{height:.0f} m" if n % 5 == (rows - 1) % 5 else ""  # five rows of 0.4 m are two metres
        lines.append(f"{label:>4} {''.join(cells)}".rstrip())
    return [*lines, "     " + "-" * room]
