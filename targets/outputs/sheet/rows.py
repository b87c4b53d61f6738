"""A row of the feed sheet: one kind of ball in cells of two short lines, wide enough for 17 pt on any paper."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from ....compiler.model.plan import Block, Plan, Shot
from ....grammar.units import number
from ..blocks import grouped
from ..places import stands
from . import words
from .letters import Letters, places

Cell = tuple[str, str]
"""Upper and lower line."""
SAME_M = 0.25
"""Balls that land nearer to each other than this, m, share one place."""
DIAL = "position"
"""The unit of a setting that is a position of a dial."""
EVERY = "every"
"""The time between balls, beside the settings."""
BY_ITSELF = "feedwright replay on a computer sets it between balls, or the machine's own program"
"""Who sets a machine whose balls differ within a block: nobody can by hand."""
NOT_SET = "–"
"""In place of a setting that a ball has not."""
SPEEDS = frozenset({"km/h", "mph", "m/s"})
"""A setting in one of these units gives the pace, so the row does not repeat it."""


@dataclass(frozen=True, slots=True)
class Row:
    letter: str
    cells: tuple[Cell, ...]
    """Where it lands and how high; for a person also the ball and the rhythm. A machine's cells are one line each."""
    dials: tuple[str, ...]
    """What a machine is set to, in the order of the profile; empty for a person."""
    spin: str
    """Spin in words, and the pace if no setting gives it; empty for a person."""
    small: str
    """Name, and how the player meets it."""
    every: str
    """The rhythm, such as "every 4 s"."""
    notes: tuple[str, ...]
    who: str = ""
    """The player, if there are several."""
    told: tuple[str, ...] = ()
    """What of the small print no sheet leaves out: for whom the ball is, that it is met after a second
    bounce, when a machine feeds it in a rhythm of contacts, and how high it is met if nothing else tells it from
    another."""
    met: str = ""
    """How high the player meets it, m."""
    like: str = ""
    """The letter of an earlier ball for which a machine is set to the same."""


def heads(plan: Plan) -> tuple[str, ...]:
    """Headings of the cells."""
    sides = {stands(plan, shot).players_side for shot in plan.shots}
    over = "over the net" if True not in sides else "highest" if sides == {True} else "over the net or highest"
    full = {shot.predicted.landing_m is None for shot in plan.shots}
    lands = "lands" if True not in full else "met on the full" if full == {True} else "lands; full: met"
    return (lands, over) if plan.feeder.kind == "machine" else (lands, over, "ball, km/h", "count")


def dials(plan: Plan) -> tuple[Cell, ...]:
    """Name and unit of each setting."""
    units = plan.feeder.setting_units if plan.feeder.kind == "machine" else {}
    return tuple((words.setting(name), unit) for name, unit in units.items())


def next_settings(plan: Plan, named: Letters, after: int) -> str:
    """What a machine that is set by hand alone is set to after a block, once where several pauses follow each other:
    all settings of the next balls if these are of one kind, and another than the last ones. What changes comes first,
    if these were of one kind too."""
    if set_between_balls(plan) or after == 0 or (after > 0 and plan.blocks[after - 1].kind != "balls"):
        return ""
    fed = [block for block in plan.blocks if block.kind == "balls"]
    before = [block.shots for block in fed if block.index < after][-1:]
    coming = next((block.shots for block in fed if block.index > after), ())
    if plan.feeder.kind != "machine" or len(coming) != 1 or before == [coming]:
        return ""
    was = before[0][0] if before and len(before[0]) == 1 else ""
    changed, same = _settings(plan, coming[0], was)
    parts = [", ".join(changed), f"as before: {', '.join(same)}" if same else ""]
    return f"Set to {named.of[coming[0]]}: {'; '.join(filter(None, parts))}"


def _settings(plan: Plan, shot: str, was: str) -> tuple[list[str], list[str]]:
    """The settings of a ball that change after another, and those that stay."""
    settings = {shot.id: {**shot.settings, EVERY: shot.interval_s} for shot in plan.shots}
    changed: list[str] = []
    same: list[str] = []
    for name, value in settings[shot].items():
        if value is None:
            continue
        old = settings[was].get(name) if was else None
        aside = [words.turned(name, value), f"was {old:.6g}" if old is not None and old != value else ""]
        unit = {**plan.feeder.setting_units, EVERY: "s"}[name]
        told = f"{words.setting(name)}\u00a0{value:.6g}{'' if unit == DIAL else f' {unit}'}"
        told += f" ({', '.join(filter(None, aside))})" if any(aside) else ""
        (same if old == value else changed).append(told)
    return changed, same


def without_computer(plan: Plan, named: Letters, block: Block) -> str:
    """What a machine that needs a computer between balls is set to where nobody has one, before a block that it plays
    on one setting. Every setting is told, because a block that was left out has set nothing."""
    by_hand = _by_hand(plan)
    if block.index not in by_hand:
        return ""
    last = max((index for index in by_hand if index < block.index), default=None)
    again = last is not None and not block.round and plan.blocks[last].shots == block.shots
    told, _ = _settings(plan, block.shots[0], "")
    return f"Set to {named.of[block.shots[0]]}{', as before' * again}: {', '.join(told)}"


