"""The picture as one self-contained page. Drawings and numbers need no script; a script only lets a reader choose.

Text from the plan is escaped where it enters the page, and data is JSON without a "<". The page's policy lets nothing
run or load except the two pieces written here, by their digests.
"""

from html import escape
from importlib.resources import files

from ....compiler.model.plan import Plan, Shot
from ....compiler.printable import plural, visible
from ....grammar.units import clock
from .. import verdict, web
from ..blocks import grouped
from ..court.pictures import pictures
from ..court.svg import Strips, draw
from ..sheet.letters import letters, listed, of
from ..sheet.rules import hit_if
from ..web import plain
from . import NO_REPLIES, Paths, Replies, figures
from .figures import BallFigures
from .terminal import choose
from .views import STRETCH, beside, strips

KEY = (
    "Square: the feeder. Dot: the ball lands; square frame: no bounce. Diamond: the player meets it. Short dashes: "
    "where it should land, or on the full come to, between two arms; long dashes: the reply's target. Ovals, on the "
    "full strokes: one and two standard deviations of the spread; in brackets: its share in the zone with balls of "
    "another make. Ring: the second bounce. Broken line: the best reply; 19 of 20 replies leave within the band. Left "
    "and right are the feeder's, as in the picture; in names and in the coach's words they are the player's. "
    "Heights from the side are drawn twice as large as lengths."
)


SPEEDS = ((1, "full speed"), (0.5, "half speed"), (0.25, "quarter speed"))
FIT: dict[verdict.Word, str] = {
    "accepted": "Fit, with what the coach accepts", "fair": "Fit for use", "good": "Fit for use",
}  # fmt: skip
"""The verdict in one line, above its reasons; care says its reason itself."""
OLD = "<p>The picture below is older: it shows the script as it was before these errors.</p>"


def render(
    plan: Plan,
    paths: Paths,
    findings: str = "",
    seen: int | None = None,
    replies: Replies = NO_REPLIES,
    old: bool = False,
    feed: str = "",
) -> bytes:
    """UTF-8. `findings` stand above the picture; `seen` is the number of this state if a server reports changes; an
    `old` picture is of a state before these findings, and pales. The page begins with the ball `feed`, which is a
    letter, a feed or a shot."""
    shown = figures.balls(plan)
    total = plan.totals
    summary = (
        f"{plural(total.balls, 'ball')} in {clock(total.duration_s)} min, {plural(total.distinct_shots, 'kind')}; "
        f"feeder {plan.feeder.title or plan.feeder.name}; the next ball is another {total.variety:.0%} of the time"
        + (f"; given {plan.source.given_words}" if plan.source.given else "")
    )
    body = (
        f"{_findings(findings, old)}<header><h1>{plain(plan.program)}</h1><p>{plain(plan.session)}</p>"
        f"<p>{plain(summary)}</p>{_care(plan, shown)}</header>"
        f'<main><section class="pictures" aria-label="From above, player at the top">'
        f"{_pictures(plan, shown, strips(replies))}</section>"
        f'<section class="side" aria-label="One ball">{_choice(plan, shown)}'
        f'<h2 id="name">Choose a ball</h2><ul id="judged"></ul>'
        f'{beside(plan, paths, shown, replies)}{_steps(plan)}<dl id="figures"></dl>'
        f'<p class="key">{KEY}</p></section></main>'
        f"{_table(plan, shown)}{_data(plan, paths, shown, choose(plan, shown, feed) if feed else None)}"
    )
    return _document(plan.program, body, True, seen, old)


def only_findings(name: str, findings: str, seen: int | None = None) -> bytes:
    """The page before the first picture is possible."""
    return _document(name, f"{_findings(findings)}<main><p>No picture yet.</p></main>", False, seen)


def _document(title: str, body: str, script: bool, seen: int | None, old: bool = False) -> bytes:
    style = _read("drawing.css") + _read("page.css")
    scripts = ([_read("page.js")] if script else []) + ([_read("watch.js")] if seen is not None else [])
    state = (f' data-seen="{seen}"' if seen is not None else "") + (' class="old"' if old else "")
    return web.document(f"{title}: picture", body, style, scripts, seen is not None, state)


