"""The feed sheet as one HTML file for paper: black on white, pages as the layout planned them.

Text from the plan is escaped where it enters the page, and only there.
"""

import re
from collections.abc import Callable, Iterable
from html import escape
from typing import Any

from .fit import FOOT, TOP
from .layout import Document

CSS = """
* { box-sizing: border-box; margin: 0; padding: 0; }
body { color: #000; background: #fff; font: 17pt/1.15 Roboto, Helvetica, Arial, "Liberation Sans", sans-serif;
  font-size-adjust: 0.519; overflow-wrap: anywhere; }
.page { margin: 0 auto; display: flex; flex-direction: column; break-after: page; }
.page:last-child { break-after: auto; }
.body { flex: 1; }
h1 { font-size: 24pt; line-height: 1.15; }
h1 + p { margin-bottom: 2mm; } h1 + .cautions { margin-top: 4mm; }
h2 + .small { margin: 0.5mm 0 1.5mm; } h2 + * { margin-top: 1.5mm; }
.body > * + h2 { margin-top: 5mm; }
h2 { font-size: 20pt; line-height: 1.1; padding-bottom: 1mm; border-bottom: 0.7mm solid #000; }
h2 span { font-size: 17pt; font-weight: normal; margin-left: 2.5mm; } .small, h2 .small { font-size: 14pt; }
footer { font-size: 10pt; border-top: 0.2mm solid #000; padding-top: 1mm; display: flex; gap: 5mm; }
footer span { flex: none; } footer span:first-child { flex: 1; overflow: hidden; text-overflow: ellipsis;
  white-space: nowrap; }
.typed { white-space: nowrap; }
.fact, .clock { font-size: 14pt; display: grid; grid-template-columns: 29mm 1fr; padding: 0.25mm 0;
  border-bottom: 0.2mm solid #000; }
.clock { grid-template-columns: 18mm 1fr 24mm; } .clock.broad { grid-template-columns: 18mm 1fr 40mm; }
.clock b, .clock span:last-child { text-align: right; } .clock > :nth-child(2) { padding: 0 4mm; }
.cautions { font-size: 14pt; border: 0.9mm solid #000; padding: 2mm 3mm; margin: 2mm 0; }
.cautions ul { padding-left: 5mm; list-style: square; } .cautions li { padding-bottom: 0.6mm; }
.panels { display: grid; grid-template-columns: 1fr 1fr; gap: 1mm 4mm; padding-bottom: 4mm; align-items: end; }
.panels.beside { display: flex; align-items: flex-start; } .panels > * > * + * { margin-top: 0; }
.panels > .words { flex: 1; align-self: start; } .panels.beside > svg { flex: none; }
.panels:not(.beside) > svg { justify-self: start; } .panels svg { display: block; }
.tick { display: inline-block; width: 4.8mm; height: 4.8mm; border: 0.45mm solid #000; margin-right: 0.9mm;
  vertical-align: -0.8mm; }
.score, .rung { font-size: 14pt; min-height: 8.7mm; display: flex; flex-wrap: wrap; align-items: center;
  column-gap: 4mm; }
.score > b:first-child { font-size: 17pt; } .score.two > i { flex-basis: 100%; height: 0; }
.field { white-space: nowrap; } .field::after { content: ""; display: inline-block; width: 12mm; height: 6.6mm;
  border: 0.45mm solid #000; margin-left: 1.5mm; vertical-align: -1.6mm; }
.rung b { width: 14mm; font-size: 17pt; } .rung .label { flex: 1; } .room { display: contents; visibility: hidden; }
.tally { height: 7.6mm; } .air { height: 2mm; } .turns { height: 8.7mm; }
.turns, .tally { display: grid; grid-template-columns: 1fr 1fr; column-gap: 4mm; align-items: center; }
.turns.one { grid-template-columns: 1fr; } .tally.three { grid-template-columns: 1fr 1fr 1fr; }
.turns > div { display: flex; align-items: center; gap: 1.5mm; }
.turns > div > span:first-child { width: 6mm; font-size: 14pt; text-align: right; }
.turns .pause { font-size: 14pt; white-space: nowrap; }
.tally.named { height: 5.8mm; border: none; padding: 0; align-items: end; }
.tally > div { font-size: 14pt; display: grid; grid-template-columns: 1fr 15.3mm 15.3mm 15.3mm;
  column-gap: 0.5mm; align-items: center; }
.tally i { height: 6.6mm; border: 0.45mm solid #000; }
.tally.named span { text-align: center; font-size: 14pt; font-weight: normal; white-space: nowrap; }
.line { margin-bottom: 1.5mm; } .body > .small { margin-bottom: 1mm; }
.step b { margin-right: 4mm; } .aside { display: flex; gap: 4mm; align-items: center; }
.strip { height: 8.7mm; display: flex; align-items: center; font-size: 20pt; font-weight: bold; }
.mark { min-width: 8mm; padding-right: 1.5mm; text-align: right; font-size: 14pt; font-weight: normal; }
.mark.whose { width: auto; white-space: nowrap; } .mark.whose i { font-style: normal; font-weight: bold;
  border: 0.5mm solid #000; padding: 0 1.2mm; }
.five { display: flex; padding-right: 2mm; }
.five span { width: 5.8mm; text-align: center; } .wide span { width: 11mm; }
.row, .heads, .cells, .dials { display: grid; }
.row, .heads { border-bottom: 0.25mm solid #000; padding: 0.6mm 0; line-height: 1.06; break-inside: avoid; }
.heads { border-bottom-width: 0.9mm; font-size: 14pt; font-weight: bold; padding-top: 0; line-height: 1.15; }
.heads .dials { align-items: end; } .heads .dials + .cells { padding-top: 1.2mm; }
.letter { font-size: 22pt; font-weight: bold; text-align: center; line-height: 0.85; }
.under { font-size: 14pt; line-height: 1.15; }
.cells > * { padding-right: 3mm; } .dials > * { padding-right: 1.5mm; }
.cells > *, .dials > *, .row > *, .heads > *, .rows > * { min-width: 0; }
.rows { display: grid; grid-template-columns: 1fr 1fr; column-gap: 4mm; }
@media screen { body { background: #ddd; } .page { background: #fff; margin: 4mm auto; } }
"""


