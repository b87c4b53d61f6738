"""The first page of a feed sheet: who, where, with what, the cautions, and the session by the clock."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from ....compiler.model.plan import Block, FeederRecord, Plan, PlayerRecord
from ....compiler.model.takers import called, takers_of
from ....compiler.printable import plural, visible
from ....grammar.units import clock, number
from .. import band, verdict
from ..court import screen
from ..places import spot
from ..turns import changes, what_turns_count
from . import words
from .letters import Letters, letters
from .rows import after_a_hit, set_between_balls, vary, who_sets
from .rungs import keeper
from .starting import begin, between, test_balls, test_balls_collected

HOW = {
    "hand": "by hand from the basket, thrown underarm",
    "racket": "with a racket from the basket",
    "machine": "one person at the switch, behind the machine",
}


EYES = "A ball can blind: wear eye protection for racket sports (as ASTM F3164)"
UNDERFOOT = "Balls underfoot: clear the ground before each block. A ball rolls in: STOP."
SWITCHED_OFF = "Balls underfoot: power off, then clear. A ball rolls in: STOP."
EVERYBODY = (
    UNDERFOOT,
    "Shade, drink, rest. Pain or dizziness: stop. An adult stays with children.",
    "Local rules and a qualified coach overrule this sheet.",
)
IN_RACKETS = "Heights in rackets (0.7 m), over the net's cord. "
"""Of a sheet that gives heights so."""


FULL_M = 11.885
"""Half the length of a full court, whose lines are painted everywhere, and its net (ITF Rules of Tennis, Rule 1)."""
IN_SHOPS = {"stage 1": ", green", "stage 2": ", orange", "stage 3": ", red"}
"""Stages by their colours, as the ITF Rules of Tennis name them (Rule 3 and its appendix)."""
CONES, REPLIES = "Cones", "Replies"
ACCEPTED, ON_SCREEN = "Accepted", "Screen hit"
"""The facts that are left out before anything else, the last one first: it asks for nothing."""
HIT_HEIGHT, HIT_PLACE = (
    "Hit: place and height in metres, both as asked.",
    "Hit: the place as asked, height not counted.",
)
"""The latter where the sheet has no room for heights."""


@dataclass(frozen=True, slots=True)
class Front:
    session: str
    """Its name, if that is another than the program's, how long it lasts, and its balls."""
    facts: tuple[tuple[str, str], ...]
    """Label and text, in the order of use."""
    place: tuple[tuple[str, str], ...]
    """Those of them that whoever feeds needs first: the court, where to stand, the screen, and how to feed."""
    cautions: tuple[str, ...]
    clock: tuple[tuple[str, str, str], ...]
    """Time of the session, what, balls."""
    notes: tuple[str, ...]
    goals: tuple[str, ...]
    """Those that are counted over all blocks, with the letters of their balls."""


