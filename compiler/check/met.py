"""How high a ball is met: below the knee, over the shoulder, at very different heights, and where else it could be."""

from math import inf

from ...grammar.edits import Remedy, amount, changed, instead
from ...grammar.edits import name as named
from ...grammar.facts import BallName, Metres
from ...grammar.finding import Finding
from ...grammar.frozen import replace
from ...grammar.syntax import Height, Name, Sentence, Stance, Where, keyword
from ..findings.bounds import NeverSoHigh, NotTogether
from ..findings.flight import NoStature
from ..findings.player import BelowTheKnee, HeightsApart, OverTheShoulder
from ..model.evaluation import Evaluation
from ..model.player import BODY_SHARES
from ..model.program import Feed, FixedBy, Program
from ..model.schedule import Schedule
from ..model.shots import Shots
from ..variants import COARSE, fixing, placed, shifted
from .ball import OVER_HEAD_M
from .figures import FINE, place

NEAR_M, OVER_M = 0.02, 0.05  # so little below the knee, and over the shoulder, nobody minds. Own choice
MET_AT = ("knee", "hip", "waist", "chest", "shoulder")  # where balls are met, in the words of coaches
LATE_M = 0.25  # so low a player who runs for a ball still gets under it before it bounces again. Own choice
APART_M = 0.5
"""Heights at which the balls of a family are met: what lies between knee and waist of an adult. Own choice."""


