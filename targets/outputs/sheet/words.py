"""Numbers of a plan in words for a person on court. Left and right are the feeder's, facing the player."""

from collections.abc import Sequence
from math import hypot
from re import Match, search, sub, subn

from ....compiler.model.conditions import CourtRecord
from ....compiler.model.plan import (
    Block,
    BlockRestRecord,
    BroadGoalRecord,
    GoalRecord,
    HoldRecord,
    Ladder,
    Launch,
    PointRecord,
    ReplyTarget,
    ScoreRecord,
    Shot,
)  # fmt: skip
from ....compiler.printable import plural
from ....grammar.units import hits_of, number, of_ten

RACKET_M = 0.7
"""Length of a racket for the eye: the rules allow 73.7 cm at most (ITF Rules of Tennis, Rule 4 and its appendix),
and most adult rackets measure about 69 cm (common practice, no source)."""

JUST_M = 0.15
"""Under this a height, m, is not counted (our own choice)."""
EDGE_M = 0.05
"""A zone that ends nearer than this to the edge of the court, m, ends there (our own choice)."""
ELEVATION, AZIMUTH = "elevation", "azimuth"
"""The settings of a machine that tilt it and turn it to a side."""
_TURNED = {"left": "right", "right": "left", "centre": "middle"}
PACES = ((40, "gentle"), (50, "easy"), (60, "medium"), (100, "brisk"))
"""Words for a pace below so many km/h."""
PLAIN = {ELEVATION: "up", AZIMUTH: "side"}
"""Their names for whoever feeds."""


def span(low: float, high: float, digits: int = 1) -> str:
    a, b = number(low, digits), number(high, digits)
    return a if a == b else f"{a}–{b}"


def along(low: float, high: float, court: CourtRecord) -> str:
    """Distances from the net, in m and without sign, measured from the line nearest to their middle."""
    middle = (low + high) / 2
    lines = {0.0: "net", court.service_m: "service line", court.half_length_m: "baseline"}
    line = min(lines, key=lambda y: abs(y - middle))
    if line == 0.0:
        return f"{span(low, high)} m from net"
    nearer, beyond = ("inside", "behind") if line == court.half_length_m else ("short of", "past")
    return _from_line(low - line, high - line, lines[line], nearer, beyond)


def across(low: float, high: float, court: CourtRecord) -> str:
    """Places x from `low` to `high`, m, measured from the middle or from a sideline, whichever is nearer."""
    middle = (low + high) / 2
    side = "right" if middle > 0 else "left"
    if abs(middle) <= court.half_width_m / 2:
        if max(abs(low), abs(high)) < 0.25:
            return "on the middle"
        return _from_line(low, high, "middle", "left of", "right of")
    name = "singles line" if court.half_width_m < court.doubles_half_width_m else "sideline"
    edges = sorted((abs(low), abs(high)))
    return _from_line(
        edges[0] - court.half_width_m, edges[1] - court.half_width_m, f"{side} {name}", "inside", "outside"
    )


def aside(low: float, high: float, court: CourtRecord) -> str:
    """`across` in fewer words, for a table; the sideline is that of the court in play."""
    middle = (low + high) / 2
    side = "right" if middle > 0 else "left"
    if abs(middle) <= court.half_width_m / 2:
        if max(abs(low), abs(high)) < 0.25:
            return "on the middle"
        if low < -0.05 and high > 0.05:
            return f"{number(-low)} m left to {number(high)} right"
        return f"{span(min(abs(low), abs(high)), max(abs(low), abs(high)))} m {side} of middle"
    near, far = sorted((court.half_width_m - abs(low), court.half_width_m - abs(high)))
    if max(abs(near), abs(far)) < 0.05:
        return f"on {side} sideline"
    if far < 0.05:
        return f"{span(-far, -near)} m outside {side}"
    return f"{span(max(near, 0), far)} m in from {side}"


def asides(places: list[tuple[float, float]], court: CourtRecord) -> str:
    """`aside` for several places; the middle is named once."""
    told = [aside(low, high, court) for low, high in places]
    if len(told) < 2 or not all(text.endswith("middle") for text in told):
        return ", ".join(told)
    if len(told) == 2 and told[0] == told[1].replace("right", "left"):
        return told[0].replace("left of middle", "left or right")
    short = ", ".join(text.removesuffix(" of middle").removeprefix("on the ") for text in told)
    return short if "on the middle" in told else f"{short} of middle"