def front(plan: Plan, lines: tuple[tuple[str, str, str], ...]) -> Front:
    stands = "Machine" if plan.feeder.kind == "machine" else "You stand"
    who = ("Players" if plan.others else "Player", "; ".join(_player(plan, one) for one in plan.players))
    named = letters(plan)
    court = (("Court", marked),) if (marked := _court(plan)) else ()
    each = range(len(plan.feeder.elsewhere) + 1)
    covered = [plan.feeder.at(n).screen for n in each]
    cover = (("Screen", _each(plan, named, lambda n: screen.where(plan, n) if covered[n] else "none")),)
    place = (*court, (stands, _each(plan, named, lambda n: _place(plan.feeder.at(n), plan))), *cover * any(covered))
    place = (*place, ("You feed", _how(plan, named)))
    facts = (*place, who, ("Bring", _bring(plan)))
    reading = "Left and right are yours, facing the player; in “quotes” the player's. "
    reading += IN_RACKETS.replace("cord.", "cord, highest from the ground.") if plan.feeder.players_side else IN_RACKETS
    reading = reading.rstrip()
    kinds = {letter: named.shots(letter, list(named.of)) for letter in named.of.values()}
    if any(vary(plan, shots) for shots in kinds.values()):
        reading += " A range or two places: vary."
    if any(after_a_hit(shot) for shot in plan.shots):
        reading += " 2 s after a hit: feed 2 s after the player has hit the ball before."
    strip = any(len({named.of[shot] for shot in block.shots}) > 1 for block in plan.blocks)
    if found := changes(plan, plan.blocks):
        rounds = " or round" * any(block.round for block in plan.blocks)
        line = "" if plan.others else f", counted from whoever begins the block{rounds}"
        wait = "; before it the wait, for the next ones too" if any(turn.wait for turn in found) else ""
        reading += f" A {'name' if plan.others else 'number'} in a box: whose turn begins{line}{wait}."
    elif strip:
        reading += " Small numbers count the balls"
        reading += ", before a round the rounds." if any(block.round for block in plan.blocks) else "."
    reading += " A gap is no pause." if strip or found else ""
    turned = [
        told
        for name, told in (
            (words.ELEVATION, "{} is elevation"),
            (words.AZIMUTH, "{}\u00a00 along the court, -4 left"),
        )
        if name in plan.feeder.setting_units
        for told in [told.format(words.setting(name))]
    ]
    reading += f" {'; '.join(turned).capitalize()}." if turned else ""
    counts = [words.counted(shot.interval_s) for shot in plan.shots] if plan.feeder.kind == "person" else []
    if any(counts):
        half = ", “and” half" if any(" and " in count for count in counts) else ""
        reading += f" Count a word a second{half}; feed on the last."
    made_for = ("Made for", _made_for(plan))
    let_pass = [f"{what} ({named.short(named.of[shot] for shot in of)})" for what, of in verdict.accepted(plan).items()]
    accepted = ((ACCEPTED, f"by the coach: {'; '.join(let_pass)}"),) if let_pass else ()
    kept = "; ".join(band.watched(plan.shots, plan.feeder.kind == "machine"))
    limits = (("Limits", kept),) if kept else ()
    how = (
        *_other_balls(plan),
        made_for,
        *begin(plan, named),
        ("Counting", _counting(plan, strip)),
        *_stopped(plan),
        ("How to read", reading),
    )
    notes = tuple(map(words.quoted, plan.notes))
    told = *facts, *limits, *accepted, *how
    return Front(_session(plan), told, place, _cautions(plan), lines, notes, tuple(_goals(plan, named)))


def _session(plan: Plan) -> str:
    told = f"{clock(plan.totals.duration_s)} min, {plural(plan.totals.balls, 'ball')}"
    shorter = any(block.ends_early or (block.ladder and block.ladder.intervals_s) for block in plan.blocks)
    total = words.at_most(shorter, told)
    return total if plan.session == plan.program else f"{plan.session} · {total}"


def _counting(plan: Plan, mixed: bool) -> str:
    """What is a hit, who counts (common practice, no source), and what. Where balls are `mixed`, the printed letters
    keep the counts apart for whoever has a hand free; whoever feeds has none, and a lone player counts one."""
    several = plan.player.in_line > 1 or bool(plan.others)
    aloud = "The player counts aloud, you write after the block"
    if several or plan.feeder.kind == "machine":
        who = "Who waits crosses out missed letters, counts" if several else "Cross out missed letters, count"
        who += " after the block, without letters aloud"
    else:
        who = "The player counts aloud, in a mix one line, named before; write after the block. A helper crosses out "
        who += "missed letters, counts all"
    who = who if mixed else aloud
    together = ", whoever hits" if plan.player.in_line > 1 else ""
    among = next((f". {one.goal.words}: tick a hit, cross a miss" for one in plan.variations
                  if one.goal and one.goal.window), "")  # fmt: skip
    high = any(one.reply.over_net_m is not None for one in plan.variations)
    hit = HIT_HEIGHT if high else "Hit: the place as asked."
    if any([one.hit_if for one in plan.variations] + [one.hit_if for one in plan.blocks]):
        hit += " What else decides one stands beside it."
    return f"{who}. {hit} Streak: most in a row{together}{among}"


def _stopped(plan: Plan) -> Iterator[tuple[str, str]]:
    """What a reply counts that the screen keeps from its zone: where it would have come to can be seen (common
    practice, no source)."""
    places = [n for n in range(len(plan.feeder.elsewhere) + 1) if plan.feeder.at(n).screen]
    found = [screen.screen(plan, n) for n in places]
    if any(one is None or screen.kept_out(plan, one, n) for n, one in zip(places, found, strict=True)):
        yield ON_SCREEN, "a reply that hits the screen counts as if it flew on"


