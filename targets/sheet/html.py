"""The feed sheet as one HTML file for paper: A4 or letter, black on white, read at arm's length.

Values are 17 pt, letters of balls 22 pt bold, nothing needed on court under 14 pt: fluent reading wants 0.2 degrees of
x-height (Legge & Bigelow, Journal of Vision 11(5), 2011), in glare and moving rather 0.3. Text from the plan is
escaped where it enters the page, and only there.
"""

import re
from html import escape
from math import ceil

from ...compiler.model.plan import Plan
from ..printable import visible
from .court import court
from .letters import letters
from .packing import Item, lines, pack
from .page import Feed, Job, Part, Round, Sheet, Step, sheet

CSS = """
@page { margin: 0; }
* { box-sizing: border-box; }
body { margin: 0; color: #000; background: #fff; font: 17pt/1.15 Helvetica, Arial, "Liberation Sans", sans-serif;
  font-size-adjust: 0.519; overflow-wrap: anywhere; }
.page { width: 100%; max-width: 210mm; min-height: 277mm; margin: 0 auto; padding: 9mm 12mm 6mm; display: flex;
  flex-direction: column; break-after: page; }
.page:last-child { break-after: auto; }
.body { flex: 1; }
h1 { font-size: 24pt; line-height: 1.1; margin: 0 0 2mm; }
h2 { font-size: 20pt; line-height: 1.1; margin: 0 0 1mm; padding-bottom: 1mm; border-bottom: 0.7mm solid #000; }
p { margin: 0 0 1mm; }
.small, footer, .clock, .cautions, .legend { font-size: 14pt; }
footer { font-size: 10pt; border-top: 0.2mm solid #000; padding-top: 1mm; display: flex;
  justify-content: space-between; gap: 6mm; }
footer span:first-child { overflow: hidden; text-overflow: ellipsis; white-space: nowrap; }
footer span { flex: none; } footer span:first-child { flex: 1; }
.facts { display: grid; grid-template-columns: 27mm 1fr; margin: 0 0 2mm; }
.facts dt, .facts dd { margin: 0; padding: 0.6mm 0; border-bottom: 0.2mm solid #000; font-size: 14pt; }
.facts dt { font-weight: bold; }
.cautions { border: 0.9mm solid #000; padding: 2mm 3mm; margin: 0 0 2mm; }
.cautions ul { margin: 0; padding-left: 5mm; } .cautions li { padding: 0.3mm 0; }
.clock { display: grid; grid-template-columns: 18mm 1fr 24mm; border-bottom: 0.2mm solid #000; padding: 0.5mm 0; }
.clock b:first-child, .clock span:last-child { text-align: right; } .clock > :nth-child(2) { padding: 0 4mm; }
.beside { display: flex; flex-wrap: wrap; gap: 5mm; align-items: flex-start; }
.beside > svg { flex: none; } .beside > div { flex: 1 1 100mm; }
.feed { display: flex; gap: 3mm; border-bottom: 0.2mm solid #000; padding: 1mm 0 1.5mm; break-inside: avoid; }
.letter { flex: none; min-width: 11mm; font-size: 24pt; font-weight: bold; line-height: 1; text-align: center; }
.job { break-inside: avoid; margin: 0 0 1.5mm; }
.tick { display: inline-block; width: 6.5mm; height: 6.5mm; border: 0.5mm solid #000; margin: 0.6mm 1.2mm 0 0;
  vertical-align: top; }
.goal { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 6mm; }
.when { margin-right: 5mm; }
.row { display: flex; gap: 6mm; line-height: 10mm; }
.row > span:first-child { font-size: 14pt; width: 14mm; text-align: right; white-space: nowrap; }
.five { display: flex; font-size: 22pt; font-weight: bold; }
.five span { width: 6.8mm; text-align: center; } .wide .five span { width: 12.5mm; }
@media screen { body { background: #ddd; } .page { background: #fff; margin: 4mm auto; } }
"""