def render(document: Document) -> bytes:
    """UTF-8; the same document gives the same bytes."""
    pages = "".join(_page(document, number) for number in range(len(document.pages)))
    text = (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_plain(document.title)}: feed sheet</title><style>{style(document)}</style></head>"
        f"<body><main>{pages}</main></body></html>\n"
    )
    return text.encode()


def style(document: Document) -> str:
    """The rules for this paper and this size of print."""
    letter, *cells = (f"{width:.2f}mm" for width in document.columns)
    dials = " ".join(f"{width:.2f}mm" for width in document.dials)
    side = (document.width / document.scale - sum(document.columns)) / 2
    css = CSS + (
        f".row, .heads {{ grid-template-columns: {letter} 1fr; }}\n"
        f".cells {{ grid-template-columns: {' '.join(cells)}; }}\n"
        f".dials {{ grid-template-columns: {dials} 1fr; }}\n"
        f".page {{ width: {document.width / document.scale:.2f}mm;"
        f" min-height: {document.height / document.scale - 0.5:.2f}mm;"
        f" padding: {TOP}mm {side:.2f}mm {FOOT - 8:.1f}mm; }}\n"
    )
    if document.scale != 1.0:  # a picture brings its own size
        css += f".panels svg {{ zoom: {document.scale}; }}\n"
        css = re.sub(r"([0-9.]+)(mm|pt)\b", lambda m: f"{float(m[1]) * document.scale:.2f}{m[2]}", css)
    size = f"{document.width}mm {document.height}mm"
    return f"@page {{ size: {size}; margin: 0; }}{css}"


def _plain(text: str) -> str:
    return escape(text, quote=True)


def _text(text: str) -> str:
    """Text of the plan, kept from turning the direction of what stands around it."""
    return f"<bdi>{_plain(text)}</bdi>" if text else ""


def _page(document: Document, number: int) -> str:
    items = "".join(_PIECES[item.kind](item.data) for item in document.pages[number])
    date = f"<span>{_text(document.date)}</span>" if document.date else ""
    return (
        f'<section class="page"><div class="body">{items}</div><footer><span>{_text(document.title)}</span>{date}'
        f"<span>plan {_plain(document.digest)}</span><span>page {number + 1} of {len(document.pages)}</span>"
        "</footer></section>"
    )


def _title(data: dict[str, Any]) -> str:
    under = f"<p>{_text(data['under'])}</p>" if data["under"] else ""
    return f"<h1>{_text(data['text'])}</h1>{under}"