def unasked(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Is a ball met below the knee or over the shoulder though no line asks for such a height, nor a bound keeps it
    there, nor is it the ball of another feed?"""
    found = []
    for name, shot in shots.shots.items():
        feed, height = program.feeds[name], shot.predicted.contact[2]
        seen = program.seen_by(feed.player)
        fixed = any(what is FixedBy.AT_PLAYER for what, _ in feed.fixes)  # which says the stance where that is open
        if fixed or feed.same_as or feed.fixed_by is FixedBy.AT_PLAYER or feed.contact_height is not None:
            continue
        knee, shoulder = part_of(seen, "knee"), part_of(seen, "shoulder")
        bounds = [bound for bound in feed.bounds if bound.what is FixedBy.AT_PLAYER]
        low, high = (any(b.high <= knee + FINE for b in bounds), any(b.low >= shoulder - FINE for b in bounds))
        if not low and seen.player.lowest_on(seen.court.name) <= height < knee - NEAR_M:
            message = BelowTheKnee(BallName(name), Metres(height), Metres(knee))
            found.append(_unasked(message, seen, "knee", feed))
        elif not high and shoulder + OVER_M < height <= seen.player.head_on(seen.court.name) + OVER_HEAD_M:
            higher = OverTheShoulder(BallName(name), Metres(height), Metres(shoulder))
            found.append(_unasked(higher, seen, "shoulder", feed))
    return found


def _unasked(message: BelowTheKnee | OverTheShoulder, seen: Program, part: str, feed: Feed) -> Finding:
    known = seen.player.height_of(part) is not None
    hint = None if known else NoStature(Metres(seen.player.stature_on(seen.court.name)))
    return Finding(message, place(feed, "stance"), remedies=_where_waist_high(seen, feed), hint=hint)


def part_of(program: Program, part: str) -> float:
    """How high a part of the player's body is, m."""
    player = program.player
    return player.height_of(part) or BODY_SHARES[part] * player.stature_on(program.court.name)


def apart(program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation) -> list[Finding]:
    """Are the balls of a family of several depths met at very different heights, all from one stance?"""
    found = []
    for name, members in program.families.items():
        met = {member: shots.shots[member].predicted.contact[2] for member in members if member in shots.shots}
        feed = program.feeds[members[0]]
        if len(met) < 2 or min(met.values()) < program.ball.radius_m:
            continue  # another finding tells of a ball that does not get there
        if "depth" not in feed.elements or "stance" in feed.elements or "stance" not in feed.said:
            continue
        if feed.fixed_by is not FixedBy.AT_PLAYER and max(met.values()) - min(met.values()) > APART_M:
            message = HeightsApart(program.called(name), Metres(min(met.values())), Metres(max(met.values())))
            found.append(Finding(message, place(feed, "stance"), remedies=_where_waist_high(program, feed)))
    return found


def _where_waist_high(program: Program, feed: Feed) -> tuple[Remedy, ...]:
    said = feed.said.get("stance")
    if any(f.family in program.laddered and f.said.get("stance") is said for f in program.feeds.values()):
        return ()  # a ladder needs a feed that says its stance
    where = Stance((Where(Name(named("waist"))),))
    if not isinstance(said, Stance) or "stance" in feed.elements or isinstance(said.choices[0], Where):
        return ()
    return (instead(said, where),)


def met_elsewhere(program: Program, feed: Feed, top: float = inf) -> tuple[Remedy, ...]:
    """The lines of `at_other_parts`. None is flown yet."""
    line = level_line(feed)
    return tuple(remedy for _, said in at_other_parts(program, feed, top) if (remedy := placed(feed, line, said)))


def level_line(feed: Feed) -> str:
    """The line that says the height at the player."""
    return "stance" if feed.contact_height is None and "stance" in feed.said else "height"


def later(program: Program, feed: Feed) -> tuple[Remedy, ...]:
    """Of a feed whose stance is where the ball falls past a height: the stance where it has fallen to `LATE_M`, then
    where it is at the parts of the body below that height. None is flown yet."""
    said, asked = feed.said.get("stance"), dict(feed.fixes).get(FixedBy.AT_PLAYER)
    if not isinstance(said, Stance) or asked is None or "stance" in feed.elements or feed.phase == "rising":
        return ()
    where = said.choices[0]
    if not isinstance(where, Where) or "stance" not in feed.free or asked <= LATE_M + NEAR_M:
        return ()
    late = changed(said, choices=(changed(where, level=amount(LATE_M, 2, "m")),))
    first = placed(feed, "stance", late)
    return (*((first,) if first else ()), *met_elsewhere(program, feed, asked))


def sooner(feed: Feed) -> tuple[Remedy, ...]:
    """Of a feed whose stance is left open, where the ball comes down past a height: the stance where it rises past it,
    for all that share the line. None is flown yet."""
    said = feed.said.get("stance")
    if not isinstance(said, Stance) or feed.where is None or feed.where.way or "stance" not in feed.free:
        return ()
    return (instead(said, changed(said, choices=(changed(feed.where, way=keyword("RISING")),))),)


def at_other_parts(program: Program, feed: Feed, top: float = inf) -> list[tuple[Feed, Sentence]]:
    """Of a feed whose stance is where the ball is at a height, or that is met on the full at a part of the body: the
    feed met at other parts up to `top`, m, inside its bounds, near ones first, each with the line that says so. No ball
    on the full goes down to the knee."""
    seen, full = program.seen_by(feed.player), feed.contact_height
    line = level_line(feed)
    said, asked = feed.said.get(line), dict(feed.fixes).get(FixedBy.AT_PLAYER) if full is None else full
    if not isinstance(said, Stance | Height) or asked is None or line in feed.elements:
        return []
    where = said.choices[0]
    if not isinstance(where, Where if line == "stance" else Name) or (full is None and "stance" not in feed.free):
        return []
    bounds = [bound for bound in feed.bounded if bound.what is FixedBy.AT_PLAYER]
    heights = {part: part_of(seen, part) for part in MET_AT if full is None or part != "knee"}
    off = {
        part: abs(height - asked)
        for part, height in heights.items()
        if abs(height - asked) > NEAR_M and height < top and all(bound.low < height < bound.high for bound in bounds)
    }
    found = list[tuple[Feed, Sentence]]()
    for part in sorted(off, key=lambda part: off[part]):
        level = Name(named(part))
        choice = changed(where, level=level) if isinstance(where, Where) else level
        found.append((_met_at(feed, heights[part]), changed(said, choices=(choice,))))
    return found


def _met_at(feed: Feed, height: float) -> Feed:
    """The feed met at another height, m."""
    fixes = tuple((what, height if what is FixedBy.AT_PLAYER else value) for what, value in feed.fixes)
    value = height if feed.fixed_by is FixedBy.AT_PLAYER else feed.value
    return replace(feed, fixes=fixes, value=value, contact_height=feed.contact_height and height)


def lower(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, of a ball that never comes as high as the player stands for first with the parts of the body to
    which it comes, then with higher arcs. None is flown yet: such a ball is looked for anew with each of them."""
    told = []
    for finding in found:
        message = finding.message
        if isinstance(message, NeverSoHigh | NotTogether) and message.comes:
            feed = program.feeds[message.ball]
            line, way = fixing(feed), -1 if feed.fixed_by is FixedBy.PACE else 1  # a slower ball flies higher
            arcs = (shifted(program, feed, line, steps * way) for steps in COARSE[:7])
            higher = (r for arc in arcs if arc and (r := placed(feed, line, arc.sentence)))
            parts = met_elsewhere(program, feed, message.comes.top)
            finding = replace(finding, remedies=(*parts, *higher, *finding.remedies))
        told.append(finding)
    return told
