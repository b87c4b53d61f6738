"""The log drawn in a terminal. Names may come from other people's files, so they are shown as text, never as markup."""

from rich.console import Console
from rich.table import Table
from rich.text import Text

from ...compiler.model.chance import Goal, wilson
from ...compiler.printable import plural, visible
from .figures import Count, Figures, LadderFigures, VariationFigures, local

CELLS = 17
LAST = 10


def show(found: Figures, console: Console) -> None:
    balls = sum(one.total.judged + one.total.not_judged for one in found.variations)
    first, last = (local(list(found.practices.values())[i].started) for i in (0, -1))
    _say(console, f"{plural(len(found.practices), 'practice')}, {plural(balls, 'ball')}, {first} to {last}")
    for program in dict.fromkeys(one.program for one in found.practices.values()):
        _say(console, f"\n{visible(program)}")
        if variations := [one for one in found.variations if one.program == program]:
            console.print(_table(variations))
        for ladder in found.ladders:
            if ladder.program == program:
                _say(console, _climbed(ladder))
        for sentence in found.told(program):
            _say(console, sentence)
    if any(one.needed is not None for one in found.variations):
        _say(console, "\no share so far, - its interval, | what the goal needs for an even chance")


def _table(variations: list[VariationFigures]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 1, 0, 0))  # so that 80 columns hold most names
    table.add_column("variation", overflow="fold", min_width=8)
    for heading in ("judged", "hit", "share", "95 % interval"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("0 %" + "100 %".rjust(CELLS - 3), no_wrap=True, min_width=CELLS)
    table.add_column("best", justify="right", no_wrap=True)
    table.add_column("goal", justify="right", no_wrap=True)
    for one in variations:
        table.add_row(*(Text(visible(cell)) for cell in _cells(one)))
    return table


def listed(found: Figures, of: int, console: Console) -> None:
    """The practices of the figures, newest first."""
    sums: dict[int, Count] = {number: Count() for number in found.practices}
    for one in found.variations:
        for number, count in one.practices.items():
            total = sums[number]
            total.hits, total.misses = total.hits + count.hits, total.misses + count.misses
            total.not_judged += count.not_judged
    table = Table(box=None, pad_edge=False)
    for heading, side in (("when", "left"), ("program", "left"), ("plan", "left"), ("balls", "right")):
        table.add_column(heading, justify=side, overflow="fold")  # type: ignore[arg-type]
    for heading in ("hit", "miss", "not judged"):
        table.add_column(heading, justify="right", no_wrap=True)
    for practice in reversed(found.practices.values()):
        count = sums[practice.id]
        cells = [local(practice.started), practice.program, practice.digest[:12], str(count.judged + count.not_judged)]
        cells += [str(count.hits), str(count.misses), str(count.not_judged)]
        table.add_row(*(Text(visible(cell)) for cell in cells))
    console.print(table)
    if of > len(found.practices):
        _say(console, f"the latest {len(found.practices)} of {of} practices; --all lists every one")


def _cells(one: VariationFigures) -> list[str]:
    total = one.total
    low, high = wilson(total.hits, total.judged)
    known = total.judged > 0
    return [
        one.name,
        str(total.judged),
        str(total.hits),
        f"{total.share:.0%}" if known else "-",
        f"{low:.0%} to {high:.0%}" if known else "-",
        bar(total, one.needed) if known else "",
        "-" if total.best is None else str(total.best),
        _goal(one.goal) if one.goal else "-",
    ]


def _goal(goal: Goal) -> str:
    """As short as it can be: a number alone is a streak."""
    return str(goal.hits) if goal.hits == goal.among else str(goal)


def bar(count: Count, needed: float | None) -> str:
    """The share on a line from 0 to 100 %, with its interval, and the share that the goal needs."""
    low, high = wilson(count.hits, count.judged)
    cells = ["."] * CELLS
    for i in range(_cell(low), _cell(high) + 1):
        cells[i] = "-"
    if needed is not None:
        cells[_cell(needed)] = "|"
    cells[_cell(count.share)] = "o"
    return "".join(cells)


def _cell(share: float) -> int:
    return round(share * (CELLS - 1))


def _climbed(ladder: LadderFigures) -> str:
    ends = list(ladder.ends.values())[-LAST:]
    dots = "... " if len(ladder.ends) > LAST else ""
    return f"{ladder.name}, last rung of each practice: {dots}{', '.join(ends)}"


def _say(console: Console, text: str) -> None:
    console.print(Text("\n".join(visible(line) for line in text.split("\n"))))