def _from_line(low: float, high: float, line: str, minus: str, plus: str) -> str:
    """Signed distances from a line, m; within 5 cm the ball is on it."""
    if max(abs(low), abs(high)) < 0.05:
        return f"on {line}"
    if high < 0.05:
        return f"{span(-high if high < 0 else 0, -low)} m {minus} {line}"
    if low > -0.05:
        return f"{span(max(low, 0), high)} m {plus} {line}"
    return f"from {number(-low)} m {minus} to {number(high)} m {plus} {line}"


def rackets(low: float, high: float) -> str:
    """Heights, m, in rackets."""
    shorter, longer = in_rackets(max(low, 0)), in_rackets(max(high, 0))
    if shorter == longer:
        return longer
    return f"{shorter.removesuffix(' rackets').removesuffix(' racket')} to {longer}"


def also_in_rackets(asked: str, over_m: float | None) -> str:
    """The words of a reply with its height over the net, m, in rackets too: 0.7 m (1 racket) over net."""
    told = "" if over_m is None else in_rackets(over_m)
    if not told.endswith(("racket", "rackets")):
        return asked  # just over
    said, found = subn(r"(at\s+least\s[^,]*?)(?=\s+over\s+(the\s+)?net)", rf"\1 ({told})", asked, count=1)
    return said if found else f"{asked} ({told} over the net)"


def over_net(reply: ReplyTarget) -> str:
    """How high over the net a reply has to be; "" where any height is good."""
    least, most = reply.over_net_m, reply.most_over_net_m
    if least is None:
        return "" if most is None else f"up to {number(most)} m"
    return f"from {number(least)} m" if most is None else f"{span(least, most)} m"


def place(asked: str) -> str:
    """What of the words of a reply says where to it goes, for cones: without its height over the net, spin and pace."""
    kept = [part for part in asked.split(", ") if not search(r"\bover\b|\bspin|spin\b|\bflat\b|km/h|mph|m/s", part)]
    told = sub(r"(?<=[0-9]) to (?=[0-9])", "–", ", ".join(kept).replace(", to ", ", "))
    alone = len(kept) == 1 and not kept[0].startswith(("into ", "to ", "in ", "crosscourt", "down the line"))
    return f"{told}, any side" if alone else told.removeprefix("to ")


def area(zone_m: tuple[float, float, float, float], court: CourtRecord) -> str:
    """The measures of a reply's zone: x from, x to, y from, y to, on the feeder's half or the one that it faces; "" of
    a whole half."""
    left, right, *ends = zone_m
    near, far = sorted(map(abs, ends))
    whole = near < EDGE_M and far > court.half_length_m - EDGE_M
    wide = left < EDGE_M - court.half_width_m and right > court.half_width_m - EDGE_M
    half, deep = court.half_length_m, (near + far) / 2 > court.service_m
    depth = f"{span(half - far, half - near)} m inside baseline" if deep else f"{span(near, far)} m from net"
    side = "any side" if wide else across(left, right, court)
    return ("" if wide else side) if whole else f"{depth}, {side}"


def quoted(text: str) -> str:
    """The coach's own words, in which left and right are the player's."""
    return f"“{text}”"


def _each_quoted(names: Match[str]) -> str:
    return " or ".join(map(quoted, names[0].split(" or ")))


def for_feeder(asked: str) -> str:
    """The words of a reply with the feeder's left and right, and the sheet's word for the middle. A zone keeps its
    name, which is the coach's."""
    named = sub(r"(?<=\binto )[^\s,]+(?: or (?!short|midcourt|deep)[^\s,]+(?=,|$| or ))*", _each_quoted, asked)
    named = sub(r", to (?=[\d.]+ to )", ", ", named)  # a range across the court
    return sub(r"“[^”]*”|\b(?:left|right|centre)\b", lambda found: _TURNED.get(found[0], found[0]), named)


def in_rackets(height: float) -> str:
    """A height, m, to the nearest quarter of a racket: the same metres always have the same words."""
    if height < JUST_M:
        return "just over"
    whole, part = divmod(max(round(4 * height / RACKET_M), 1), 4)
    fraction = ("", "¼", "½", "¾")[part]
    if whole == 0:
        return f"{fraction} racket"
    return f"{whole}{fraction} racket{'' if (whole, part) == (1, 0) else 's'}"


def setting(name: str) -> str:
    """A setting of a machine in a plain word, or in the word of its profile."""
    return PLAIN.get(name, name)


def turned(name: str, value: float) -> str:
    """To which side an azimuth points, and that an elevation points down; empty for other settings and straight on."""
    if name == AZIMUTH and value:
        return "right" if value > 0 else "left"
    return "down" if name == ELEVATION and value < 0 else ""