def _goals(plan: Plan, named: Letters) -> Iterator[str]:
    for goal in plan.goals:
        if goal.variation is not None and goal.in_all:
            letters_ = named.short(named.of[shot.id] for shot in plan.shots if shot.variation == goal.variation)
            for who in takers_of(plan, goal):
                yield f"{letters_}: {goal.words}{f', {visible(called(who))}' if who else ''}"


def _each(plan: Plan, named: Letters, told: Callable[[int], str]) -> str:
    """What holds where the feeder stands; of several places each with the letters of its balls."""
    if not plan.feeder.elsewhere:
        return told(0)
    fed: dict[int, list[str]] = {}
    for shot in plan.shots:
        fed.setdefault(shot.fed_from, []).append(named.of[shot.id])
    of: dict[str, list[str]] = {}
    for n in sorted(fed):
        of.setdefault(told(n), []).extend(fed[n])
    return "; ".join(f"{named.short(letters_)}: {text}" for text, letters_ in of.items())


def _place(feeder: FeederRecord, plan: Plan) -> str:
    half = "on the player's side of the net" if feeder.players_side else "across the net"
    height = f", raised so that balls leave {number(feeder.release_height_m)} m above ground"
    return f"{spot(feeder, plan.court)}, {half}{height if feeder.raised else ''}"


def _how(plan: Plan, named: Letters) -> str:
    machine = plan.feeder.kind == "machine"
    told = [
        HOW[plan.feeder.how].replace("the machine", "the screen" if plan.feeder.screen else "the machine"),
        f"{'balls from' if machine else 'from'} {_heights(plan, named)} above ground",
    ]
    ordered = told[::-1] if machine else told
    return "; ".join(filter(None, (", ".join(ordered), who_sets(plan, named))))


def _heights(plan: Plan, named: Letters) -> str:
    """How high the balls leave."""
    heights = [plan.feeder.at(n).release_height_m for n in range(len(plan.feeder.elsewhere) + 1)]
    if len(set(heights)) == 1:
        return f"{number(heights[0])} m"
    return _each(plan, named, lambda n: f"{number(heights[n])} m").replace("; ", ", ")


def _player(plan: Plan, player: PlayerRecord) -> str:
    parts = [*([player.name] if player.name else []), f"{player.hand}-handed"]
    if player.stature_m:
        parts.append(f"{number(player.stature_m, 2)} m tall")
    if player.two_hands:
        parts.append("two-handed backhand")
    if player.two_bounces:
        parts.append("may take two bounces")
    if player.in_line > 1:
        parts.append(f"{player.in_line} in line")
    if player.rotate_every:
        parts.append(f"change after every {what_turns_count(plan)}")
    load = next((load for load in plan.totals.loads if load.player == player.name), None)
    if load:
        parts.append(f"{plural(load.balls, 'ball')} in {clock(load.duration_s)} min")
    return ", ".join(parts)


def _served(block: Block) -> int:
    """How often the player serves in a block."""
    own = block.serves.number if block.serves else 0
    return own + sum(point.serve_s is not None for point in block.points)


def _bring(plan: Plan) -> str:
    most = max(_between_collects(plan))
    serves = max(between([(one.kind, _served(one)) for one in plan.blocks]))
    own = f", {serves} more for the player's serves" if serves else ""
    hopper = f", hopper {plan.feeder.hopper}" if plan.feeder.hopper else ""
    kept = 0 if test_balls_collected(plan) else test_balls(plan)
    test = f", {kept} for the test" * bool(kept)
    tools = {"hand": "basket", "racket": "basket, racket", "machine": "manual"}[plan.feeder.how]
    tools += ", a helper (beside you)" if any(keeper(plan, block) == "a helper" for block in plan.blocks) else ""
    tools += ", computer" if set_between_balls(plan) else ""
    name, *worn = plan.ball.name.split(",", 1)
    kind = ",".join([f"{name}{IN_SHOPS.get(name, '')}", *worn])
    # Zones may lie over each other, and a mix has balls of several.
    several = len({plan.targets(shot) for shot in plan.shots} - {()}) > 1
    return (
        f"{plural(most, 'ball')} ({kind}{hopper}{test}){own}, {tools}, watch, pencil, "
        f"{'coloured ' * several}cones, eye protection, water"
    )