def _small(data: dict[str, Any]) -> str:
    return f'<p class="small">{_text(data["text"])}</p>'


def _fact(data: dict[str, Any]) -> str:
    # A word that is typed is not broken behind its hyphens.
    text = re.sub(r"--[\w-]+", r'<span class="typed">\g<0></span>', _text(data["text"]))
    return f'<div class="fact"><b>{_text(data["label"])}</b><span>{text}</span></div>'


def _cautions(data: dict[str, Any]) -> str:
    points = "".join(f"<li>{_text(text)}</li>" for text in data["list"])
    return f'<div class="cautions"><b>{_text(data["text"])}</b><ul>{points}</ul></div>'


def _clock(data: dict[str, Any]) -> str:
    cells = f"<b>{data['clock']}</b><span>{_text(data['text'])}</span><span>{data['balls']}</span>"
    return f'<div class="clock{" broad" if data["broad"] else ""}">{cells}</div>'


def _head(data: dict[str, Any]) -> str:
    under = f'<p class="small">{_text(data["under"])}</p>' if data.get("under") else ""
    fine = ' class="small"' if data.get("fine") else ""
    aside = f" <span{fine}>{_text(data['aside'])}</span>" if data.get("aside") else ""
    return f"<h2>{_text(data['text'])}{aside}</h2>{under}"


def _panels(data: dict[str, Any]) -> str:
    """The pictures in one row and their words under them, or one picture and its words beside it."""
    words = [f'<div class="words">{_words(panel)}</div>' for panel in data["panels"]]
    pictures = "".join(panel["svg"] for panel in data["panels"])
    return f'<div class="panels{" beside" if data["beside"] else ""}">{pictures}{"".join(words)}</div>'


def _words(panel: dict[str, Any]) -> str:
    texts = "".join(f'<p class="small">{_text(text)}</p>' for text in panel["texts"])
    return f"<p><b>{_text(panel['title'])}</b></p>{texts}"


def _score(data: dict[str, Any]) -> str:
    goal = f"<b>{data['goal']}</b>" if data["boxes"] else ""
    goal += "<i></i>".join(f"<span>{_ticks(boxes)}</span>" for boxes in data["boxes"])
    fields = "".join(map(_field, data["fields"]))
    two = " two" if data["two"] else ""
    return f'<div class="score{two}"><b>{_text(data["letters"])}</b>{goal}{"<i></i>" if two else ""}{fields}</div>'


def _field(name: str) -> str:
    return f'<span class="field">{name}</span>'


def _ticks(count: int) -> str:
    return '<span class="tick"></span>' * count


def _ladder(data: dict[str, Any]) -> str:
    fields = "".join(map(_field, ("hits", "misses")))
    first, *more = (f"<span>{_ticks(boxes)}</span>" for boxes in data["boxes"])
    room = f'<span class="room">{fields}</span>'
    sets = "".join(f'<div class="rung"><b></b><span class="label"></span>{line}{room}</div>' for line in more)
    rungs = "".join(
        f'<div class="rung"><b>{letter}</b><span class="label">{_text(label)}</span>{first}{fields}</div>{sets}'
        for letter, label in data["rungs"]
    )
    ended = f'<div class="rung">{_field("Ended on rung")}{_field(data["best"])}</div>'
    return f"<div><p>{_text(data['text'])}</p>{rungs}{ended}</div>"


def _point(data: dict[str, Any]) -> str:
    *above, last = (f'<span class="label">{_ticks(boxes)}</span>' for boxes in data["boxes"])
    counts = "".join(f'<div class="rung">{line}</div>' for line in above)
    counts += f'<div class="rung">{last}{_field(data["won"])}</div>'
    return f"<div><p>{_text(data['text'])}</p>{counts}</div>"


def _line(data: dict[str, Any]) -> str:
    return f'<p class="line">{_text(data["text"])}</p>'


def _turns(data: dict[str, Any]) -> str:
    rounds = ""
    for cells in data["turns"]:
        told = ""
        for cell in cells:
            if cell["kind"] == "strip":
                told += _strip(cell["groups"])
            else:
                tag = "b" if cell["kind"] == "bold" else "span"
                own = ' class="pause"' if cell["kind"] == "pause" else ""
                told += f"<{tag}{own}>{_text(cell['text'])}</{tag}>"
        rounds += f"<div>{told}</div>"
    return f'<div class="turns{"" if len(data["turns"]) > 1 else " one"}">{rounds}</div>'