def _by_hand(plan: Plan) -> set[int]:
    """The blocks of one kind of ball before which there is a pause to set the machine, or the same ball, where it
    needs a computer for others."""
    found: set[int] = set()
    before = None
    for block in plan.blocks if set_between_balls(plan) else ():
        alone = block.kind == "balls" and not block.ladder and len(block.shots) == 1
        same = before is not None and before.shots == block.shots and before.index in found
        if alone and (before is None or before.kind != "balls" or same):
            found.add(block.index)
        before = block
    return found


def who_sets(plan: Plan, named: Letters) -> str:
    """Who sets a machine between balls that follow each other without a pause, and who where the sheet says `Set to`;
    empty for a person."""
    while_still = "set it while no ball is fed"
    if set_between_balls(plan):
        by_hand = _by_hand(plan)
        if not by_hand:
            return f"{BY_ITSELF}. Without one of them do not feed"
        parts = enumerate(grouped(plan.blocks), start=1)
        fed = [str(n) for n, blocks in parts if any(block.index in by_hand for block in blocks)]
        only = f"feed only Block{'s' * (len(fed) > 1)} {', '.join(fed)}, where it says Set to"
        return f"{BY_ITSELF}: set nothing by hand. Without one of them {only}; {while_still}"
    pauses = [-1, *(block.index for block in plan.blocks if block.kind != "balls")]
    return f"where a line says Set to, {while_still}" if any(next_settings(plan, named, at) for at in pauses) else ""


def set_between_balls(plan: Plan) -> bool:
    """Whether a machine's balls differ where no pause stands between them, so that nobody can set it by hand."""
    settings = {shot.id: tuple(shot.settings.items()) for shot in plan.shots}
    return plan.feeder.kind == "machine" and any(
        len({settings[shot] for block in run for shot in block.shots}) > 1
        for fed, run in groupby(plan.blocks, key=lambda block: block.kind == "balls")
        if fed
    )


def _after_rally(shot: Shot, every: str) -> str:
    """When a person feeds who lets each rally be played out, as the script says it; "" otherwise."""
    said, rally, _ = shot.words.get("interval", "").partition(" after a rally")
    return f"{said} after the rally, about {every}" if rally else ""


def row(plan: Plan, letter: str, shots: list[Shot], rung: str = "") -> Row:
    """The row of one letter."""
    machine = plan.feeder.kind == "machine"
    first = shots[0]
    speeds = [shot.launch.speed_mps for shot in shots]
    spin, pace = words.spin(first.launch), words.pace(min(speeds), max(speeds))
    rhythm = _rhythm(plan, first)
    every = f"every {' or '.join(number(seconds, 2) for seconds in rhythm)} s"
    served = _after_serve(plan, first) or ("" if machine else _after_rally(first, every))
    every = served or every
    after = after_a_hit(first)
    if after:
        every = f"contacts {every}"
    cells: list[Cell] = [lands(plan, shots), high(plan, shots)]
    if not machine:
        count = after or (words.counted(rhythm[0]) if len(rhythm) == 1 and not served else "")
        cells += [(spin, pace.removesuffix(" km/h")), (count, every) if count else (every, "")]
    else:
        cells = [(", ".join(filter(None, cell)), "") for cell in cells]
    named = (f"rung {rung}: " if rung else "") + words.quoted(first.feed)
    who = first.player if first.player and plan.others else ""
    told = [f"for {who}"] if who else []
    told += ["met after the second bounce"] if first.predicted.bounces == 2 else []
    told += [f"feed {after}"] if machine and after else []
    told += [f"met {met(shots)} m high"] if not machine and _told_by_height(plan, shots) else []
    return Row(
        letter,
        tuple(cells),
        tuple(_value(first.settings.get(name)) for name in plan.feeder.setting_units) if machine else (),
        (
            ""
            if not machine
            else spin
            if SPEEDS.intersection(unit for _, unit in dials(plan))
            else f"{spin}, {pace.partition(' ')[2]}"
        ),
        f"{' · '.join([named, *told])} · {_met(plan, shots)}" + (f" · {every}" if machine else ""),
        every,
        tuple(dict.fromkeys(words.quoted(note) for shot in shots for note in shot.notes)),
        who,
        tuple(told),
        met(shots),
    )


def _told_by_height(plan: Plan, shots: list[Shot]) -> bool:
    """Whether only the height at which they are met tells balls on the full from others of their feed."""
    feed = [one for one in plan.shots if (one.feed, one.player) == (shots[0].feed, shots[0].player)]
    others = [one for one in feed if met([one]) != met(shots[:1])]
    return any(lands(plan, [one]) == lands(plan, shots[:1]) for one in others if one.predicted.landing_m is None)


