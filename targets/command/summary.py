"""What a check comes to: a table with a row for each ball, and the totals, at 80 columns; the same rows as JSON."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...compiler.model.evaluation import GoodReplies, Scattering
from ...compiler.model.schedule import ScheduleTotals
from ...compiler.printable import plural, say
from ...compiler.report.render import painted
from ...compiler.verdicts import BallVerdict, rows
from ...grammar.finding import Severity
from ...grammar.units import KMH, clock, number, of_ten, times_in_ten

if TYPE_CHECKING:
    from ...compiler.pipeline import Compiled

NAME = 13
"""The longest name that stands in its row; a longer one has a line of its own."""
WIDE = 80
SIGNS = {Severity.ERROR: "(x)", Severity.WARNING: "(!)"}
"""In front of the codes of what asks for care. Plain letters, because a terminal may lack others."""
ACCEPTED = "(^)"
"""In front of the codes of what the script accepts."""
COLUMNS = (
    ("", "", 0), ("ball", "", 0), ("pace", "km/h", 4), ("over net", "m     %", 8), ("lands", "m", 9),
    ("in zone", "%", 8), ("met", "m", 12), ("way", "m", 4), ("time", "s", 4), ("good", "", 4),
)  # fmt: skip
WAY = 7
"""The column that comes of a script alone which says where the player waits, or bounds the way; names then have less
room."""
LEGEND = (
    "Over net: how high the ball passes the net, and how many of 100 balls pass it.",
    "Lands: metres from the net, and metres left (L) or right (R) of the centre as",
    "the feeder looks. In zone: how many of 100 balls land there, or on the full are",
    "met near the height asked; in brackets the fewest with balls of another make.",
    "Met: how high; 2nd: after two bounces; full: on the full, before any bounce.",
    "Good: how many of ten replies do what is asked, by a player who is in time.",
)
HOW_FAR = (
    "Way: how far from where the player waits to where the ball is in reach; F and B:",
    "a forehand or a backhand, as a line says or else by that side.",
)
IF_MISSED = ("Lands, in brackets: where a ball on the full would, if nobody met it.",)
MOST_COUNTED = 12  # kinds of balls, of which it is said how many come. Own choice
UNASKED = ("What the columns say: feedwright check --legend",)


def _paced_by_marks(compiled: "Compiled") -> bool:
    """Whether a ladder has rungs with intervals of their own, of which marks decide."""
    program = compiled.program
    ladders = [play for play in program.session.plays if play.ladder] if program and program.session else []
    return program is not None and any(
        len({program.feeds[ball].interval for share in play.shared for ball in program.members_of(*share)}) > 1
        for play in ladders
    )


def sum_up(compiled: "Compiled", colour: bool = False, legend: bool = False) -> None:
    """Print the table and the totals; `legend`: and what each column of the table says."""
    counts = {s: sum(f.severity is s for f in compiled.findings) for s in Severity}
    grave = [plural(counts[s], s.value) for s in SIGNS if counts[s]] or ["no problems"]
    notes = [plural(counts[Severity.NOTE], "note")] if counts[Severity.NOTE] else []
    accepted = f"; {plural(len(compiled.accepted), 'warning')} accepted" if compiled.accepted else ""
    say(f"{compiled.source.name}: {', '.join(grave + notes)}{accepted}")
    balls = rows(compiled)
    for line, severity in _table(balls, LEGEND if legend else UNASKED):
        say(line) if severity is None or not colour else print(painted(line, severity, colour))
    if totals := compiled.totals:
        points = f"{plural(totals.points, 'point')}, " if totals.points else ""
        most = "at most " if compiled.early else ""
        time = f"{'at most ' * (not most and _paced_by_marks(compiled))}{clock(totals.duration_s)}"
        told = [f"{most}{points}{plural(totals.balls, 'ball')} in {time} min"]
        if totals.balls > 1:
            changes = round(totals.variety * (totals.balls - 1))
            marks = ", and with each step of a ladder" if totals.ladders else ""
            kinds = plural(totals.distinct_shots, "kind")
            changed = f"{kinds}; the ball changes {changes} of {totals.balls - 1} times{marks}"
            told = [f"{told[0]},", changed]
        whole = " ".join(told)
        for line in [whole] if len(whole) <= WIDE else [told[0], *(f"  {rest}" for rest in told[1:])]:
            say(line)
        for line in _each(compiled, balls):
            say(line)
        chances = [(one.words, one.chance, one.ends) for one in compiled.early]
        alone = ", by place alone" * any(one.code == "place-alone" for one in compiled.findings)
        for words, chance, ends in chances + [(one.words, one.chance, ()) for one in compiled.goals]:
            each = [f"{end} reached {times_in_ten(likely)} in ten" for end, likely in ends if len(ends) > 1]
            if chance is not None:
                for line in _wrapped(f"{words}:", each or [f"reached {times_in_ten(chance)} in ten{alone}"]):
                    say(line)
        if totals.loads:
            each = [
                f"{load.player} {plural(load.balls, 'ball')} in {clock(load.duration_s)} min" for load in totals.loads
            ]
            for line in _wrapped("each player:", each):
                say(line)
    if compiled.program and (wide := _wide(balls, compiled.program.court.half_width)):
        for line in _wrapped("met outside the sideline, m:", wide):
            say(line)
    if heights := _heights(balls):
        for line in _wrapped("met with balls of another make, m:", heights):
            say(line)
    if tops := [f"{one.letter or one.ball} {one.shot.predicted.peak:.1f}" for one in balls if one.high and one.shot]:
        for line in _wrapped("highest point of the flight, m:", tops):
            say(line)
    for line in _within_bounds(balls):
        say(line)
    good = [
        f"variation {name}: {of_ten(good.share)}" + (f" at {number(good.pace / KMH, 0)} km/h" if good.pace else "")
        for name, good in _hardest(balls)
    ]
    if good:
        for line in _wrapped(f"good replies in ten{_whose(compiled)},", good):
            say(line)


def _each(compiled: "Compiled", balls: list[BallVerdict]) -> Iterator[str]:
    """How many of each ball a session with a mix has: its order is drawn, so nobody can read that from the script."""
    plays = compiled.program.session.plays if compiled.program and compiled.program.session else ()
    counts = compiled.each
    letters: dict[str, int] = {}
    for ball in balls:
        if ball.letter and ball.ball in counts:
            letters[ball.letter] = letters.get(ball.letter, 0) + counts[ball.ball]
    if any(play.order == "mix" for play in plays) and 1 < len(letters) <= MOST_COUNTED:
        yield from _wrapped("balls of each:", [f"{letter} {many}" for letter, many in letters.items()])


def _table(balls: list[BallVerdict], legend: tuple[str, ...]) -> Iterator[tuple[str, Severity | None]]:
    """The lines, each with what it is a mark of."""
    if not balls:
        return
    ways = any(ball.way is not None or ball.stroke for ball in balls)
    wide, most = {0: max(len(ball.letter) for ball in balls)}, NAME - (COLUMNS[WAY][2] + 2) * ways
    wide[1] = max(len("ball"), *(len(ball.ball) for ball in balls if len(ball.ball) <= most), 0)

    def line(cells: tuple[str, ...]) -> str:
        padded = [
            cell.ljust(wide.get(i, width))
            for i, (cell, (_, _, width)) in enumerate(zip(cells, COLUMNS, strict=True))
            if ways or i != WAY
        ]
        return f"{padded[0]} {'  '.join(padded[1:])}".rstrip()

    yield line(tuple(head for head, _, _ in COLUMNS)), None
    yield line(tuple(unit for _, unit, _ in COLUMNS)), None
    for n, ball in enumerate(balls):
        long = len(ball.ball) > most
        if long:
            yield f"{ball.letter.ljust(wide[0])} {ball.ball}", None
        first = next((one for one in balls[:n] if _same(one, ball)), None)
        cells = _cells(ball) if first is None else (f"the same ball as {first.letter}", "", "", "", "", "", "", "")
        yield line(("", "", *cells) if long else (ball.letter, ball.ball, *cells)), None
        for severity, sign in SIGNS.items():
            if codes := [code for of, code in ball.marks if of is severity]:
                yield f"{' ' * wide[0]} {sign} {', '.join(dict.fromkeys(codes))}", severity
    for words in _accepted(balls):
        yield words, None
    full, asked = any(ball.would_land is not None for ball in balls), len(legend) > 1
    for words in (*legend, *HOW_FAR * (ways and asked), *IF_MISSED * (full and asked)):
        yield words, None


def _accepted(balls: list[BallVerdict]) -> Iterator[str]:
    """What the script accepts, with the letters of the balls: the same words under each of them would hide the rest."""
    for code in dict.fromkeys(code for ball in balls for code in ball.accepted):
        of = dict.fromkeys(ball.letter or ball.ball for ball in balls if code in ball.accepted)
        yield from _wrapped(f"{ACCEPTED} accepted: {code} of", list(of))


def _same(one: BallVerdict, other: BallVerdict) -> bool:
    """Whether a rung of a ladder, or another ball of one feed, is the ball of an earlier row under a second letter."""
    if one.shot is None or other.shot is None or (one.feed, one.player) != (other.feed, other.player):
        return False
    return one.shot.settings == other.shot.settings and one.shot.predicted == other.shot.predicted


def _cells(ball: BallVerdict) -> tuple[str, ...]:
    shot, found = ball.shot, ball.scattering
    if shot is None:
        return ("impossible", "", "", "", "", "", "", "")
    flown = shot.predicted
    over = "-" if flown.clearance is None else f"{flown.clearance:.2f}"
    lands = "-" if ball.would_land is None else f"({ball.would_land:.1f})"
    if flown.landing is not None:
        x, y = flown.landing
        side = "" if abs(x) < 0.05 else f" {abs(x):.1f}{'L' if x < 0 else 'R'}"
        lands = f"{y:4.1f}{side}"
    height = f"{flown.contact[2]:.2f}"
    way = "2nd" if flown.bounces == 2 else {"on the full": "full"}.get(flown.phase, flown.phase)
    return (
        number(shot.speed / KMH, 0),
        over if found is None or flown.clearance is None else f"{over:<4} {100 * found.over_net:3.0f}",
        lands,
        "" if found is None else _share(found),
        f"{height} {way}" if flown.contact[2] > 0 else "-",
        ("" if ball.way is None else f"{ball.way:.1f}") + ball.stroke[:1].upper(),
        f"{flown.contact_time:.2f}",
        "" if ball.good is None else of_ten(ball.good.share).replace("fewer than 1", "<1"),
    )


def _wide(balls: list[BallVerdict], half: float) -> list[str]:
    """How far outside its sideline each ball is met that has left the court across by then."""
    met = [(ball.letter or ball.ball, ball.shot.predicted.contact[0]) for ball in balls if ball.shot]
    return [f"{name} {number(abs(x) - half)}{'L' if x < 0 else 'R'}" for name, x in met if round(abs(x) - half, 1) > 0]


def _heights(balls: list[BallVerdict]) -> list[str]:
    """Of the balls after a bounce that another make lifts or lowers by 5 cm or more, from where to where; also of those
    that are not met after their bounce then: they bounce once more before the player, or not yet."""
    told = []
    for ball in balls:
        if ball.shot and ball.scattering and ball.shot.predicted.landing is not None:
            height = ball.shot.predicted.contact[2]
            some = [height, *(end for end in ball.scattering.heights if end is not None)]
            lost = " or not after its bounce" if None in ball.scattering.heights else ""
            if lost or max(max(some) - height, height - min(some)) >= 0.05:
                told.append(f"{ball.letter or ball.ball} {min(some):.2f}-{max(some):.2f}{lost}")
    return told


def _share(found: Scattering) -> str:
    return _part(found.in_zone, found.in_zone_band[0])


def _within_bounds(balls: list[BallVerdict]) -> Iterator[str]:
    """How many of 100 balls keep the bound that is broken most often: of those balls that have one, and do not always
    keep it."""
    shares = {
        ball.letter or ball.ball: _part(*min(ball.scattering.kept.values()))
        for ball in balls
        if ball.scattering and ball.scattering.kept
    }
    told = [f"{ball} {share}" for ball, share in shares.items() if share != "100"]
    if told:
        yield from _wrapped("of 100 balls so many keep every bound:", told)
    elif shares:
        yield "100 of 100 balls keep every bound"


def _part(share: float, least: float) -> str:
    """How many of 100, and in brackets the fewest."""
    told, fewest = f"{100 * share:.0f}", f"{100 * least:.0f}"
    return told if told == fewest else f"{told} ({fewest})"


def _wrapped(head: str, parts: list[str]) -> Iterator[str]:
    """A list with commas, in lines that end between its parts; a long head ends between its words."""
    line = ""
    for word in head.split(" "):
        if line and len(line) + 1 + len(word) > WIDE:
            yield line
            line = " "
        line += f" {word}" if line else word
    for i, part in enumerate(parts):
        part += "," * (i + 1 < len(parts))
        if len(line) + 1 + len(part) > WIDE:
            yield line
            line = " "
        line += f" {part}"
    yield line


def _whose(compiled: "Compiled") -> str:
    if compiled.program is None or len(compiled.program.players) > 1:
        return ""
    level = compiled.program.player.level
    return f" (scatter {level})" if level else ""


def _hardest(balls: list[BallVerdict]) -> list[tuple[str, GoodReplies]]:
    """The replies of each variation to the ball on which fewest are good, the easiest variation first."""
    fewest: dict[str, GoodReplies] = {}
    for ball in balls:
        if ball.good is not None:
            name = ball.variation or ""
            fewest[name] = min(fewest.get(name, ball.good), ball.good, key=lambda one: one.share)
    return sorted(fewest.items(), key=lambda item: -item[1].share)


def as_json(compiled: "Compiled") -> dict[str, object]:
    """Totals, balls and replies, SI."""
    return {
        "summary": totals_json(compiled.totals) if compiled.totals else None,
        "early_ends": [
            {
                **vars(end),
                "chance": None if end.chance is None else round(end.chance, 3),
                "ends": [{"score": score, "chance": round(chance, 3)} for score, chance in end.ends],
            }
            for end in compiled.early
        ],
        "goals": [
            {**vars(goal), "chance": None if goal.chance is None else round(goal.chance, 3)} for goal in compiled.goals
        ],
        "balls": [_ball_json(ball) for ball in rows(compiled)],
        "replies": [
            {
                "variation": name,
                "share_good": round(good.share, 3),
                "speed_mps": None if good.pace is None else round(good.pace, 2),
            }
            for name, good in _hardest(rows(compiled))
        ],
    }


def totals_json(totals: ScheduleTotals) -> dict[str, object]:
    return {**vars(totals), "loads": [load._asdict() for load in totals.loads]}


def _ball_json(ball: BallVerdict) -> dict[str, object]:
    from ...compiler.reach import ASKED

    found = ball.scattering
    told: dict[str, object] = {
        "letter": ball.letter,
        "ball": ball.ball,
        "feed": ball.feed,
        "player": ball.player,
        "variation": ball.variation,
    }
    if ball.shot is not None:
        flown = ball.shot.predicted
        told |= {
            "speed_mps": round(ball.shot.speed, 2),
            "net_clearance_m": None if flown.clearance is None else round(flown.clearance, 3),
            "top_m": round(flown.peak, 2),
            "landing_m": None if flown.landing is None else [round(part, 2) for part in flown.landing],
            "would_land_m": None if ball.would_land is None else round(ball.would_land, 2),
            "contact_m": [round(part, 2) for part in flown.contact],
            "contact_s": round(flown.contact_time, 3),
            "contact_phase": flown.phase,
            "bounces": flown.bounces,
            "way_m": None if ball.way is None else round(ball.way, 2),
            "stroke": ball.stroke or None,
        }
    if found is not None:
        told |= {
            "share_over_net": round(found.over_net, 3),
            "share_in_zone": round(found.in_zone, 3),
            "share_in_zone_least": round(found.in_zone_band[0], 3),
            "share_in_zone_most": round(found.in_zone_band[1], 3),
            "share_at_height": round(found.at_height, 3),
            "contact_height_ends_m": [None if end is None else round(end, 2) for end in found.heights],
            "share_in_bounds": {
                ASKED[what]: {"share": round(share, 3), "least": round(least, 3)}
                for what, (share, least) in found.kept.items()
            },
        }
    return {
        **told,
        "share_good_replies": None if ball.good is None else round(ball.good.share, 3),
        "marks": [code for _, code in ball.marks],
        "accepted": list(ball.accepted),
    }