def spin(launch: Launch) -> str:
    """Flat below 300 rpm, some below 1500, much from 1500: common practice, no source. Sidespin together with another
    spin is described by its curve alone."""
    top, side = launch.topspin_rpm, launch.sidespin_rpm
    curves = f"curves {'left' if side > 0 else 'right'}"
    if abs(top) >= 300:
        told = f"{_much(top)} {turn(top)}"
        return f"{told}, {curves}" if abs(side) >= 300 else told
    if abs(side) >= 300:
        return f"{_much(side)} sidespin, {curves}"
    return "flat" if hypot(top, side) < 300 else "a little of each spin"


def turn(topspin_rpm: float) -> str:
    return "topspin" if topspin_rpm > 0 else "backspin"


def _much(rpm: float) -> str:
    return "much" if abs(rpm) >= 1500 else "some"


def pace(low_mps: float, high_mps: float) -> str:
    """Speed at which the ball leaves the feeder. The words are our own scale, finer where a person feeds."""
    middle = (low_mps + high_mps) / 2 * 3.6
    word = next((word for below, word in PACES if middle < below), "fast")
    return f"{word} {span(low_mps * 3.6, high_mps * 3.6, 0)} km/h"


def lasting(seconds: float) -> str:
    """Whole minutes in minutes, everything else in seconds."""
    return f"{number(seconds / 60)} min" if seconds and seconds % 60 == 0 else f"{number(seconds)} s"


def good_replies(shots: Sequence[Shot]) -> str:
    """How many of ten replies are good, from the hardest of the balls to the easiest; empty if none is asked for."""
    shares = [shot.reply.share_good for shot in shots if shot.reply]
    if not shares:
        return ""
    fewest, most = of_ten(min(shares)), of_ten(max(shares))
    return f"{fewest if fewest == most else f'{fewest} to {most}'} good {'reply' if most == '1' else 'replies'} in ten"


def counted(interval_s: float) -> str:
    """The time between two feeds as a count that ends on the feed: one word a second, "and" for half a second. Empty
    above eight seconds, for other fractions, or if the interval is too short to count."""
    whole, half = divmod(round(2 * interval_s), 2)
    if abs(interval_s - (whole + half / 2)) > 0.05 or not 2 <= whole <= 8:
        return ""
    return " ".join([*map(str, range(1, whole)), *(["and"] if half else []), "feed"])


CLIMBS = "the player's hits decide the rung"
SET_BY = "Press h (hit) or m (miss) at the computer, which sets the rung; without it leave this ladder out and go on. "
PRESS = "press m at the computer: it"
"""What a computer that sets the machine needs to be told."""
POINT_TICKS = "Tick a box for each point whose balls were all hit."
POINT_WON_TICKS = "Tick a box for each point won."
GAME_TICKS = "Tick a box for each point lost."
WON_TICKS = "A box for each point: tick one won, cross one lost."
UNTIL_TICKS = "A box for each ball: tick a good one, cross a miss."
RESULT_BOXES = "Write into its box what each ball adds, or each point; their sum moves the score."
SCORE_BOXES = "Write the score into a box when it changes; after the last box begin again at the first."
OWN_COUNT = "Each counts their own on a slip of paper."
"""What to do with the boxes of each rule on paper; a phone counts by itself."""


def point_rule(name: str, steps: Sequence[str], point: PointRecord, machine: bool) -> str:
    """How a point goes, from the serve to its last ball; `steps` are the letters that may come at each of its balls. On
    a `machine` only a replay, in which misses are marked, can change what comes after one."""
    first, *rest = steps
    begin = first
    if point.serve_s is not None:  # a machine waits for no stroke
        wait = f"{number(point.serve_s)} s"
        begin = f"call the serve, {wait} after the stroke {first}"
        if machine:
            begin = f"serve at the bell or call; {wait} after it {first}"
    told = f"Point {name}: {', then '.join([begin, *rest])}."
    if point.won_with:
        told += f" It is won with {point.won_with} of its {len(point.shots)} balls."
    match point.after_miss:
        case "from the start":
            begins = f"{PRESS} begins" if machine else "begin"
            return f"{told} After a miss {begins} again with {'the serve' if point.serve_s else first}."
        case "next point":
            leaves = f"{PRESS} leaves" if machine else "leave"
            return f"{told} After a miss {leaves} out the rest of the point."
    return told


def game_rule(first_to: int) -> str:
    """When a block of points ends."""
    return f"Game: as soon as {first_to} are won or lost, go on with what comes next."


def until_rule(block: Block) -> str:
    """When a block that may end early is over, and what comes then."""
    several = len(block.until) > 1
    told = [last_of(hold) + (f" of {hold.variation}" if several else "") for hold in block.until]
    one, units = block.until[0], "point" if block.points else "ball"
    marked = {"hits": ("good", "won"), "misses": ("missed", "lost")}[one.counts][bool(block.points)]
    if one.in_sets:
        ends = f"after a set with {one.hits}{' or more' * (one.hits < one.among)} {marked} go on with what comes next"
        return f"A set is {plural(one.among, units)}: {ends}, else play the next set."
    return f"As soon as {' and '.join(told)} are {marked}, go on with what comes next."


