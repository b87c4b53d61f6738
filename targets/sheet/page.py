"""What a feed sheet says, as data and words; nothing here knows of paper, HTML or drawing."""

from collections.abc import Sequence
from dataclasses import dataclass

from ...compiler.model.plan import Block, Plan, Shot, VariationRecord
from ..clock import minutes
from . import words
from .front import Front, front
from .letters import Letters, letters


@dataclass(frozen=True, slots=True)
class Feed:
    """One kind of ball, under its letter."""

    letter: str
    name: str
    says: tuple[tuple[str, str], ...]
    """Key and text: where it lands, over the net, spin and pace, the player, the rhythm."""
    settings: tuple[tuple[str, str], ...]
    """What a machine is set to: name, value with unit."""
    notes: tuple[str, ...]
    shots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """What the player is to do, and with which letters."""

    letters: tuple[str, ...]
    title: str
    when: str
    reply: str
    goal: int | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """Something to do from a moment of the session's clock on; a step that comes in each round has several."""

    clocks: tuple[str, ...]
    kind: str
    text: str
    order: tuple[str, ...]
    """A letter for each ball; empty where they are all alike."""
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Round:
    label: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Part:
    number: int
    starts: str
    ends: str
    script: str
    jobs: tuple[Job, ...]
    feeds: tuple[Feed, ...]
    rounds: tuple[Round, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    program: str
    session: str
    digest: str
    front: Front
    parts: tuple[Part, ...]


def sheet(plan: Plan) -> Sheet:
    named = letters(plan)
    groups = grouped(plan.blocks)
    parts = [_part(plan, named, i, blocks) for i, blocks in enumerate(groups, start=1)]
    return Sheet(plan.program, plan.session, plan.digest, front(plan, _clock(plan, groups)), tuple(parts))


def _clock(plan: Plan, groups: list[list[Block]]) -> tuple[tuple[str, str, str], ...]:
    """A line for each part and for each rest or collect between two; the script's own lines say what."""
    lines: list[tuple[str, str, str]] = []
    for part, blocks in enumerate(groups, start=1):
        within = [block for block in blocks if block.round] or blocks[:1]
        once = " · ".join(dict.fromkeys(block.words for block in within))
        rounds = f"{words.plural(within[0].round[1], 'round')}: " if within[0].round else ""
        balls = sum(block.balls for block in within)
        name = f"Part {part}: " if balls else ""
        lines.append(
            (minutes(blocks[0].start_s), f"{name}{rounds}{once}", words.plural(balls, "ball") if balls else "")
        )
        lines += [(minutes(block.start_s), block.words, "") for block in blocks[len(within) :]]
    return (*lines, (minutes(plan.totals.duration_s), "end", ""))


def grouped(blocks: Sequence[Block]) -> list[list[Block]]:
    """Blocks that share a page: each block of balls with the rests and collects after it, all rounds together."""
    groups: list[list[Block]] = []
    for block in blocks:
        if groups and _belongs(groups[-1], block):
            groups[-1].append(block)
        else:
            groups.append([block])
    return groups


def _belongs(group: list[Block], block: Block) -> bool:
    last = group[-1].round
    if block.round is None:
        return block.kind != "balls"
    return last is not None and last[1] == block.round[1] and last[0] <= block.round[0]


def _part(plan: Plan, named: Letters, number: int, blocks: list[Block]) -> Part:
    ids = [shot for block in blocks for shot in block.shots]
    feeds = tuple(_feed(plan, letter, named.shots(letter, ids)) for letter in named.used(ids))
    end = blocks[-1].start_s + blocks[-1].duration_s
    script = tuple(dict.fromkeys(block.words for block in blocks if block.kind == "balls"))
    return Part(
        number,
        minutes(blocks[0].start_s),
        minutes(end),
        " · ".join(script) or blocks[0].words,
        _jobs(plan, named, ids),
        feeds,
        _rounds(plan, named, blocks),
    )


def _feed(plan: Plan, letter: str, shots: list[Shot]) -> Feed:
    machine = plan.feeder.kind == "machine"
    first = shots[0]
    units = plan.feeder.setting_units
    arrives = min(s.predicted.landing_s or s.predicted.contact_s for s in shots)
    what = "bounce" if first.predicted.landing_m else "player"
    speeds = [shot.launch.speed_mps for shot in shots]
    count = "" if machine else words.counted(first.interval_s)
    return Feed(
        letter,
        first.feed,
        (
            _lands(plan, shots),
            ("Net", _over_net(plan, shots)),
            ("Ball", f"{words.spin(first.launch, machine)}; {words.pace(min(speeds), max(speeds))}"),
            ("Then", f"{arrives:.1f} s to {what}; {_player(plan, shots)}"),
            ("Every", f"{words.number(first.interval_s, 2)} s{', ' if count else ''}{count}"),
        ),
        tuple((name, f"{value:.6g} {units.get(name, '')}".strip()) for name, value in first.settings.items()),
        tuple(dict.fromkeys(note for shot in shots for note in shot.notes)),
        tuple(shot.id for shot in shots),
    )


def _lands(plan: Plan, shots: list[Shot]) -> tuple[str, str]:
    spots = [shot.predicted.landing_m for shot in shots if shot.predicted.landing_m]
    told = "Land"
    if not spots:
        told, spots = "No bounce", [shot.predicted.contact_m[:2] for shot in shots]
    xs, ys = [x for x, _ in spots], [y for _, y in spots]
    side = words.wing(sum(xs) / len(xs), plan.player)
    place = f"{words.along(min(ys), max(ys), plan.court)}, {words.across(min(xs), max(xs), plan.court)}"
    vary = "; vary it" if len(shots) > 1 else ""
    return told, f"{place}{f', {side}' if side else ''}{vary}"


def _over_net(plan: Plan, shots: list[Shot]) -> str:
    heights = [s.predicted.net_clearance_m for s in shots if s.predicted.net_clearance_m is not None]
    if not heights:
        return "none to cross" if plan.feeder.players_side else "not over its cord"
    return words.rackets(min(heights), max(heights))


def _player(plan: Plan, shots: list[Shot]) -> str:
    heights = [shot.predicted.contact_m[2] for shot in shots]
    phase = shots[0].predicted.contact_phase
    own = shots[0].words.get("height", "")
    manner = ", ".join(dict.fromkeys(part for part in (own, "" if phase in own else phase) if part))
    place = words.along(shots[0].stance_y_m, shots[0].stance_y_m, plan.court)
    return f"met {words.span(min(heights), max(heights), 2)} m up ({manner}), {place}"


def _jobs(plan: Plan, named: Letters, ids: list[str]) -> tuple[Job, ...]:
    variations = {variation.id: variation for variation in plan.variations}
    users: dict[str, list[str]] = {}
    for letter in named.used(ids):
        variation = named.shots(letter, ids)[0].variation
        if variation in variations:
            users.setdefault(variation, []).append(letter)
    return tuple(_job(variations[name], tuple(used)) for name, used in users.items())


def _job(variation: VariationRecord, used: tuple[str, ...]) -> Job:
    over = variation.reply.over_net_m
    return Job(
        used,
        variation.title or variation.id,
        variation.when or "",
        variation.reply.words + ("" if over is None else f" (over net: about {words.in_rackets(over)})"),
        variation.goal_in_a_row,
        variation.notes,
    )


def _rounds(plan: Plan, named: Letters, blocks: list[Block]) -> tuple[Round, ...]:
    """The steps by round; rounds that differ in nothing but the clock become one."""
    rounds: list[tuple[tuple[int, int] | None, list[Step]]] = []
    for block in blocks:
        if not rounds or rounds[-1][0] != block.round:
            rounds.append((block.round, []))
        rounds[-1][1].append(_step(plan, named, block))
    result: list[Round] = []
    firsts: list[int] = []
    for place, steps in rounds:
        label = f"Round {place[0]} of {place[1]}" if place else ""
        if place and result and firsts and _same(result[-1].steps, steps):
            both = zip(result[-1].steps, steps, strict=True)
            merged = tuple(Step(a.clocks + b.clocks, a.kind, a.text, a.order, a.notes) for a, b in both)
            result[-1] = Round(f"Round {firsts[-1]} to {place[0]}, each", merged)
        else:
            result.append(Round(label, tuple(steps)))
            firsts.append(place[0] if place else 0)
    return tuple(result)


def _same(one: Sequence[Step], other: Sequence[Step]) -> bool:
    return [(s.kind, s.text, s.order, s.notes) for s in one] == [(s.kind, s.text, s.order, s.notes) for s in other]


def _step(plan: Plan, named: Letters, block: Block) -> Step:
    clock = (minutes(block.start_s),)
    if block.kind == "rest":
        return Step(clock, "rest", f"Rest {words.number(block.duration_s)} s", (), block.notes)
    if block.kind == "collect":
        return Step(clock, "collect", f"Collect the balls, {words.number(block.duration_s)} s", (), block.notes)
    fed = [ball.first for ball in plan.launches if ball.block == block.index]
    order, used = tuple(named.of[shot] for shot in fed), named.used(fed)
    text = f"{words.plural(len(order), 'ball')}, "
    if len(used) < 2:
        return Step(clock, "balls", text + f"{''.join(used)} each time", (), block.notes)
    manner = {"cycle": "in turn", "mix": "mixed, in this order"}.get(block.order or "", "in this order")
    return Step(clock, "balls", text + f"{', '.join(used)} {manner}", order, block.notes)
