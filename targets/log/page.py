"""The log as one HTML file: advice, a table, and a strip of dots for each variation and ladder, all on one scale of
dates; inline SVG, no script, nothing fetched, text escaped on entry."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, time
from html import escape

from ...compiler.model.chance import wilson
from ...compiler.printable import plural, visible
from ..outputs.sheet.fit import POINT, width
from .advice import CLOSING, advice
from .corrections import DayRecord, sentence
from .figures import Count, Figures, LadderFigures, Practice, VariationFigures, local

WIDE, LEFT, RIGHT = 640.0, 72.0, 14.0
ABOVE, TALL, BELOW, DATES = 16.0, 44.0, 8.0, 24.0
"""Of a strip: the room above it, the strip itself, the room below it, and under the last one that for the dates."""
LARGEST = 20.0
"""Of the letters in a strip, where the page is narrow, px."""
CLOSE_PX = 7.0
"""Practices nearer to each other than this, in pixels, have smaller dots."""

CSS = """
:root { --ink: #111; --soft: #6b6b6b; --line: #ccc; --paper: #fff; --mark: #1b5e9b; --care: #a03000;
  color-scheme: light; }
body { font: 1rem/1.45 Helvetica, Arial, "Liberation Sans", sans-serif; color: var(--ink); background: var(--paper);
  margin: 1.5em auto; max-width: 760px; padding: 0 1em; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.125rem; } ul { padding-left: 1.2em; }
table { border-collapse: collapse; width: 100%; font-size: .875rem; } th, td { text-align: right; padding: .25em .5em;
  border-bottom: 1px solid var(--line); overflow-wrap: break-word; }
th:first-child, td:first-child { text-align: left; }
svg { display: block; width: 100%; height: auto; } .axis { stroke: var(--line); } .range { stroke: var(--mark);
  stroke-width: 1.5; opacity: .5; } .dot { fill: var(--mark); } .need { stroke: var(--care); stroke-dasharray: 6 4; }