def _tally_heads(data: dict[str, Any]) -> str:
    cell = f"<div><span></span><span>hits</span><span>misses</span><span>{data['best']}</span></div>"
    return f'<div class="tally named{_columns(data)}">{cell * data["count"]}</div>'


def _tally(data: dict[str, Any]) -> str:
    cells = "".join(f"<div><b>{_text(letters)}</b><i></i><i></i><i></i></div>" for letters in data["cells"])
    return f'<div class="tally{_columns(data)}">{cells}</div>'


def _columns(data: dict[str, Any]) -> str:
    return " three" if data["count"] == 3 else ""


def _round(data: dict[str, Any]) -> str:
    return f"<p><b>{_text(data['text'])}</b></p>"


def _step(data: dict[str, Any]) -> str:
    text = _told(data)
    notes = "".join(f'<p class="small">{_text(note)}</p>' for note in data["notes"])
    order = "".join(_strip(groups) for groups in data["strips"])
    if data["after"]:
        order = f'<div class="aside">{order}<b>{_told(data["after"])}</b></div>'
    return f'<div class="aside">{text}{order}</div>{notes}' if data["beside"] else text + notes + order


def _told(data: dict[str, Any]) -> str:
    clock = f"<b>{data['clock']}</b>" if data["clock"] else ""
    return f'<p class="step">{clock}{_text(data["text"])}</p>' if data["text"] else ""


def _strip(groups: list[dict[str, Any]]) -> str:
    cells = ""
    for group in groups:
        if group["mark"]:
            wait = f"{_text(group['wait'])} " if group["wait"] else ""
            mark = f"{wait}<i>{_text(group['mark'])}</i>" if group["turn"] else group["mark"]
            cells += f'<span class="mark{" whose" if group["turn"] else ""}">{mark}</span>'
        wide = " wide" if group["cell"] > 7 else ""
        cells += f'<span class="five{wide}">{"".join(f"<span>{letter}</span>" for letter in group["letters"])}</span>'
    return f'<div class="strip">{cells}</div>'


def _heads(data: dict[str, Any]) -> str:
    dials = "".join(_dials(line) for line in zip(*data["dials"], strict=True))
    cells = "".join(f"<span>{cell}</span>" for cell in data["cells"])
    cells = cells and f'<div class="cells">{cells}</div>'
    one = f'<div class="heads"><div></div><div>{dials}{cells}</div></div>'
    return f'<div class="rows">{2 * one}</div>' if data["twice"] else one


def _rows(data: dict[str, Any]) -> str:
    """Two rows of settings side by side."""
    return f'<div class="rows">{"".join(map(_row, data["rows"]))}</div>'


def _dials(texts: Iterable[str], spin: str = "") -> str:
    cells = "".join(f"<div>{_text(text)}</div>" for text in texts)
    return f'<div class="dials">{cells}<div>{_text(spin)}</div></div>'


def _row(data: dict[str, Any]) -> str:
    dials = _dials(data["dials"], data["spin"] if data["beside"] else "") if data["dials"] else ""
    if data["like"]:
        dials = f"<div>{data['like']}</div>"
    elif not data["beside"]:
        dials += f"<div>{_text(data['spin'])}</div>"
    cells = "".join(
        f"<div>{_text(upper)}{'<br>' if lower else ''}{_text(lower)}</div>" for upper, lower in data["cells"]
    )
    under = "".join(f'<div class="under">{_text(text)}</div>' for text in data["under"])
    body = f'{dials}<div class="cells">{cells}</div>{under}'
    return f'<div class="row"><div class="letter">{data["letter"]}</div><div>{body}</div></div>'


_PIECES: dict[str, Callable[[dict[str, Any]], str]] = {
    "title": _title, "text": _small, "fact": _fact, "cautions": _cautions, "clock": _clock, "head": _head,
    "again": _head, "panels": _panels, "heads": _heads, "row": _row, "score": _score, "ladder": _ladder,
    "point": _point, "line": _line, "round": _round, "step": _step, "turns": _turns, "tally": _tally,
    "tally-heads": _tally_heads, "rows": _rows, "air": lambda data: '<div class="air"></div>',
}  # fmt: skip
