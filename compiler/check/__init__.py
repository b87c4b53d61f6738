"""Shots, Schedule and Evaluation -> findings: a list of plain functions, each of which asks one question."""

from collections.abc import Callable, Collection, Mapping
from functools import partial

from ...grammar.edits import Remedy, inside_baseline
from ...grammar.facts import BallName
from ...grammar.finding import Finding, Message, OfBall, Severity
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.source import Span
from ..findings.bounds import BoundOften
from ..findings.flight import (
    AtTheLimit,
    BehindTheFeeder,
    FeederLimit,
    MetLow,
    NoOneLine,
    NotMet,
    OutOfCourt,
    OverTheHead,
)
from ..findings.practice import NetOften
from ..model.evaluation import Evaluation
from ..model.program import Feed, FixedBy, Program
from ..model.schedule import Schedule
from ..model.shots import Shots, SolvedShot
from ..remedy import remedies
from .answers import bounds_often, corridor, forgiving, heights, net_often, reply, spread, unscreened, wider
from .ball import check_ball, fixing_line, over_head, place
from .best import best
from .device import changes, hopper, line, marks, rhythm
from .player import after_serve, reaction, running, turns
from .points import slower
from .practice import alike, length, shares, unused, varied

__all__ = ["check"]

Question = Callable[[Program, Shots, Schedule | None, Evaluation], list[Finding]]
EACH: tuple[Question, ...] = (
    best, rhythm, line, net_often, bounds_often, spread, heights, reply, reaction, after_serve, corridor, unscreened,
)  # fmt: skip
# These count the whole practice, so they are not asked while a part of it could not be read.
WHOLE: tuple[Question, ...] = (changes, marks, slower, hopper, running, turns, length, alike, shares, unused)


def check(
    program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation, propose: bool = True
) -> list[Finding]:
    """Everything that speaks against launching these balls, in no order. Without `propose`, the findings have only
    the remedies that need no flights."""
    told = _told(program, shots)
    failed = [name for name, findings in told.items() if any(_speaks_against(f) for f in findings)]
    odd = [name for name, findings in told.items() if name not in failed and any(_out_of_hand(f) for f in findings)]
    mended: dict[str, tuple[Remedy, ...]] = {}
    if propose:
        low = frozenset(
            program.feeds[name].family for name in odd if any(isinstance(f.message, OverTheHead) for f in told[name])
        )
        mended = remedies(program, [*failed, *odd], shots.misses, partial(_passes, low))
    wrong = frozenset((*failed, *odd))
    found = [
        _mended(program, f, name, mended.get(name, ()), wrong)
        if propose and (_speaks_against(f) or (_out_of_hand(f) and name not in failed))
        else f
        for name, findings in told.items()
        for f in findings
        if f.code not in program.accepted
    ]
    # A ball that fails is asked no further questions.
    evaluation = Evaluation(
        {name: one for name, one in evaluation.scatterings.items() if name not in failed},
        {name: one for name, one in evaluation.replies.items() if name not in failed},
    )
    for question in EACH + (WHOLE if program.whole else ()):
        found += question(program, shots, schedule, evaluation)
    if propose:
        for proposal in PROPOSALS:
            found = proposal(program, shots, found)
    labels = _labels(program)
    return [_labelled(finding, labels) for finding in _one_a_family(program, found)]