LEGEND = (
    "In the picture: a dot: the ball lands. Diamond: the player meets it. Round letter: the ball bounces once;"
    " square letter: no bounce. Short dashes: land it inside. Long dashes: the reply goes there. Black square: "
)


_UNIT = re.compile(r"(?<=\d) (?=(?:m|s|cm|min|km/h|mph|rpm|balls?|rackets?)\b)")
_KEEP = "\u00a0"  # a number stays with its unit
BESIDE, BELOW = 38, 60  # characters in a line of a feed, beside the picture and below it
BESIDE_MM = 165.0


def render(plan: Plan) -> bytes:
    """UTF-8; the same plan gives the same bytes."""
    data = sheet(plan)
    items = [_front(data), *_session(data), _legend(plan)]
    pages = pack(items)
    for part in data.parts:
        if part.feeds:
            again = Item(12, f"<h2>Part {part.number}, continued</h2>")
            pages += pack(_part(plan, part), again)
    body = "".join(_page(data, items, i, len(pages)) for i, items in enumerate(pages, start=1))
    text = (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_plain(data.program)}: feed sheet</title><style>{CSS}</style></head><body>{body}</body></html>\n"
    )
    return text.encode()


def _plain(text: str) -> str:
    return escape(visible(text), quote=True)


def _text(text: str) -> str:
    """Text of the plan, kept from turning the direction of what stands around it."""
    return f"<bdi>{_UNIT.sub(_KEEP, _plain(text))}</bdi>"


def _page(data: Sheet, items: list[Item], number: int, pages: int) -> str:
    return (
        f'<section class="page"><div class="body">{"".join(item.html for item in items)}</div><footer>'
        f"<span>{_text(data.program)}</span><span>plan {_plain(data.digest[:12])}</span>"
        f"<span>page {number} of {pages}</span></footer></section>"
    )


def _front(data: Sheet) -> Item:
    front = data.front
    facts = "".join(f"<dt>{label}</dt><dd>{_text(text)}</dd>" for label, text in front.facts)
    cautions = "".join(f"<li>{_plain(caution)}</li>" for caution in front.cautions)
    notes = "".join(f'<p class="small">{_text(note)}</p>' for note in front.notes)
    html = (
        f'<h1>{_text(data.program)}</h1><p>{_text(data.session)}</p>{notes}<dl class="facts">{facts}</dl>'
        f'<div class="cautions"><b>Before the first ball</b><ul>{cautions}</ul></div>'
    )
    height = 9.5 * lines(data.program, 40) + 7.5 * lines(data.session, 60) + 12
    height += sum(6.5 * lines(note, 74) for note in front.notes) + sum(5.9 * lines(t, 70) + 1.4 for _, t in front.facts)
    return Item(height + sum(5.9 * lines(caution, 80) + 0.6 for caution in front.cautions) + 7, html)


def _session(data: Sheet) -> list[Item]:
    items = []
    for clock, what, balls in data.front.clock:
        html = f'<div class="clock"><b>{clock}</b><span>{_text(what)}</span><span>{balls}</span></div>'
        items.append(Item(5.9 * lines(what, 60) + 1.3, html))
    return items


def _legend(plan: Plan) -> Item:
    who = "the machine." if plan.feeder.kind == "machine" else "you."
    return Item(20, f'<p class="legend">{LEGEND}{who}</p>')


def _part(plan: Plan, part: Part) -> list[Item]:
    named = letters(plan)
    title = f"{part.starts} to {part.ends}"
    head = f'<h2>Part {part.number} · {title}</h2><p class="small">{_text(part.script)}</p>'
    items = [Item(11 + 6.9 * lines(part.script, 74), head), *(_job(job) for job in part.jobs)]
    picture, tall = court(plan, {feed.letter: named.shots(feed.letter, list(feed.shots)) for feed in part.feeds})
    beside, below = _split(part.feeds)
    html = f'<div class="beside">{picture}<div>{"".join(_feed(feed) for feed in beside)}</div></div>'
    height = max(tall, sum(_feed_height(feed, BESIDE) for feed in beside)) + 1
    items.append(Item(height, html))
    items += [Item(_feed_height(feed, BELOW), _feed(feed)) for feed in below]
    for turn in part.rounds:
        items += _round(turn)
    return items


