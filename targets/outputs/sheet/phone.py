"""The feed sheet for a phone or a tablet: one card at a time, the next letter as large as the screen, buttons to mark
the replies, and below it all that the paper says. One HTML file that loads nothing; without its script it is the sheet
to scroll through. Marks stay in the phone; the page saves them as a CSV for the log, or, where a server gives it out
together with `link.js`, sends them there."""

from collections.abc import Iterator
from importlib.resources import files
from itertools import accumulate
from typing import Any

from ....compiler.model.plan import BlockRestRecord, GoalRecord, Plan, ScoreRecord
from ....compiler.model.takers import called, takers_of, takers_of_score
from ....compiler.printable import plural, visible
from ....grammar.units import number
from .. import web
from ..turns import Turn
from ..web import plain
from .letters import letters, listed, of
from .page import Sheet, SheetPart, SheetStep, VariationRow, sheet
from .panels import drawn
from .rows import NOT_SET, Row, dials, heads
from .rungs import RungsRow
from .words import at_most, quoted, turned, until

AHEAD = 4
"""Letters that are shown after the one to feed."""
KEY = (
    "Seen from your place, player at the top. Dot: the ball lands; square frame: on the full. Diamond: the player "
    "meets it. Black square: you or the machine. Short dashes: where the ball should land, or on the full "
    "come to; long dashes: the reply's target."
)


def render(plan: Plan, date: str = "") -> bytes:
    """UTF-8; with the date if one is given."""
    return web.document(f"{plan.program}: feed sheet", body(plan, date), part("phone.css"), [part("phone.js")])


def body(plan: Plan, date: str = "") -> str:
    """What stands in the page, with the data for its script."""
    data = sheet(plan)
    return (
        f"<header><h1>{plain(data.program)}</h1><p>{plain(data.front.session)}</p></header><main>{_play(data)}"
        f"{_front(data)}{_balls(plan, data)}{_session(data)}</main>"
        f"<footer>plan {plain(data.digest[:12])}{f', {plain(date)}' if date else ''}</footer>"
        f"{web.data(_walk(plan, data))}"
    )


def part(name: str) -> str:
    """`phone.css` or `phone.js`."""
    return (files(__package__) / name).read_text("utf-8")


# ---- the cards


def _walk(plan: Plan, data: Sheet) -> dict[str, Any]:
    """The cards in their order. Each ball is described once, under its letter."""
    cards: list[dict[str, Any]] = [
        {
            "kind": "start",
            "big": "Before the first ball",
            "where": "Read aloud once",
            "lines": [*data.front.cautions, *(f"{label}: {text}." for label, text in data.front.place)],
        }
    ]
    for part in data.parts:
        first = len(cards)
        cards += _cards(plan, part, data.dials if part is data.parts[0] else "")
        for card in cards[first:]:
            card["part"] = part.number
    cards.append(
        {
            "kind": "end",
            "big": "End",
            "where": "",
            "lines": ["The marks below, or the counts on paper, go into the log."],
        }
    )
    _number(plan, cards)
    told = {row.letter: [visible(line) for line in _ball_lines(plan, row)] for row in data.rows}
    shown = [{**card, "lines": [visible(line) for line in card["lines"]]} for card in cards]
    place, named = _place(plan), letters(plan).of
    goals = {one.id: one.goal for one in plan.variations}
    begins = accumulate((block.balls for block in plan.blocks), initial=1)
    begin = dict(zip((block.index for block in plan.blocks), begins, strict=False))
    won = {index for goal in plan.goals if goal.variation is None for index in goal.blocks}
    return {
        "balls": told, "cards": shown, "ahead": AHEAD, "plan": plan.digest,
        "shots": [
            {"id": shot.id, "letter": named[shot.id], "of": visible(shot.variation or ""),
             "goal": _goal(goals.get(shot.variation or "")), "who": visible(shot.player or "") if plan.others else ""}
            for shot in plan.shots
        ],
        "points": {
            block.index + 1: [
                {"shots": [place[shot] for shot in one.shots], "missed": one.after_miss, "needed": one.needed,
                 "adds": [block.score.adds(one.name, hit) for hit in (False, True)] if block.score else [0, 0]}
                for one in block.points
            ]
            for block in plan.blocks
            if block.points
            and (block.begins_again or block.leaves_out or block.ends_early or block.score or block.index in won)
        },
        "scores": _scores(plan, place, begin),
        "games": {block.index + 1: block.first_to for block in plan.blocks if block.first_to},
        "until": {
            block.index + 1: [
                {"of": hold.variation and visible(hold.variation), "hits": hold.hits, "among": hold.among,
                 "good": hold.counts == "hits", "sets": hold.in_sets, "said": visible(until(hold))}
                for hold in block.until
            ]
            for block in plan.blocks if block.until
        },
        "goals": [
            {"of": goal.variation and visible(goal.variation), "hits": goal.hits, "among": goal.among,
             "all": goal.in_all, "blocks": [index + 1 for index in goal.blocks],
             "whole": goal.whole, "said": goal.words + (f", {visible(called(who))}" if who else ""),
             "balls": theirs and sorted(begin[block] + at for block, at in theirs)}
            for goal in plan.goals for who, theirs in takers_of(plan, goal).items()
        ],
    }  # fmt: skip


