"""One ball of a plan, drawn from the side and on the receiving half among the balls of its variation, with what is to
be said of it."""

from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple, TypedDict

from ...compiler.model.plan import Plan, Shot
from ...compiler.pipeline import Compiled
from ...compiler.printable import visible
from ...compiler.service.balls import speaks_of
from ...compiler.service.moving import movable
from ...compiler.service.script import Script
from ...compiler.trace import Trajectory, replies, trajectories
from ...compiler.verdicts import BallVerdict, rows
from ...grammar.finding import MESSAGES, Severity
from ...grammar.units import KMH, clock
from ..outputs import verdict
from ..outputs.court.pictures import pictures
from ..outputs.court.svg import draw
from ..outputs.sheet.letters import letters
from ..outputs.show import figures
from ..outputs.show.views import STRETCH, beside
from ..outputs.turns import rule

SIGNS = {Severity.ERROR: "✕", Severity.WARNING: "▲"}
NO_MARK = ("●", "no problem")


class Named(TypedDict):
    id: str
    letter: str
    feed: str


class SaidOfBall(NamedTuple):
    """What is to be said of one side of a ball, with a word for it and the sign of the word."""

    sign: str
    word: str
    label: str
    text: str


class Part(TypedDict):
    """A stretch of the session, s from its start."""

    kind: str
    words: str
    start: float
    end: float
    ball: str | None


class BallPicture(TypedDict):
    ball: str
    title: str
    side: str
    half: str
    drawn: list[str]
    """The balls in both drawings, by the number that marks them there."""
    marks: list[tuple[str, str]]
    """Sign and words of each thing that speaks against the ball."""
    verdict: list["SaidOfBall"]
    figures: list[tuple[str, str]]
    spots: dict[str, tuple[float, ...] | None]
    """Where it lands, (x, y), where it is met and where it crosses the net, (x, y, z), and its zone, m."""
    moves: tuple[str, ...]
    """What a line of its feed can move."""
    stretch: float
    """How much larger heights are than lengths, from the side."""
    launches: int
    """How many balls the session has."""
    whole: str
    """The session in a line: how many balls, how long, and who takes turns."""
    facts: dict[str, float | None]
    """What two balls are compared by, SI."""
    balls: list[Named]
    session: list[Part]


class PlayedSession(TypedDict):
    """What a page needs to let the balls fly one after the other; s and m."""

    lasts: float
    moments: list[tuple[str, float, str]]
    """Each launch: its ball, when it leaves, and that in words."""
    paths: dict[str, Trajectory]


def played(plan: Plan) -> PlayedSession:
    ids = [shot.id for shot in plan.shots]
    moments = [(ids[one.ball], one.at_s, one.text) for one in figures.moments(plan)]
    paths = {ball: [_rounded(point) for point in path] for ball, path in trajectories(plan).items()}
    return PlayedSession(lasts=plan.totals.duration_s, moments=moments, paths=paths)


