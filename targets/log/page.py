"""The log as one HTML file: a table and plots as inline SVG; no script, nothing fetched, text escaped on entry."""

from collections.abc import Mapping
from datetime import date
from html import escape

from ...compiler.printable import plural, visible
from .advice import CLOSING, advice
from .chance import wilson
from .corrections import DayRecord, sentence
from .figures import Figures, LadderFigures, Practice, VariationFigures, local

LAST = 60
"""Largest number of practices in a plot; the latest ones."""
WIDE, TALL, LEFT, TOP = 640, 180, 70, 14

CSS = """
body { font: 16px/1.45 Helvetica, Arial, "Liberation Sans", sans-serif; color: #111; background: #fff; margin: 2em auto;
  max-width: 760px; padding: 0 1em; overflow-wrap: anywhere; }
table { border-collapse: collapse; width: 100%; } th, td { text-align: right; padding: .25em .5em;
  border-bottom: 1px solid #ccc; } th:first-child, td:first-child { text-align: left; }
svg { width: 100%; height: auto; } .axis { stroke: #767676; } .range { stroke: #1b5e9b; stroke-width: 2; }
.dot { fill: #1b5e9b; } .need { stroke: #a03000; stroke-dasharray: 6 4; } .step { stroke: #1b5e9b; stroke-width: 2;
  fill: none; } text { font-size: 12px; fill: #333; }
"""


def render(found: Figures, corrected: Mapping[str, list[DayRecord]] | None = None) -> bytes:
    """UTF-8; needs the counts of the ladders' rungs. `corrected`: the corrections of machines, by profile."""
    first, last = (local(list(found.practices.values())[i].started) for i in (0, -1))
    body = [
        f"<h1>Practice log</h1><p>{plural(len(found.practices), 'practice')}, {first} to {last}.</p>",
        _table(found),
    ]
    body += [_variation(one, found.practices) for one in found.variations if one.total.judged]
    body += [_ladder(ladder, found.practices) for ladder in found.ladders]
    body += [_drift(profile, records[-LAST:]) for profile, records in (corrected or {}).items()]
    said = "".join(f"<li>{_text(sentence)}</li>" for sentence in advice(found))
    body.append(f"<h2>What the counts say</h2><ul>{said}</ul><p>{CLOSING}</p>")
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>Practice log</title><style>{CSS}</style></head><body>{''.join(body)}</body></html>\n"
    ).encode()


def _text(text: str) -> str:
    return f"<bdi>{_plain(text)}</bdi>"


def _plain(text: str) -> str:
    return escape(visible(text), quote=True)


def _table(found: Figures) -> str:
    heads = ("variation", "judged", "hit", "share", "95 % interval", "longest streak", "goal")
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
            f"<td>{'-' if total.best is None else total.best}</td><td>{one.goal or '-'}</td>",
        ]
        rows.append(f"<tr>{''.join(cells)}</tr>")
    return f"<table><tr>{''.join(f'<th>{head}</th>' for head in heads)}</tr>{''.join(rows)}</table>"


def _variation(one: VariationFigures, practices: dict[int, Practice]) -> str:
    """The share of hits of each practice, with its interval."""
    judged = [(number, count) for number, count in one.practices.items() if count.judged][-LAST:]
    marks = [_line(LEFT, _y(share), WIDE, _y(share), "axis") for share in (0.0, 0.5, 1.0)]
    marks += [_label(LEFT - 8, _y(share) + 4, f"{share:.0%}", "end") for share in (0.0, 0.5, 1.0)]
    if one.needed is not None:
        marks.append(_line(LEFT, _y(one.needed), WIDE, _y(one.needed), "need"))
    for i, (_, count) in enumerate(judged):
        x, (low, high) = _x(i, len(judged)), wilson(count.hits, count.judged)
        marks.append(_line(x, _y(low), x, _y(high), "range"))
        marks.append(f'<circle class="dot" cx="{x:.1f}" cy="{_y(count.share):.1f}" r="4"/>')
    marks += _dates([practices[number] for number, _ in judged])
    dashed = "" if one.needed is None else f", dashed: the {one.needed:.0%} that the goal needs for an even chance"
    title = f"{one.name}, {one.program}: share of hits in each practice with its 95 % interval{dashed}"
    return _figure(f"{one.name}, {one.program}", title, marks)


def _ladder(ladder: LadderFigures, practices: dict[int, Practice]) -> str:
    """The last rung played in each practice, by the labels of the newest plan."""
    ends = [(number, label) for number, label in ladder.ends.items() if label in ladder.labels][-LAST:]
    if not ends:
        return ""
    top = max(1, len(ladder.labels) - 1)
    marks = []
    for i, label in enumerate(ladder.labels):
        marks.append(_line(LEFT, _y(i / top), WIDE, _y(i / top), "axis"))
        marks.append(_label(LEFT - 8, _y(i / top) + 4, label, "end"))
    spots = [(_x(i, len(ends)), _y(ladder.labels.index(label) / top)) for i, (_, label) in enumerate(ends)]
    marks.append(f'<polyline class="step" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in spots)}"/>')
    marks += [f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="4"/>' for x, y in spots]
    marks += _dates([practices[number] for number, _ in ends])
    name = f"Ladder of {ladder.feed} in {ladder.quantity}, {ladder.program}"
    return _figure(name, f"{name}: the last rung played in each practice", marks)


def _drift(profile: str, records: list[DayRecord]) -> str:
    """How much longer than its profile says a machine threw, day by day, to scale in time."""
    most = max(0.5, *(abs(one.along_m) for one in records))
    days = [date.fromisoformat(one.day).toordinal() for one in records]
    marks = []
    for share in (-1.0, 0.0, 1.0):
        y = _y(0.5 + share / 2)
        marks += [_line(LEFT, y, WIDE, y, "axis"), _label(LEFT - 8, y + 4, f"{share * most:+.1f} m", "end")]
    spots = [
        (_x(day - days[0], days[-1] - days[0] + 1), _y(0.5 + one.along_m / most / 2))
        for day, one in zip(days, records, strict=True)
    ]
    marks.append(f'<polyline class="step" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in spots)}"/>')
    marks += [f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="4"/>' for x, y in spots]
    marks.append(_label(spots[0][0], TALL + 40, records[0].day, "start"))
    if len(records) > 1:
        marks.append(_label(spots[-1][0], TALL + 40, records[-1].day, "end"))
    return _figure(f"Machine {profile}", sentence(profile, records), marks)


def _figure(name: str, title: str, marks: list[str]) -> str:
    box = f'viewBox="0 0 {WIDE + 20} {TALL + 50}" role="img"'
    picture = f"<svg {box}><title>{_plain(title)}</title>{''.join(marks)}</svg>"
    return f"<h2>{_text(name)}</h2><p>{_text(title)}.</p>{picture}"


def _dates(shown: list[Practice]) -> list[str]:
    ends = [(_x(0, len(shown)), shown[0], "start")]
    if len(shown) > 1:
        ends.append((_x(len(shown) - 1, len(shown)), shown[-1], "end"))
    return [_label(x, TALL + 40, local(practice.started)[:10], anchor) for x, practice, anchor in ends]


def _x(i: int, of: int) -> float:
    return LEFT + 12 + (WIDE - LEFT - 24) * (i / (of - 1) if of > 1 else 0.0)


def _y(share: float) -> float:
    return TOP + TALL * (1 - share)


def _line(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _label(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{_plain(text)}</text>'