.step { stroke: var(--mark); stroke-width: 1.5; fill: none; } text { font-size: 12px; fill: var(--ink); }
h3 { font-size: .9375rem; margin: .9em 0 0; }
@media (prefers-color-scheme: dark) { :root { --ink: #e8eaed; --soft: #a5a5a5; --line: #4a4f55; --paper: #14181d;
  --mark: #8cc2f5; --care: #ffb199; color-scheme: dark; } }
@media screen and (max-width: 40rem) { text { font-size: 20px; }
  table, tbody, tr, td, th { display: block; text-align: left; }
  tr { border: 1px solid var(--line); padding: .4em .7em; margin-bottom: .7em; } .heads { display: none; }
  td, td:first-child { border: none; padding: .1em 0; }
  td::before { content: attr(data-label) ": "; font-weight: 700; } }
@media print { @page { margin: 12mm; }
  body { margin: 0; max-width: none; padding: 0; font-size: 9pt; line-height: 1.3; }
  h1, h2, p, ul { margin: 1.5mm 0; }
  table { font-size: 8.5pt; } th, td { padding: .05em .5em; }
  h2, li, tr, section { break-inside: avoid; } h2, h2 + p { break-after: avoid; } h3 { margin: 1.5mm 0 0; }
  .strips { columns: 2; column-gap: 6mm; } text { font-size: 20px; } }
"""


def render(found: Figures, corrected: Mapping[str, list[DayRecord]] | None = None) -> bytes:
    """UTF-8; needs the counts of the ladders' rungs. `corrected`: the corrections of machines, by profile."""
    corrected = corrected or {}
    practices = list(found.practices.values())
    first, last = local(practices[0].started), local(practices[-1].started)
    sentences = [*advice(found), *(f"Machine {sentence(name, records)}." for name, records in corrected.items())]
    said = "".join(f"<li>{_said(one)}</li>" for one in sentences)
    body = (
        f"<header><h1>Practice log</h1><p>{plural(len(practices), 'practice')}, {first} to {last}.</p></header><main>"
        f"<h2>What the counts say</h2><ul>{said}</ul><p>{CLOSING}</p>"
        f"{_table(found)}{_counted(found)}{_strips(found, corrected)}</main>"
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>Practice log</title><style>{CSS}</style></head><body>{body}</body></html>\n"
    ).encode()


def _said(sentence: str) -> str:
    """What to do stands out, the figures behind it follow."""
    head, colon, rest = sentence.partition(": ")
    return f"<strong>{_text(head)}</strong>{colon}{_text(rest)}" if colon else _text(head)


def _text(text: str) -> str:
    return f"<bdi>{_plain(text)}</bdi>"


def _plain(text: str) -> str:
    return escape(visible(text), quote=True)


def _table(found: Figures) -> str:
    heads = ("variation", "judged", "hit", "share", "95 % interval", "best", "goal")
    rows = []
    for one in found.variations:
        total = one.total
        low, high = wilson(total.hits, total.judged)
        known = total.judged > 0
        cells = [
            f"<td>{_text(one.name)}, {_text(one.program)}</td>",
            *(f"<td>{n}</td>" for n in (total.judged, total.hits)),
            f"<td>{f'{total.share:.0%}' if known else '-'}</td>",
            f"<td>{f'{low:.0%} to {high:.0%}' if known else '-'}</td>",
            f"<td>{'-' if total.best is None else total.best}</td>",
            f"<td>{one.goal or '-'}</td>",
        ]
        named = (cell.replace("<td>", f'<td data-label="{head}">', 1) for head, cell in zip(heads, cells, strict=True))
        rows.append(f"<tr>{''.join(named)}</tr>")
    head = "".join(f'<th scope="col">{head}</th>' for head in heads)
    return f'<table><thead class="heads"><tr>{head}</tr></thead><tbody>{"".join(rows)}</tbody></table>'


def _counted(found: Figures) -> str:
    """Goals, points and players, program by program."""
    programs = dict.fromkeys(one.program for one in found.practices.values())
    rows = [f"<li>{_text(f'{said} ({program})')}</li>" for program in programs for said in found.told(program)]
    return f"<h2>Goals, points and players</h2><ul>{''.join(rows)}</ul>" if rows else ""


def _strips(found: Figures, corrected: Mapping[str, list[DayRecord]]) -> str:
    """Every variation, ladder and corrected machine under its name, all on one scale of dates."""
    ladders = [one for one in found.ladders if any(end in one.labels for end in one.ends.values())]
    left = max([LEFT, *(_wide(label) for one in ladders for label in _parted(one.labels)[0])])
    days = _Days(found.practices, [one.day for records in corrected.values() for one in records], left)
    told = [(f"{one.name}, {one.program}", _shares(one, days)) for one in found.variations if one.total.judged]
    told += [(_named(one), _rungs(one, days)) for one in ladders]
    told += [(f"Machine {name}: how much longer it threw", _drift(of, days)) for name, of in corrected.items() if of]
    made = ""
    for n, (name, inside) in enumerate(told, start=1):
        height = ABOVE + TALL + BELOW
        if n == len(told):
            inside += "".join(_label(x, height + DATES - 5, day, anchor) for x, day, anchor in days.ends)
            height += DATES
        box = f'viewBox="0 0 {WIDE:.0f} {height:.0f}" role="img" aria-label="Practices by date"'
        made += f"<section><h3>{_text(name)}</h3><svg {box}>{inside}</svg></section>"
    needs = any(one.needed is not None for one in found.variations)
    words = "A dot is a practice, at its date: the share of hits with its 95 % interval, or the last rung of a ladder."
    words += " Dashed: the share that the goal needs for an even chance." if needs else ""
    return f'<h2>Practice by practice</h2><p>{words}</p><div class="strips">{made}</div>'


def _wide(label: str) -> float:
    """Room that a label needs at the left of a strip, px."""
    return width(label, LARGEST) / POINT + 8


def _parted(labels: Sequence[str]) -> tuple[list[str], str]:
    """Labels without the words at the end that all of them have, and those words."""
    words = [label.split() for label in labels]
    same = 0
    while same + 1 < min(map(len, words)) and len({one[-1 - same] for one in words}) == 1:
        same += 1
    return [" ".join(one[: len(one) - same]) for one in words], " ".join(words[0][len(words[0]) - same :])


class _Days:
    """The common scale: where the date of a practice stands."""

    def __init__(self, practices: dict[int, Practice], corrected: list[str], left: float) -> None:
        self.left = left
        self._at = {n: datetime.fromisoformat(one.started).timestamp() for n, one in practices.items()}
        moments = [*self._at.values(), *map(_noon, corrected)]
        self._first, self._last = min(moments), max(moments)
        shown = sorted([*(local(one.started)[:10] for one in practices.values()), *corrected])
        self.ends = [(left + 6, shown[0], "start"), (WIDE - RIGHT + 6, shown[-1], "end")][: 1 + (len(set(shown)) > 1)]
        room = (WIDE - left - RIGHT) / max(1, len(practices) - 1)
        self.radius = 3.5 if room > CLOSE_PX else 2.0

    def __call__(self, number: int) -> float:
        return self._x(self._at[number])

    def on(self, day: str) -> float:
        return self._x(_noon(day))

    def _x(self, moment: float) -> float:
        span = self._last - self._first
        return self.left + 6 + (WIDE - self.left - RIGHT - 6) * ((moment - self._first) / span if span else 0.0)


def _noon(day: str) -> float:
    return datetime.combine(datetime.fromisoformat(day), time(12)).timestamp()


def _shares(one: VariationFigures, days: _Days) -> str:
    marks = [_line(days.left, _y(share), WIDE, _y(share), "axis") for share in (0.0, 0.5, 1.0)]
    marks += [_label(days.left - 6, _y(share) + 4, f"{share:.0%}", "end") for share in (0.0, 1.0)]
    if one.needed is not None:
        marks.append(_line(days.left, _y(one.needed), WIDE, _y(one.needed), "need"))
    judged = [(days(number), count) for number, count in one.practices.items() if count.judged]
    marks += [_interval(x, count) for x, count in judged]
    return "".join([*marks, *_dots(((x, _y(count.share)) for x, count in judged), days)])


def _interval(x: float, count: Count) -> str:
    low, high = wilson(count.hits, count.judged)
    return _line(x, _y(low), x, _y(high), "range")


def _rungs(ladder: LadderFigures, days: _Days) -> str:
    """The last rung played in each practice, by the labels of the newest plan."""
    top = max(1, len(ladder.labels) - 1)
    marks = [_line(days.left, _y(i / top), WIDE, _y(i / top), "axis") for i in range(len(ladder.labels))]
    labels, _ = _parted(ladder.labels)
    marks += [_label(days.left - 6, _y(i / top) + 4, labels[i], "end") for i in sorted({0, len(labels) - 1})]
    ends = [
        (days(number), ladder.labels.index(label)) for number, label in ladder.ends.items() if label in ladder.labels
    ]
    spots = [(x, _y(rung / top)) for x, rung in ends]
    marks.append(f'<polyline class="step" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in spots)}"/>')
    return "".join([*marks, *_dots(spots, days)])


def _drift(records: list[DayRecord], days: "_Days") -> str:
    """How much longer than its profile says a machine threw, day by day."""
    most = max(0.5, *(abs(one.along_m) for one in records))
    marks = []
    for share in (-1.0, 0.0, 1.0):
        y = _y(0.5 + share / 2)
        marks.append(_line(days.left, y, WIDE, y, "axis"))
        marks += [_label(days.left - 6, y + 4, f"{share * most:+.1f} m", "end")] if share else []
    spots = [(days.on(one.day), _y(0.5 + one.along_m / most / 2)) for one in records]
    marks.append(f'<polyline class="step" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in spots)}"/>')
    return "".join([*marks, *_dots(spots, days)])


def _dots(spots: Iterable[tuple[float, float]], days: "_Days") -> list[str]:
    return [f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="{days.radius}"/>' for x, y in spots]


def _named(ladder: LadderFigures) -> str:
    _, unit = _parted(ladder.labels)
    return f"Ladder of {ladder.name}{f', {unit}' if unit else ''}; {ladder.program}"


def _y(share: float) -> float:
    return ABOVE + TALL * (1 - share)


def _line(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _label(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{_plain(text)}</text>'