def _between_collects(plan: Plan) -> list[int]:
    """The balls; those of the test lie on the court until the first collect, unless they are collected before."""
    first, *others = between([(block.kind, block.balls) for block in plan.blocks])
    return [first + (0 if test_balls_collected(plan) else test_balls(plan)), *others]


def _other_balls(plan: Plan) -> tuple[tuple[str, str], ...]:
    """Where balls of another make or age come than those of the plan, and what to do then: a machine is not set to
    what nobody has checked."""
    if not any(shot.spread for shot in plan.shots):
        return ()
    ends, met = band.ends(plan.shots), band.heights(plan.shots)
    person = plan.feeder.kind == "person"
    told = f"of another make come {ends}{met and f', met {met}'}"
    if person:
        told += ": see how the first come, aim the other way"
    else:
        told = f"feed only the make measured ({'_' * 6}): others {told.removeprefix('of another make ')}"
    return (("Other balls", told),) if met or ends != band.NOWHERE else ()


def _made_for(plan: Plan) -> str:
    """Without the humidity, which moves no ball as far as a feeder can see, and at the sea without the altitude."""
    air = plan.air
    high = f", altitude {number(air.altitude_m, 0)} m" if round(air.altitude_m) else ""
    given = [
        f"{name} {amount}{' in place of the amount in the script' * (name in plan.source.set)}"
        for name, amount in plan.source.given.items()
    ]
    return (
        f"{plan.court.name}, {plan.surface.name}, {number(air.temperature_c)} °C, {_wind(air.wind_mps)}{high}; "
        f"{plan.feeder.title or plan.feeder.name}{_basis(plan)}" + (f"; with {', '.join(given)}" if given else "")
    )


def _basis(plan: Plan) -> str:
    """Whence a machine's numbers come; of one that nobody measured, who has to before it is fed."""
    if plan.feeder.kind == "person":
        return ""
    if plan.feeder.basis.startswith("invented"):
        return f" (invented example; measured by the coach on {'_' * 6}, else do not feed)"
    return f" ({plan.feeder.basis})"


def _court(plan: Plan) -> str:
    """The measures of one whose lines are not those of a full court."""
    court = plan.court
    if court.half_length_m == FULL_M:
        return ""
    size = f"{number(2 * court.half_length_m)} x {number(2 * court.half_width_m)} m"
    net = f"the net ({number(court.net_centre_m, 2)} m)"
    return f"{size}, service line {number(court.service_m)} m from {net}; bring lines"


def _wind(wind_mps: tuple[float, ...]) -> str:
    """From where it blows, as the feeder looks at the player."""
    across, along, *_ = wind_mps
    parts = [
        f"{number(abs(speed))} m/s from {low if speed < 0 else high}"
        for speed, high, low in ((along, "behind you", "ahead of you"), (across, "the left", "the right"))
        if abs(speed) >= 0.05
    ]
    return f"wind {' and '.join(parts)}" if parts else "no wind"


def _cautions(plan: Plan) -> tuple[str, ...]:
    machine = plan.feeder.kind == "machine"
    stop = "Anyone may call STOP: feeding ends at once, and starts when all agree."
    way = "Nobody in the ball's way or the reply's. Feed only a player who is looking."
    if machine:
        stop += " Use the machine's own switch: sheet and program stop nothing."
        if any(plan.feeder.at(n).raised for n in range(len(plan.feeder.elsewhere) + 1)):
            # Common practice, no source.
            stop += " Raised: it stands level, tied fast, and cannot roll; nobody stands or passes below it."
        way += (
            " Nobody stands in front of a machine with power, not to collect or rest: it feeds on. Switch off before "
        )
        way += "you reach into it or move it."
    # Common practice, no source.
    behind = "stay behind the screen" if machine else "feed past the screen's edge, be behind it for replies"
    screens = {plan.feeder.at(n).screen for n in range(len(plan.feeder.elsewhere) + 1)}
    cover = behind if True in screens else "no screen: watch every reply"
    cover += ", without one watch every reply" * (len(screens) > 1)
    rules = EVERYBODY[-1].replace(" and", ", the maker's manual and") if machine else EVERYBODY[-1]
    underfoot = SWITCHED_OFF if machine else UNDERFOOT
    return (stop, way, f"{EYES}; {cover}.", underfoot, *EVERYBODY[1:-1], rules)