def _rhythm(plan: Plan, shot: Shot) -> tuple[float, ...]:
    """The time from the ball before, s, shortest first: the interval, or in a block in which a point begins again
    the time between any two of its balls."""
    found = set()
    for block in plan.blocks:
        if shot.id not in block.shots:
            continue
        at = [ball.at_s for ball in plan.launches if ball.block == block.index] if block.begins_again else []
        found.add(round(min((two - one for one, two in pairwise(at)), default=shot.interval_s), 2))
    return tuple(sorted(found)) or (shot.interval_s,)


def _after_serve(plan: Plan, shot: Shot) -> str:
    """When to feed a ball that always comes after the player's own serve; empty for all others."""
    drawn = [point for block in plan.blocks for point in block.points if shot.id in point.shots]
    alone = any(shot.id in block.shots and not block.points for block in plan.blocks)
    found = {point.serve_s for point in drawn}
    if alone or len(found) != 1 or any(shot.id in point.shots[1:] for point in drawn):
        return ""
    wait = found.pop()
    return f"{number(wait)} s after the serve" if wait is not None else ""


def after_a_hit(shot: Shot) -> str:
    """When to feed a ball whose interval runs from contact to contact: its own flight is part of the interval."""
    if not shot.words.get("interval", "").endswith("between contacts"):
        return ""
    wait = shot.interval_s - shot.predicted.contact_s
    return f"{number(abs(wait), 1)} s {'after' if wait >= 0 else 'before'} a hit"


def _value(value: float | None) -> str:
    return NOT_SET if value is None else f"{value:.6g}"


def lands(plan: Plan, shots: list[Shot]) -> Cell:
    """Along and across; on the full, where it is met."""
    full = all(shot.predicted.landing_m is None for shot in shots)
    ys = [_spot(shot)[1] for shot in shots]
    if full and max(ys) <= plan.court.service_m:  # a volley is measured from the net
        depth = f"{words.span(min(ys), max(ys))} m from net"
    else:
        depth = words.along(min(ys), max(ys), plan.court)
    if not depth.startswith("on "):
        depth = depth.removesuffix(" line")  # all cells of the column name a line
    across = [(min(x), max(x)) for x in ([_spot(shot)[0] for shot in place] for place in places(shots))]
    return f"{'full, ' if full else ''}{depth}", words.asides(across, plan.court)


def vary(plan: Plan, shots: list[Shot]) -> bool:
    """Whether a row gives a range or several places, so that whoever feeds may choose within it."""
    wide = [max(along) - min(along) for along in zip(*map(_spot, shots), strict=True)]
    return plan.feeder.kind == "person" and max(wide) >= SAME_M


def _spot(shot: Shot) -> tuple[float, float]:
    return shot.predicted.landing_m or shot.predicted.contact_m[:2]


def high(plan: Plan, shots: list[Shot]) -> Cell:
    """Over the cord, or on the player's own side the highest point above the ground."""
    heights = _heights(plan, shots)
    if heights is None:
        return "past the net's end", ""
    digits = 2 if heights[0] < 0.5 else 1
    least, most = (round(height, digits) for height in heights)  # the rackets are those of the metres that are printed
    return words.rackets(least, most), f"{words.span(least, most, digits)} m"


def _heights(plan: Plan, shots: list[Shot]) -> tuple[float, float] | None:
    """Least and most, m; None if no ball crosses the net between its ends."""
    if stands(plan, shots[0]).players_side:
        heights = [shot.predicted.peak_m for shot in shots]
    else:
        heights = [s.predicted.net_clearance_m for s in shots if s.predicted.net_clearance_m is not None]
    if not heights:
        return None
    least, most = min(heights), max(heights)
    if most - least < 0.05:  # less than a feeder can see
        most = least
    return least, most


def met(shots: Sequence[Shot]) -> str:
    """How high, m: a ball to dig out in centimetres, because it is not met on the ground."""
    heights = [max(shot.predicted.contact_m[2], 0.01) for shot in shots]
    return words.span(min(heights), max(heights), 1 if min(heights) >= 0.5 else 2)


def _met(plan: Plan, shots: list[Shot]) -> str:
    phase = shots[0].predicted.contact_phase
    own = "".join(word for word in [shots[0].words.get("height", "")] if not word[:1].isdigit())
    manner = own if "," in own else ", ".join(part for part in (own, phase) if part)
    place = words.along(shots[0].stance_y_m, shots[0].stance_y_m, plan.court)
    starts = {shot.words.get("starts", "") for shot in shots}
    wait = f"; player starts {words.quoted(starts.pop())}" if len(starts) == 1 and "" not in starts else ""
    sides = {plan.player_of(one).stroke(one.words.get("stroke"), one.waits_m, one.predicted.contact_m) for one in shots}
    side = f", a {sides.pop()}" if len(sides) == 1 and "" not in sides else ""
    return f"contact {met(shots)} m ({manner}), {place}{wait}{side}"