def _scores(plan: Plan, place: dict[str, int], begin: dict[int, int]) -> dict[int, dict[str, Any]]:
    """The rules of each block's score, what its balls add by their places, and the blocks from which it goes on."""
    found: dict[int, dict[str, Any]] = {}
    chain: list[int] = []
    for block in plan.blocks:
        if (score := block.score) and not (score.results and block.points):  # a point has no result to tap
            chain = [*(chain if score.goes_on else []), block.index + 1]
            names = () if block.points else score.worth
            worth = {place[name]: [score.adds(name, hit) for hit in (False, True)] for name in names}
            rules = {"start": score.start, "results": _results(score), "row": score.row, "bonus": score.bonus}
            held = {"least": score.least, "most": score.most, "ends": score.ends, "goal": score.goal}
            takers = [
                [visible(called(who)) if who else "", theirs and sorted(begin[one] + at for one, at in theirs)]
                for who, theirs in takers_of_score(plan, block.index).items()
            ]
            found[block.index + 1] = {**rules, **held, "worth": worth, "blocks": chain, "takers": takers}
    return found


def _results(score: ScoreRecord) -> list[tuple[str, int | None]]:
    """What a person can tap in place of hit and miss, with what it adds; of a hit and a miss the balls say it."""
    if not score.results:
        return []
    hit = [("a hit", None)] if any(score.worth.values()) else []
    return [*((visible(words), adds) for words, adds in score.results.items()), *hit, ("anything else", None)]


def _goal(goal: GoalRecord | None) -> dict[str, Any] | None:
    return {"hits": goal.hits, "among": goal.among, "said": goal.words} if goal else None


def _place(plan: Plan) -> dict[str, int]:
    """A shot's place in the plan, by which marks name it."""
    return {shot.id: n for n, shot in enumerate(plan.shots)}


def _number(plan: Plan, cards: list[dict[str, Any]]) -> None:
    """Which launch of the plan each card is, counted from one, with its shot; of a ladder, its first launch. Of a rest
    and a collect, how long it is."""
    place, at = _place(plan), 0
    breaks = (block.duration_s for block in plan.blocks if block.kind != "balls")
    for card in cards:
        if card["kind"] in ("rest", "collect") and "seconds" not in card:
            card["seconds"] = next(breaks)
        if card["kind"] not in ("ball", "ladder"):
            continue
        launch = plan.launches[at]
        block = plan.blocks[launch.block]
        card |= {"ball": at + 1, "block": block.index + 1}
        if ladder := block.ladder:
            card |= {"balls": block.balls, "up": ladder.up.hits, "up_in": ladder.up.among, "down": ladder.down_misses}
            fed = plan.launches[at : at + block.balls]
            card |= {"within": ladder.down_in, "shots": [[place[shot] for shot in one.any_of] for one in fed]}
            card |= {
                "sets": ladder.in_sets,
                "most": ladder.most_sets,
                "fewest": ladder.down_sets,
                "ends": ladder.ends,
                "rest": _between(block.rest) if block.rest else "",
            }
        else:
            card["shot"] = place[launch.first]
        at += block.balls if block.ladder else 1


def _between(rest: BlockRestRecord) -> str:
    return " ".join((f"rest {number(rest.rest_s)} s", *map(quoted, rest.notes)))


