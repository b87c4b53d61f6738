"""A ball in its form, before it is written: what it does, and what speaks against it, as far as that is known of one
ball by itself."""

from collections.abc import Callable
from math import isfinite
from typing import Any, TypedDict

from ...compiler.findings.bounds import BallFound
from ...compiler.findings.flight import FeederLimit
from ...compiler.include import Library
from ...compiler.model.compiled import Compiled
from ...compiler.model.feeder import Profiles
from ...compiler.model.player import BODY_SHARES
from ...compiler.model.program import Program
from ...compiler.pipeline import compile_source
from ...compiler.progress import Overtaken, WhileWanted
from ...compiler.service.alone import alone
from ...compiler.service.ball_form import ball_changed
from ...compiler.service.balls import feed_at
from ...compiler.service.blanks import BallBlanks
from ...compiler.service.forms import ball_written
from ...compiler.service.goals import with_goal
from ...compiler.service.script import MADE_NAME, Script, edited, opened
from ...compiler.service.telling import problems
from ...grammar import syntax as s
from ...grammar.finding import Severity
from ...grammar.frozen import replace
from ...grammar.source import Source
from ...grammar.units import KMH, RPM
from .beginnings import filled

SIGNS = {Severity.ERROR: "✕", Severity.WARNING: "▲", Severity.NOTE: "○"}
PARTS = ("knee", "waist", "shoulder")
SCATTERS = ("zone-small", "height-varies", "net-often", "reply-unlikely")
FINE = ("", "Fine to use: the feeder scatters so. A warning stays in sight, and a button mends it.")
CARE = ("", "Needs care: it can be used, but change it unless you mean it.")
TOO_STEEP = "Too steep for this feeder: a lower way over the net, or a player farther from it, can be had."
MOST_TOLD = 2
"""Of what speaks against a ball."""


class TriedBall(TypedDict):
    does: str
    """In a sentence; empty if it cannot be had."""
    against: list[tuple[str, str]]
    """Signs and sentences."""


def ball_alone(script: Script, what: str, said: object, library: Library) -> tuple[Source, str] | None:
    """The script of the one ball that the form would write, and its name; BlankProblem if a blank holds what it may
    not, None if the ball cannot stand by itself."""
    blanks = filled(BallBlanks(""), said)
    taken = {name.name for name in script.names}
    changes = what == "change" and blanks.name == blanks.like
    named = changes or (MADE_NAME.fullmatch(blanks.name) and blanks.name not in taken)
    free = (one for n in range(len(taken) + 1) if (one := "this-ball" + "-too" * n) not in taken)
    feed = blanks.name if named else next(free)
    write = ball_changed if what == "change" else ball_written
    edits = with_goal(script, replace(blanks, name=feed, played="not yet"), write)
    source = alone(opened(Source(script.source.name, edited(script.source, edits)), library), feed)
    return (source, feed) if source else None


def tried(
    source: Source, feed: str, profiles: Profiles, library: Library, wanted: Callable[[], bool]
) -> TriedBall | None:
    """None if nobody wants to know any more."""
    try:
        compiled = compile_source(source, profiles, library, plan=False, progress=WhileWanted(wanted), remedies=False)
    except Overtaken:
        return None
    script = opened(source, library)
    ends = [line.span.end for line in script.tree.lines if isinstance(line.sentence, s.Session)]
    spoken = tuple(one for one in compiled.findings if not isinstance(one.message, BallFound))
    steep = {one.span for one in spoken if isinstance(one.message, FeederLimit) and _too_steep(one.message)}
    found = sorted(problems(spoken, source, looked=False), key=lambda one: list(SIGNS).index(one.severity))
    its = [
        one
        for one in found
        if one.severity is Severity.ERROR or (feed_at(script, one.span.start) == feed and one.span.start < min(ends))
    ]
    against = [
        (SIGNS[one.severity], TOO_STEEP if one.span in steep else " ".join(one.text.split("\n")[:2])) for one in its
    ]
    wrong = any(one.severity is Severity.ERROR for one in found)
    warned = {one.code for one in its if one.severity is Severity.WARNING} if not wrong else set()
    use = [CARE if warned - set(SCATTERS) else FINE] if warned else []
    told = [*list(dict.fromkeys(against))[:MOST_TOLD], *use]
    return TriedBall(does="" if wrong else _does(compiled, feed), against=told)


def _too_steep(limit: FeederLimit) -> bool:
    most = limit.possible.high if limit.possible else None
    return limit.what == "elevation" and most is not None and limit.asked > most


def around(program: Program | None) -> dict[str, Any]:
    """What the blanks of a ball depend on: the least and the most that the feeder gives, rpm and km/h, how high the
    parts of the player's body are, m, and on which side the forehand is."""
    if program is None:
        return {"limits": {}, "heights": {}, "forehand": "right"}
    spin, speed, player = program.feeder.topspin, program.feeder.speed, program.player
    stature = player.stature_on(program.court.name)
    return {
        "limits": {
            "topspin": (0.0, spin.high_si / RPM if spin else 0.0),
            "backspin": (0.0, -spin.low_si / RPM if spin else 0.0), "pace": (speed.low_si / KMH, speed.high_si / KMH),
        },
        "heights": {part: round(player.height_of(part) or stature * BODY_SHARES[part], 2) for part in PARTS},
        "forehand": "left" if player.forehand_x > 0 else "right",
    }  # fmt: skip


def _does(compiled: Compiled, feed: str) -> str:
    shot = compiled.shots.shots.get(feed) if compiled.shots else None
    if shot is None or compiled.program is None or not isfinite(shot.predicted.contact_time):
        return ""
    flown, half = shot.predicted, compiled.program.court.half_length
    parts = [f"leaves at {shot.speed / KMH:.0f} km/h"]
    if flown.clearance is not None:
        parts.append(f"passes {flown.clearance:.2f} m over the net")
    if flown.landing is not None:
        inside = half - flown.landing[1]
        parts.append(f"lands {abs(inside):.1f} m {'inside' if inside >= 0 else 'behind'} the baseline")
    phase = "after two bounces" if flown.bounces == 2 else flown.phase
    met = f"is met {flown.contact[2]:.2f} m high, {phase}, after {flown.contact_time:.2f}\N{NO-BREAK SPACE}s"
    return f"It {', '.join(parts)}, and {met}."