def clearing(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with balls that pass the net and keep their bounds often enough."""
    often = frozenset(finding.message.ball for finding in found if isinstance(finding.message, NetOften | BoundOften))
    mended = (
        remedies(program, [name for name in shots.shots if name in often], {}, partial(_passes, ())) if often else {}
    )
    return [
        _mended(program, f, f.message.ball, mended.get(f.message.ball, ()), often)
        if isinstance(f.message, NetOften | BoundOften)
        else f
        for f in found
    ]


PROPOSALS: tuple[Callable[[Program, Shots, list[Finding]], list[Finding]], ...] = (wider, forgiving, varied, clearing)
"""Each flies what it proposes first, and adds it to the findings that need it."""


def _mended(
    program: Program, finding: Finding, name: str, remedies: tuple[Remedy, ...], wrong: Collection[str]
) -> Finding:
    """The finding with its remedies, or with a hint about families where no one line mends the whole family; something
    speaks against the balls that are `wrong`."""
    feed = program.feeds[name]
    several = len(program.families.get(feed.family, ()))
    hint = finding.hint
    if several > 1 and not remedies and name in program.families[feed.family]:
        some = any(member not in wrong for member in program.families[feed.family])
        hint = NoOneLine(several, feed.family, by_height=feed.fixed_by is FixedBy.AT_PLAYER, some=some)
    return replace(finding, hint=hint, remedies=(*remedies, *finding.remedies))


def _told(program: Program, shots: Shots) -> dict[str, list[Finding]]:
    """The findings on each ball alone: why it has no launch, or what is wrong with its launch."""
    told = {}
    for name, shot in shots.shots.items():
        feed = program.feeds[name]
        told[name] = check_ball(program.seen_by(feed.player), feed, shot)
    for name, miss in shots.misses.items():
        told[name] = [Finding(miss.message, _fault(program.feeds[name], miss.message))]
    return told


def _speaks_against(finding: Finding) -> bool:
    return finding.severity is Severity.ERROR


def _fault(feed: Feed, message: Message) -> Span:
    """The line that asks for the impossible."""
    match message:
        case NotMet():
            return place(feed, "stance")
        case BehindTheFeeder() | OutOfCourt(line="baseline"):
            return place(feed, "depth", "into")
        case FeederLimit(what="topspin" | "backspin" | "sidespin"):
            return place(feed, "spin")
        case FeederLimit(what="azimuth") | OutOfCourt():
            return place(feed, "side", "into")
    return fixing_line(feed)


def _out_of_hand(finding: Finding) -> bool:
    """Whether the ball is met higher or lower than a player can play it, or is not quite the one asked."""
    return isinstance(finding.message, OverTheHead | MetLow | AtTheLimit)


def _passes(low: Collection[str], program: Program, feed: Feed, shot: SolvedShot) -> bool:
    """Whether a ball may be proposed: nothing speaks against it. In place of a ball over the head, one of the families
    `low`, none that is a little above the head either."""
    program = program.seen_by(feed.player)
    told = check_ball(program, feed, shot) + line(program, Shots({feed.name: shot}, {}), None, Evaluation({}, {}))
    high = over_head(program, feed, shot, 0.0) if feed.family in low else over_head(program, feed, shot)
    return not high and all(_is_a_note(finding) for finding in told)


def _is_a_note(finding: Finding) -> bool:
    return finding.severity is Severity.NOTE


def _labels(program: Program) -> dict[str, str]:
    """The name of each rung and of each family member, with the coach's words for it."""
    found = {
        name: f"{name} ({label})"
        for play in (program.session.plays if program.session else ())
        if play.ladder
        for (_, name), label in zip(play.shares, play.ladder.labels, strict=True)
    }
    for members in program.families.values():
        feeds = [program.feeds[name] for name in members]
        for feed in feeds if len(feeds) > 1 else ():
            own = [
                feed.words[word] for word in sorted(feed.elements) if len({other.words[word] for other in feeds}) > 1
            ]
            if feed.depth and "depth" in feed.elements and feed.words["depth"] not in own:
                own.append(text(inside_baseline(program.court.half_length - feed.depth.aim)))
            if own:
                found[feed.name] = f"{feed.name} ({', '.join(own)})"
    return found


def _labelled(finding: Finding, labels: Mapping[str, str]) -> Finding:
    balls = [*(fact for fact in finding.message.values() if isinstance(fact, BallName)), *finding.balls]
    return replace(finding, labels={ball: labels[ball] for ball in balls if ball in labels})


def _one_a_family(program: Program, findings: list[Finding]) -> list[Finding]:
    """Findings that several balls share become one, with the other balls and the remedies that mend them all: at a line
    of feeds those of one family, at any other line all."""
    groups: dict[tuple[str, int, str], list[Finding]] = {}
    for finding in findings:
        message, family = finding.message, ""
        if isinstance(message, OfBall):
            feed = program.feeds[message.ball]
            if finding.span in (feed.span, *(said.span for said in feed.said.values())):
                family = feed.family
        groups.setdefault((finding.code, finding.span.start, family), []).append(finding)
    return [_merged(group) for group in groups.values()]


def _merged(group: list[Finding]) -> Finding:
    first, *more = group
    if not more:
        return first
    common = tuple(r for r in first.remedies if all(r in other.remedies for other in more))
    others = tuple(f.message.ball for f in more if isinstance(f.message, OfBall))
    return replace(first, more=len(more), remedies=common, balls=others)