def _cards(plan: Plan, part: SheetPart, set_first: str) -> Iterator[dict[str, Any]]:
    before = [*([set_first] if set_first else []), *([f"{part.line}."] if part.line else [])]
    before += [line for entry in part.variations for line in _variation_lines(entry)]
    before += _rules(part)
    if any(step.kind == "balls" for turn in part.rounds for step in turn.steps):
        yield {
            "kind": "block", "big": f"Block {part.number}", "where": f"{part.starts} to {part.ends}",
            "lines": [f"{at_most(part.early, plural(part.balls, 'ball')).capitalize()}.", *before],
        }  # fmt: skip
    for turn in part.rounds:
        ladders = iter(part.rungs)
        times = len(turn.steps[0].clocks)
        for n in range(times):
            number = f", {turn.label.lower()}" if turn.label and times == 1 else ""
            for step in turn.steps:
                where = f"Block {part.number}{number}, {step.clocks[n]}"
                if step.kind != "balls":
                    lines = [line for line in (step.text, step.dials, *step.remarks) if line]
                    yield {"kind": step.kind, "big": step.kind.capitalize(), "where": where, "lines": lines}
                elif step.order:
                    yield from _ball_cards(plan, step, where)
                elif (ladder := next(ladders, None)) is not None:
                    yield _ladder_card(ladder, step, where)


def _rules(part: SheetPart) -> list[str]:
    """Without the lines that belong to boxes on paper."""
    return [*(one.rule for one in part.rungs), *(one.rule for one in part.points if not one.again)]


def _ball_cards(plan: Plan, step: SheetStep, where: str) -> Iterator[dict[str, Any]]:
    """A card for each ball, with its place in its point, and where the next player steps up; and for each rest."""
    begins = {turn.first: turn for turn in step.turns}
    turn = None
    places = [f", ball {n} of {size} of the point" for size in step.groups for n in range(1, size + 1)]
    for n, letter in enumerate(step.order):
        place = f"ball {n + 1} of {len(step.order)}" + (places[n] if step.groups else "")
        turn = begins.get(n, turn)
        who = turn.who if turn and turn.named else ""
        lines = [_comes(turn)] if turn and turn.first == n > 0 else []
        lines += [f"{step.said}."] if step.groups and not n else []
        if n in step.rested:
            yield {
                "kind": "rest",
                "big": "Rest",
                "where": where,
                "lines": list(map(quoted, step.rest_notes)),
                "seconds": step.rest_s,
            }
        yield {
            "kind": "ball",
            "big": letter,
            "where": visible(of(f"{where}: {place}", who)),
            "lines": [*lines, *(() if n else filter(None, (step.dials, *step.remarks)))],
        }


def _comes(turn: Turn) -> str:
    """The next player, with the time that the change takes."""
    comes = f"{turn.who} comes" if turn.named else f"The next player steps up, {turn.who} in the line"
    return f"{comes}{f': {turn.wait} after the ball before' if turn.wait else ''}."


def _ladder_card(ladder: RungsRow, step: SheetStep, where: str) -> dict[str, Any]:
    return {
        "kind": "ladder", "big": ladder.rungs[ladder.start][0], "where": where, "rung": ladder.start,
        "rungs": [list(rung) for rung in ladder.rungs], "lines": [f"{step.text}.", ladder.rule, *step.remarks],
    }  # fmt: skip


def _ball_lines(plan: Plan, row: Row) -> list[str]:
    """What a ball is, in the words of the paper's table."""
    lines = [
        f"{head.capitalize()}: {', '.join(filter(None, cell))}"
        for head, cell in zip(heads(plan), row.cells, strict=True)
    ]
    lines += [
        f"{told.capitalize()}: {value} {unit}{_turned(name, value)}"
        for name, (told, unit), value in zip(plan.feeder.setting_units, dials(plan), row.dials, strict=False)
    ]
    return [*lines, *filter(None, [row.spin.capitalize(), row.small]), *row.notes]


def _turned(name: str, value: str) -> str:
    told = "" if value == NOT_SET else turned(name, float(value))
    return f" ({told})" if told else ""


def _variation_lines(entry: VariationRow) -> list[str]:
    goal = [f"Goal: {entry.goal.words}."] if entry.goal else []
    asked = "; ".join(filter(None, [f"When {entry.when}" if entry.when else "", entry.reply]))
    return [f"{listed(entry.letters)}: {entry.title}", *([f"{asked}."] if asked else []), *entry.notes, *goal]


# ---- the page