def _split(feeds: tuple[Feed, ...]) -> tuple[list[Feed], list[Feed]]:
    """Those that fit beside the picture, and the rest."""
    beside: list[Feed] = []
    for feed in feeds:
        if beside and sum(_feed_height(f, BESIDE) for f in [*beside, feed]) > BESIDE_MM:
            break
        beside.append(feed)
    return beside, list(feeds[len(beside) :])


def _feed_texts(feed: Feed) -> list[tuple[str, str]]:
    settings = "; ".join(f"{name} {value}" for name, value in feed.settings)
    said = [*feed.says, *([("Set to", settings)] if settings else [])]
    return [(feed.name, ""), *said, *(("", note) for note in feed.notes)]


def _feed_height(feed: Feed, characters: int) -> float:
    return sum(7.0 * lines(f"{key} {text}", characters) for key, text in _feed_texts(feed)) + 3


def _feed(feed: Feed) -> str:
    body = "".join(f"<div><b>{_text(key)}</b> {_text(text)}</div>" for key, text in _feed_texts(feed))
    return f'<div class="feed"><div class="letter">{feed.letter}</div><div>{body}</div></div>'


def _job(job: Job) -> Item:
    texts = [f"when {job.when}"] if job.when else []
    told = "; ".join([*texts, job.reply])
    title = f"{', '.join(job.letters)}: {job.title}"
    notes = "".join(f'<div class="small">{_text(note)}</div>' for note in job.notes)
    boxes, wide = "", 0.0
    if job.goal:
        count = min(job.goal, 40)
        boxes = f"<span>{job.goal} in a row " + '<span class="tick"></span>' * count + "</span>"
        wide = 30 + 7.7 * count
    html = f'<div class="job"><div class="goal"><b>{_text(title)}</b>{boxes}</div><div>{_text(told)}</div>{notes}</div>'
    rows = 1 if wide + 3.2 * len(title) < 184 else lines(title, 46) + ceil(wide / 180)
    return Item(8.5 * rows + 7.0 * lines(told, 58) + sum(5.9 * lines(note, 74) for note in job.notes) + 1.5, html)


def _round(turn: Round) -> list[Item]:
    first, *others = [item for step in turn.steps for item in _step(step)]
    if turn.label:
        first = Item(first.height_mm + 7.5, f"<p><b>{_plain(turn.label)}</b></p>{first.html}")
    return [first, *others]


def _step(step: Step) -> list[Item]:
    text = f'<b class="when">{", ".join(step.clocks)}</b>{_text(step.text)}'
    notes = "".join(f'<div class="small">{_text(note)}</div>' for note in step.notes)
    height = 7.0 * lines(", ".join(step.clocks) + step.text, 54) + sum(5.9 * lines(note, 74) for note in step.notes)
    wide = max((len(letter) for letter in step.order), default=1) > 1
    row = 10 if wide else 20
    strips = [_strip(step.order[i : i + row], i + 1, wide) for i in range(0, len(step.order), row)]
    first = "".join(strips[:1])  # the heading and the first letters stay together
    items = [Item(height + 1 + (10.1 if first else 0), f"<p>{text}</p>{notes}{first}")]
    return items + [Item(10.1, strip) for strip in strips[1:]]


def _strip(order: tuple[str, ...], first: int, wide: bool) -> str:
    """Letters in groups of five, after the number of the first ball."""
    fives = (order[i : i + 5] for i in range(0, len(order), 5))
    cells = "".join(f'<span class="five">{"".join(f"<span>{x}</span>" for x in five)}</span>' for five in fives)
    kind = "row wide" if wide else "row"
    return f'<div class="{kind}"><span>{first}</span>{cells}</div>'