def _rounded(point: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    t, x, y, z = (round(value, 3) for value in point)
    return t, x, y, z


def _over_net(path: Trajectory) -> tuple[float, float, float] | None:
    """Where the flight first crosses the net's plane, between two of its points."""
    for (_, x0, y0, z0), (_, x1, y1, z1) in pairwise(path):
        if y0 < 0 <= y1:
            share = -y0 / (y1 - y0)
            return x0 + share * (x1 - x0), 0.0, z0 + share * (z1 - z0)
    return None


def picture(compiled: Compiled, wanted: str | None, lettered: bool = True) -> BallPicture | None:
    """`wanted` is a ball or a feed; the first ball if it is neither. Not `lettered`, a ball that has no letter yet is
    drawn without one. None without a plan."""
    plan = compiled.plan
    if plan is None or not plan.shots:
        return None
    chosen = chosen_of(plan, wanted)
    named = letters(plan)
    if not lettered:
        named = replace(named, of=dict.fromkeys(named.of, ""))
    court = next(one for one in pictures(plan, named) if chosen in one.shots)
    few = plan.model_copy(update={"shots": tuple(court.shots)})
    known = {ball.id: ball if lettered else replace(ball, letter="") for ball in figures.balls(plan)}
    shown = [known[shot.id] for shot in few.shots]
    told = next((row for row in rows(compiled) if row.ball == chosen.id), None)
    seen = chosen.predicted
    paths = trajectories(few)
    side = beside(few, paths, shown, replies(plan.model_copy(update={"shots": (chosen,)})))
    return BallPicture(
        ball=chosen.id, title=f"{known[chosen.id].letter} {visible(chosen.id)}".strip(), side=side,
        half=draw(few, court, more=True, front=chosen.id).svg, drawn=[shot.id for shot in few.shots],
        marks=_marks(told), verdict=_verdict(plan, chosen), figures=list(known[chosen.id].figures),
        spots={"landing": seen.landing_m, "contact": seen.contact_m, "net": _over_net(paths[chosen.id]),
               "zone": chosen.zone_m},
        moves=movable(compiled.program, chosen.id) if compiled.program else (), stretch=STRETCH,
        launches=len(plan.launches), whole=_whole(plan),
        facts={
            "over": seen.net_clearance_m, "lands": seen.landing_m[1] if seen.landing_m else None,
            "met": seen.contact_m[2], "time": seen.contact_s, "speed": chosen.launch.speed_mps,
        },
        balls=[Named(id=shot.id, letter=known[shot.id].letter, feed=shot.feed) for shot in plan.shots],
        session=[
            Part(kind=block.kind, words=visible(block.words), start=block.start_s, end=block.end_s,
                 ball=block.shots[0] if block.shots else None)
            for block in plan.blocks
        ],
    )  # fmt: skip


def _whole(plan: Plan) -> str:
    kinds = len(letters(plan).used(shot.id for shot in plan.shots))
    told = f"{plan.totals.balls} balls" + (f" of {kinds} kinds" if kinds > 1 else "")
    turns = rule(plan, plan.blocks)
    return f"{told}, {clock(plan.totals.duration_s)} min in all." + (f" {turns}." if turns else "")


def chosen_of(plan: Plan, wanted: str | None) -> Shot:
    by_id = (shot for shot in plan.shots if shot.id == wanted)
    by_feed = (shot for shot in plan.shots if shot.feed == wanted)
    return next(by_id, None) or next(by_feed, plan.shots[0])


def _marks(row: BallVerdict | None) -> list[tuple[str, str]]:
    found = [
        (SIGNS[severity], f"{severity.value}: {_small(MESSAGES[code].title)}")
        for severity, code in (row.marks if row else ())
    ]
    return list(dict.fromkeys(found)) or [NO_MARK]


def _small(title: str) -> str:
    return title[:1].lower() + title[1:]


def _verdict(plan: Plan, shot: Shot) -> list[SaidOfBall]:
    """Crosses the net by how much and how often, lands in, met where, and how many replies are good."""
    seen = shot.predicted
    told = [SaidOfBall(verdict.SIGNS[one.word], one.word, one.label, one.text) for one in verdict.judged(plan, shot)]
    after = "after two bounces" if seen.bounces == 2 else seen.contact_phase
    met = f"{seen.contact_m[2]:.2f} m high, {after}, {seen.contact_s:.2f} s after the launch"
    pace = f"{shot.launch.speed_mps / KMH:.0f} km/h"
    return [SaidOfBall("", "", "pace", pace), *told, SaidOfBall("", "", "met", met)]


def feed_of(made: BallPicture) -> str:
    return next(ball["feed"] for ball in made["balls"] if ball["id"] == made["ball"])


def among(script: Script, single: BallPicture, rest: BallPicture | None) -> BallPicture:
    """A ball that was drawn by itself, with the session as it was last, and the other balls that are still there."""
    if rest is None:
        return {**single, "session": [], "launches": 0, "whole": ""}
    own = {ball["feed"] for ball in single["balls"]}
    others = [ball for ball in rest["balls"] if ball["feed"] not in own and speaks_of(script, {ball["feed"]})]
    of_all = {"session": rest["session"], "launches": rest["launches"], "whole": rest["whole"]}
    return {**single, **of_all, "balls": [*others, *single["balls"]]}  # type: ignore[typeddict-item]


def feeds_of(compiled: Compiled) -> set[str]:
    return {shot.feed for shot in compiled.plan.shots} if compiled.plan else set()


def balls_of(compiled: Compiled, feed: str) -> set[str]:
    return {shot.id for shot in compiled.plan.shots if shot.feed == feed} if compiled.plan else set()