def _play(data: Sheet) -> str:
    blocks = "".join(
        f'<option value="{part.number}">Block {part.number}, {part.starts}</option>' for part in data.parts
    )
    return (
        '<section id="play" aria-label="The next ball" hidden><div id="card"><div role="status">'
        '<p id="where"></p><p id="big"></p><ul id="lines"></ul></div><p id="then"></p></div>'
        '<div class="steps rungs" hidden><button type="button" id="easier">One rung down</button>'
        '<button type="button" id="harder">One rung up</button></div>'
        '<div class="steps"><button type="button" id="back">Back</button><button type="button" id="next">Next</button>'
        '</div><div class="steps marks" hidden><button type="button" id="undo">Undo</button>'
        '<button type="button" id="miss">Miss</button><button type="button" id="hit">Hit</button></div>'
        '<div class="steps results" hidden></div><p id="counts" role="status"></p>'
        f'<p><label>Go to <select id="part"><option value="0">the start</option>{blocks}'
        '<option value="end">the end</option></select></label></p><p id="link" role="status"></p>'
        '<div class="steps kept" hidden><button type="button" id="save">Save the marks</button>'
        '<button type="button" id="anew">New practice</button></div>'
        '<p class="small">Tap the card, swipe, or press an arrow key to go on. Hit and Miss mark the reply to '
        "the ball on the card, and go on. This page stops nothing: if anyone calls STOP, stop feeding.</p></section>"
    )


def _front(data: Sheet) -> str:
    front = data.front
    goals = [("Goals", "; ".join(front.goals))] if front.goals else []
    facts = "".join(f"<dt>{label}</dt><dd>{plain(text)}</dd>" for label, text in (*goals, *front.facts))
    cautions = "".join(f"<li>{plain(text)}</li>" for text in front.cautions)
    clock = "".join(
        f"<dt>{time}</dt><dd>{plain(text)}{f' ({balls})' if balls else ''}</dd>" for time, text, balls in front.clock
    )
    return (
        f'<section><h2>Before the first ball</h2><ul class="cautions">{cautions}</ul>{_paragraphs(front.notes)}'
        f"<dl>{facts}</dl><h2>The session by the clock</h2><dl>{clock}</dl></section>"
    )


def _balls(plan: Plan, data: Sheet) -> str:
    entries = {entry.id: entry for part in data.parts for entry in part.variations}
    articles = ""
    for picture, drawing in drawn(plan, letters(plan), [row.letter for row in data.rows], 1.0):
        entry = entries.pop(picture.variation.id, None) if picture.variation else None
        head, *told = _variation_lines(entry) if entry else [listed(picture.letters)]
        if plan.others:
            head = of(head, picture.player)
        articles += f"<article><h3>{plain(head)}</h3>{drawing.svg}{_paragraphs(told)}</article>"
    rows = "".join(f"<dt>{plain(row.letter)}</dt><dd>{_paragraphs(_ball_lines(plan, row))}</dd>" for row in data.rows)
    return f'<section><h2>The balls</h2><p class="small">{KEY}</p>{articles}<dl class="balls">{rows}</dl></section>'


def _session(data: Sheet) -> str:
    blocks = ""
    for part in data.parts:
        blocks += f"<h3>Block {part.number}, {part.starts} to {part.ends}</h3>"
        blocks += _paragraphs(_rules(part))
        for turn in part.rounds:
            blocks += f"<p><b>{turn.heading}</b></p>" if turn.label else ""
            for step in turn.steps:
                blocks += f"<p><b>{turn.when(step)}</b> {plain(step.said)}</p>"
                blocks += _paragraphs(filter(None, (step.dials, *step.remarks)))
                if step.told:
                    blocks += f'<p class="order">{_order(step)}</p>'
    return f"<section><h2>The session</h2>{blocks}</section>"


def _order(step: SheetStep) -> str:
    """The letters in groups of five, each turn with its player before it."""
    starts = [turn.first for turn in step.turns] or [0]
    told = ""
    for n, (first, end) in enumerate(zip(starts, [*starts[1:], len(step.order)], strict=True)):
        if step.turns:
            turn = step.turns[n]
            told += f"<b>{plain(f'{turn.wait}: {turn.who}' if turn.wait else turn.who)}</b> "
        fives = (" ".join(step.order[at : min(at + 5, end)]) for at in range(first, end, 5))
        told += "".join(f"<span>{five}</span> " for five in fives)
    return told


def _paragraphs(texts: Any) -> str:
    return "".join(f"<p>{plain(text)}</p>" for text in texts)