def _read(name: str) -> str:
    return (files(__package__) / name).read_text("utf-8")


def _findings(text: str, old: bool = False) -> str:
    if not text:
        return ""
    lines = "\n".join(escape(visible(line), quote=True) for line in text.splitlines())
    return (
        f'<section class="findings" role="status" aria-label="Findings"><h2>Findings</h2><pre>{lines}</pre>'
        f"{OLD if old else ''}</section>"
    )


def _pictures(plan: Plan, shown: list[BallFigures], outlines: Strips) -> str:
    """One for each variation, with the verdict on each of its balls."""
    numbers = {shot.id: n for n, shot in enumerate(plan.shots)}
    own = {ball.id: ball.letter for ball in shown}
    made = ""
    for picture in pictures(plan, letters(plan)):
        variation = picture.variation
        title = (variation.title or variation.id) if variation else "Without a variation"
        when = f"<p>when {plain(variation.when)}</p>" if variation and variation.when else ""
        when += f"<p>{plain(hit_if(variation.hit_if, hitter=True))}</p>" if variation and variation.hit_if else ""
        balls = "".join(
            _verdict(plan, shot, numbers[shot.id], shown)
            for shot in sorted(picture.shots, key=lambda shot: numbers[shot.id])
        )
        head = f"{of(listed(picture.letters), picture.player if plan.others else None)}: {title}"
        made += (
            f"<article><h2>{plain(head)}</h2>{when}"
            f'{draw(plan, picture, more=True, strips=outlines, own=own).svg}<ul class="verdicts">{balls}</ul></article>'
        )
    return made


def _care(plan: Plan, shown: list[BallFigures]) -> str:
    """How many balls have each word; what asks for care is seen first."""
    words = [verdict.worst(plan, shot) for shot in plan.shots]
    counted = [(word, words.count(word)) for word in verdict.SIGNS if word != "care" and word in words]
    told = ", ".join(f"{_sign(word)} {count} {word}" for word, count in counted)
    cares = words.count("care")
    if not cares:
        return f"<p>No ball asks for care{told and f': {told}'}.</p>"
    asks = f"{cares} of {plural(len(words), 'ball')} {'asks' if cares == 1 else 'ask'} for care"
    return f'<p><b class="care">{_sign("care")} {asks}</b>{told and f", {told}"}.</p>'


def _sign(word: verdict.Word) -> str:
    return f'<span aria-hidden="true">{verdict.SIGNS[word]}</span>'


def _choice(plan: Plan, shown: list[BallFigures]) -> str:
    """A button for each ball with the sign of its verdict, so that each is one tap away."""
    made = ""
    named = letters(plan).of
    order = list(named.values())
    for number, shot in sorted(enumerate(plan.shots), key=lambda one: order.index(named[one[1].id])):
        ball = shown[number]
        word, name = verdict.worst(plan, shot), escape(visible(f"{ball.letter} {ball.name}"), quote=True)
        kind = word.replace(" ", "-")
        made += (
            f'<button type="button" class="{kind}" data-ball="{number}" aria-pressed="false" title="{name}: {word}"'
            f' aria-label="{name}: {word}">{_sign(word)} {plain(ball.letter)}</button>'
        )
    return f'<div class="choice" role="group" aria-label="Choose a ball">{made}</div>'


def _verdict(plan: Plan, shot: Shot, number: int, shown: list[BallFigures]) -> str:
    ball = shown[number]
    fit = FIT.get(verdict.worst(plan, shot))
    told = f"<li><b>{fit}</b></li>" if fit else ""
    for word, texts in verdict.by_word(plan, shot):
        told += f'<li class="{word.replace(" ", "-")}">{_sign(word)} <b>{word}:</b> {plain(texts)}</li>'
    seen = shot.predicted
    told += f"<li>met at {seen.contact_m[2]:.2f} m, {seen.contact_phase}, after {seen.contact_s:.2f} s</li>"
    return (
        f'<li class="verdict" id="verdict-{number}"><button type="button" data-ball="{number}" aria-pressed="false">'
        f"{plain(f'{ball.letter} {ball.name}')}</button><ul>{told}</ul></li>"
    )


