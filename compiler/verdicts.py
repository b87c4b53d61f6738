"""What comes of each ball that a script plays: a row for the tables, the desk and editors."""

from collections.abc import Iterator
from math import isfinite

import numpy as np

from ..grammar.finding import Finding, Severity
from ..grammar.frozen import Frozen
from ..grammar.units import RPM
from .conditions import conditions_of
from .evaluate import release_of
from .model.compiled import Compiled
from .model.evaluation import GoodReplies, Scattering
from .model.lettering import Fed, lettered
from .model.player import stroke
from .model.program import Feed, FixedBy, Program
from .model.shots import SolvedShot
from .model.way import gone
from .physics.outcome import landed

GRAVE = (Severity.ERROR, Severity.WARNING)
"""What speaks against a ball."""


class BallVerdict(Frozen):
    """A ball that the session plays: its letter on the sheet, what it does, and what speaks against it. `shot` is None
    if it is impossible."""

    letter: str
    ball: str
    feed: str
    variation: str | None
    player: str | None
    """Who plays it, of players with names."""
    shot: SolvedShot | None
    scattering: Scattering | None
    good: GoodReplies | None
    marks: tuple[tuple[Severity, str], ...]
    """The severity and the code of each error and warning about the ball."""
    accepted: tuple[str, ...]
    """The codes of the warnings about it that the script accepts."""
    way: float | None = None
    """How far the player goes for it, m, where a line says from where, or bounds it."""
    stroke: str = ""
    """`forehand` or `backhand`, where a line or the side of that place says which."""
    would_land: float | None = None
    """Where along the court a ball on the full would come down if nobody met it, m."""
    high: bool = False
    """Whether a line asks how high it is at the top, or bounds that."""


def rows(compiled: Compiled) -> list[BallVerdict]:
    """One for each ball that is played, in the order of the sheet; none of a script that could not be read."""
    program, shots, evaluation = compiled.program, compiled.shots, compiled.evaluation
    if program is None or shots is None or evaluation is None:
        return []
    played = _played(program)
    flown = {name: shot for name in played if (shot := shots.shots.get(name)) and isfinite(shot.predicted.contact_time)}
    letters, lands = _letters(program, flown), _would_land(program, flown)
    return [
        BallVerdict(
            letters.get(name, ""), name, program.feeds[name].family, program.feeds[name].variation,
            program.feeds[name].player or None, flown.get(name),
            evaluation.scatterings.get(name), evaluation.replies.get(name), tuple(_marks(compiled.findings, name)),
            tuple(dict.fromkeys(finding.code for finding in compiled.accepted if name in finding.about)),
            *(_way(program, program.feeds[name], flown[name]) if name in flown else (None, "")), lands.get(name),
            asks_top(program.feeds[name]),
        )
        for name in played
    ]  # fmt: skip


def _way(program: Program, feed: Feed, shot: SolvedShot) -> tuple[float | None, str]:
    """How far the player goes for a ball, and which stroke it is."""
    met, player = shot.predicted.contact, program.seen_by(feed.player).player
    side = stroke(player.hand, player.stature, feed.wait.x, met) if feed.wait else ""
    return gone(feed.wait, met), feed.stroke or side


def _would_land(program: Program, shots: dict[str, SolvedShot]) -> dict[str, float]:
    """Where along the court each ball on the full would come down, m."""
    full = {name: shot for name, shot in shots.items() if shot.predicted.landing is None}
    if not full:
        return {}
    places = landed(release_of([*full.values()]), np.zeros(len(full)), conditions_of(program))
    return dict(zip(full, places.tolist(), strict=True))


def asks_top(feed: Feed) -> bool:
    """Whether a line of the feed or of the whole script says how high the ball is at the top."""
    return FixedBy.AT_TOP in {feed.fixed_by, *(what for what, _ in feed.fixes), *(one.what for one in feed.bounds)}


def _played(program: Program) -> list[str]:
    """The balls of all blocks, in the order in which the script makes them."""
    return [name for name in program.feeds if name in program.fed]


def _letters(program: Program, shots: dict[str, SolvedShot]) -> dict[str, str]:
    """As on the sheet."""
    plays = program.session.plays if program.session else ()
    rungs = {name for play in plays if play.ladder and play.ladder.quantity for _, name in play.shares}
    fed = {}
    for name, shot in shots.items():
        feed, flown = program.feeds[name], shot.predicted
        fed[name] = Fed(
            feed.family, feed.variation, None if flown.landing is None else flown.landing[0], flown.contact[2],
            feed.stance, shot.speed, (shot.topspin / RPM, shot.sidespin / RPM), feed.interval, feed.player or None,
            shot.origin,
        )  # fmt: skip
    return lettered(fed, rungs, program.feeder.kind == "person")


def _marks(findings: tuple[Finding, ...], ball: str) -> Iterator[tuple[Severity, str]]:
    for finding in findings:
        if finding.severity in GRAVE and ball in finding.about:
            yield finding.severity, finding.code