def score_ends(score: ScoreRecord) -> str:
    """`60`, or `10 or 0`."""
    return " or ".join(map(str, score.ends))


def last_of(goal: GoalRecord) -> str:
    """`4 in a row`, or `8 of the last 10`."""
    return f"{goal.hits} of the last {goal.window}" if goal.window else hits_of(goal.hits, goal.among)


def over_all(goals: Sequence[BroadGoalRecord], variation: str) -> tuple[str, ...]:
    """The goal of a variation over all its blocks, if it has one, or of each who plays it."""
    mine = [goal for goal in goals if goal.variation == variation]
    told = (f"Goal: {goal.words}{': add up the hits of all blocks' * goal.in_all}." for goal in mine)
    return tuple(dict.fromkeys(told))


def broad_rule(goal: BroadGoalRecord, blocks: Sequence[Block], block: Block, letters: str = "") -> str:
    """A goal that ends nothing, at one of the session's `blocks` that it counts; `letters` are those that count where
    not all do."""
    over = " of the whole session" if goal.whole else ""
    if not over and len(goal.blocks) > 1 and block.round and goal.variation is None:
        whole = len(goal.blocks) == sum(one.kind == "balls" for one in blocks)
        over = " over all rounds" if block.round[1] > 1 else f" of the {'whole session' if whole else 'round'}"
    of = ", in points" if block.points and goal.variation is None else ""
    on = " Count on from before." if block.index > goal.blocks[0] and (goal.whole or not over) else ""
    return f"Goal{f' of {letters}' if letters else ''}{over}{of}: {goal.words}.{on}"


def until(hold: HoldRecord) -> str:
    """`until 4 in a row of go`, `until 8 of 10`."""
    return f"until {hold.words}{f' of {hold.variation}' if hold.variation else ''}"


def at_most(early: bool, text: str) -> str:
    """An amount that is the most there is, because marks may end a block before."""
    return f"at most {text}" if early else text


def rest_inside(rest: BlockRestRecord, points: bool) -> str:
    every = f"rest {number(rest.rest_s)} s after every {plural(rest.every, 'point' if points else 'ball')}"
    return ": ".join([every, *([" ".join(map(quoted, rest.notes))] if rest.notes else [])])


def ladder_rule(
    ladder: Ladder, names: Sequence[str], machine: bool = False, between: BlockRestRecord | None = None
) -> str:
    """When the player changes rungs; `names` are what the sheet calls them. A `machine` is told by its computer."""
    asked = ladder.up
    begins = f"{f'{SET_BY}It starts' if machine else 'Start'} on {names[ladder.start]}"
    start = f"{begins}, or where the last practice ended."
    falls = f"on {names[0]} after more misses" if (ladder.down_in, ladder.down_sets) != (None, None) else ""
    if ladder.ends:
        stays = f"The ladder is over once {names[-1]} is won{f'; stay {falls}' if falls else ''}"
    else:
        stays = f"Stay on {names[-1]} after more hits{f', {falls}' if falls else ''}"
    stays += ". The first ball on a rung comes after the longer of the two intervals" if ladder.intervals_s else ""
    if among := ladder.sets:
        up = f"A set is {plural(among, 'ball')}: after {plural(asked.hits, 'hit')} or more in it one rung up"
        down = f", after {plural(ladder.down_misses, 'miss', 'misses')} or more one down" if ladder.down_misses else ""
        notes = "".join(f" {quoted(note)}" for note in between.notes) if between else ""
        rest = f" Rest {number(between.rest_s)} s between two sets{':' * bool(notes)}{notes}." if between else ""
        most = f", after {plural(ladder.most_sets, 'set')} on a rung one up" if ladder.most_sets else ""
        most = f", after {plural(ladder.down_sets, 'set')} without that one down" if ladder.down_sets else most
        return f"{start} {up}{down}, else the rung again{most}. {stays}.{rest}"
    up = f"Up after {plural(asked.hits, 'hit')} in a row"
    if asked.window:
        up = f"Up after {plural(asked.hits, 'hit')} in the last {plural(asked.window, 'ball')}"
    down = "never down"
    if ladder.down_misses is not None and ladder.down_in is not None:
        misses, balls = plural(ladder.down_misses, "miss", "misses"), plural(ladder.down_in, "ball")
        down = f"down after {misses} in the last {balls}"
    return f"{start} {up}, {down}; then count afresh. {stays}."