def _steps(plan: Plan) -> str:
    last = max(0, len(plan.launches) - 1)
    blocks = "".join(
        f'<option value="{n}">Block {n}, {clock(group[0].start_s)}</option>'
        for n, group in enumerate(grouped(plan.blocks), start=1)
        if any(block.kind == "balls" for block in group)
    )
    speeds = "".join(f'<option value="{value}">{name}</option>' for value, name in SPEEDS)
    return (
        '<div class="steps" role="group" aria-label="Steps through the session">'
        '<button type="button" id="before">Previous</button>'
        f'<input type="range" id="slider" aria-label="Ball of the session" min="0" max="{last}" step="1" value="0">'
        '<button type="button" id="after">Next</button>'
        f'<select id="block" aria-label="Block of the session">{blocks}</select></div>{_strip(plan)}'
        '<p id="said" role="status"></p><div class="steps" role="group" aria-label="Flights">'
        '<button type="button" id="fly">Fly it</button><button type="button" id="on">Play on</button>'
        f'<select id="speed" aria-label="Speed">{speeds}</select>'
        '<button type="button" id="hold" aria-pressed="false">Hold to compare</button></div>'
        '<p id="differs" role="status"></p>'
    )


def _strip(plan: Plan) -> str:
    """The session to scale in time: blocks filled, rests and collects open."""
    whole = plan.totals.duration_s or 1.0
    rects = "".join(
        f'<rect class="{"fed" if block.kind == "balls" else "pause"}" x="{1000 * block.start_s / whole:.1f}" y="2"'
        f' width="{max(1000 * block.duration_s / whole - 1, 0.5):.1f}" height="16"/>'
        for block in plan.blocks
    )
    return (
        '<svg id="strip" viewBox="0 0 1000 20" preserveAspectRatio="none" role="img"'
        f' aria-label="The session in time, {clock(plan.totals.duration_s)} min">{rects}'
        f'<line id="now" x1="0" y1="0" x2="0" y2="20"/></svg>'
    )


def _table(plan: Plan, shown: list[BallFigures]) -> str:
    labels = [label for label, _ in shown[0].figures] if shown else []
    heads = "".join(f'<th scope="col">{label}</th>' for label in ("Ball", *labels))
    rows = ""
    for ball in shown:
        cells = "".join(f'<td data-label="{label}">{plain(text)}</td>' for label, text in ball.figures)
        rows += f'<tr><th scope="row">{plain(f"{ball.letter} {ball.name}")}</th>{cells}</tr>'
    return (
        '<section class="all" aria-label="All balls" tabindex="0"><h2>All balls</h2>'
        f"<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></section>"
    )


def _facts(shot: Shot) -> list[float | None]:
    """What two balls are compared by: m over the net, m from the net, m of the contact, s, km/h, rpm of topspin."""
    seen, start = shot.predicted, shot.launch
    lands = None if seen.landing_m is None else round(seen.landing_m[1], 3)
    over = None if seen.net_clearance_m is None else round(seen.net_clearance_m, 3)
    return [over, lands, round(seen.contact_m[2], 3), round(seen.contact_s, 3), round(start.speed_mps * 3.6, 1),
            round(start.topspin_rpm, 0)]  # fmt: skip


def _data(plan: Plan, paths: Paths, shown: list[BallFigures], first: int | None) -> str:
    data = {
        "first": first,
        "stretch": STRETCH,
        "balls": [
            {
                "letter": ball.letter,
                "name": ball.name,
                "figures": ball.figures,
                "facts": _facts(shot),
                "path": [[round(value, 3) for value in point] for point in paths[ball.id]],
            }
            for shot, ball in zip(plan.shots, shown, strict=True)
        ],
        "moments": [[moment.ball, moment.text, moment.block, moment.at_s] for moment in figures.moments(plan)],
        "lasts": plan.totals.duration_s,
    }
    return web.data(data)
