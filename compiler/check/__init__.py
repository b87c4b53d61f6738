"""Shots, Schedule and Evaluation -> findings: a list of plain functions, each of which asks one question."""

from collections.abc import Callable, Mapping
from functools import partial

from ...grammar import syntax as s
from ...grammar.edits import Remedy
from ...grammar.facts import BallName
from ...grammar.finding import Finding, Message, OfBall, Severity
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.source import Source, Span
from ..findings.bounds import BallFound, ComesUp, NotTogether
from ..findings.figures import AtTheLimit
from ..findings.flight import (
    SPINS,
    BehindTheFeeder,
    FeederLimit,
    MetLow,
    NotMet,
    OutOfCourt,
    OutOfReach,
    OverTheHead,
)
from ..findings.practice import AimMoved
from ..kept import Kept, unchanged
from ..model.evaluation import Evaluation
from ..model.program import Feed, Program
from ..model.schedule import Schedule
from ..model.shots import Miss, Shots
from ..progress import SILENT, Progress
from ..remedy import remedies
from ..said_from import said_from
from ..variants import clamped, nearest
from ..variants import placed as put
from .answers import bounds_often, corridor, forgiving, heights, net_often, reply, spread, wider
from .ball import check_ball
from .best import best
from .bounced import bounced, bouncing
from .broad import broad, place_alone
from .device import changes, hopper, line, marks, rhythm
from .figures import fixing_line, place
from .in_one_note import in_one_note
from .met import apart, lower, unasked
from .moved import moved
from .player import after_serve, outward, pace, reaction, round_it, running, turns
from .points import slower
from .practice import alike, goals, length, reachable, shares, unused, varied
from .proposals import aimed, as_written, clearing, moving, paced, passes, proposed, usual, yielding
from .rests import rests, sets
from .same_ball import another
from .scores import scores
from .sharing import sharing
from .stature import taken

__all__ = ["bases", "check"]

Question = Callable[[Program, Shots, Schedule | None, Evaluation], list[Finding]]
EACH: tuple[Question, ...] = (
    best, rhythm, line, net_often, bounds_often, spread, bounced, heights, reply, reaction, pace,
    outward, round_it, unasked, apart, another, after_serve, corridor, taken,
)  # fmt: skip
# These count the whole practice, so they are not asked while a part of it could not be read.
WHOLE: tuple[Question, ...] = (
    changes, moved, marks, slower, hopper, running, turns, length, rests, sets, goals, broad, scores, alike,
    shares, unused, sharing, place_alone,
)  # fmt: skip


def check(
    program: Program,
    shots: Shots,
    schedule: Schedule | None,
    evaluation: Evaluation,
    propose: bool = True,
    progress: Progress = SILENT,
) -> list[Finding]:
    """Every reason against launching these balls, in no order, also what the script accepts, which nothing is proposed
    for. Without `propose`, the findings have only the remedies that need no flights."""
    unplayed, unheard = _idle(program, schedule), bases(program, schedule)
    told = {name: findings for name, findings in _told(program, shots).items() if name not in unheard}
    failed = [name for name, findings in told.items() if any(_speaks_against(f) for f in findings)]
    odd = [
        name
        for name, findings in told.items()
        if name not in failed and name not in unplayed and any(_out_of_hand(program, f) for f in findings)
    ]
    mended: dict[str, tuple[Remedy, ...]] = {}
    if propose:
        high, dug = (_families(program, odd, told, kind) for kind in (OverTheHead, MetLow))
        dug |= _families(program, failed, told, NotMet)  # the nearest ball that gets there is one to be dug out
        mended = remedies(program, [*failed, *odd], shots.misses, partial(passes, high, dug), progress=progress)
        # Where no line brings it up to the knee, one that brings it high enough to be hit.
        if least := [n for n in (*failed, *odd) if program.feeds[n].family in dug and not mended.get(n)]:
            mended |= remedies(program, least, shots.misses, partial(passes, high, ()), progress=progress)
    wrong = frozenset((*failed, *odd))
    found = [
        proposed(program, f, name, mended.get(name, ()), wrong)
        if propose and (_speaks_against(f) or (_out_of_hand(program, f) and name not in failed))
        else f
        for name, findings in told.items()
        for f in findings
    ]
    # A ball that fails, or is only what others are like, is asked no further questions.
    silent = {*failed, *unheard}
    evaluation = Evaluation(
        {name: one for name, one in evaluation.scatterings.items() if name not in silent},
        {name: one for name, one in evaluation.replies.items() if name not in silent},
    )
    for question in EACH + (WHOLE if program.whole else ()):
        found += question(program, shots, schedule, evaluation)
    # What nobody is told needs no remedy either.
    found = [
        f
        for f in found
        if not (isinstance(f.message, OfBall) and f.message.ball in (unheard if _speaks_against(f) else unplayed))
    ]
    accepted = [f for f in found if f.code in program.accepted]
    found = [f for f in found if f.code not in program.accepted]
    if propose:
        for proposal in PROPOSALS:
            found = proposal(program, shots, found)
    labels = _labels(program)
    return [
        _labelled(finding, labels) for finding in _one_a_family(program, [*in_one_note(found), *in_one_note(accepted)])
    ]


def _idle(program: Program, schedule: Schedule | None) -> frozenset[str]:
    """The balls that no block plays, of a script that was read whole: other feeds are like them perhaps. Of a feed that
    is played with the interval of its block, what is said of those balls is enough."""
    if schedule is None or not program.whole:
        return frozenset()
    played = {name for block in schedule.blocks for name in block.feeds}
    families = {program.feeds[name].family for name in played}
    paced = {program.called(name) for name, of in program.families.items() if name not in families and played & {*of}}
    return frozenset(
        name
        for name, feed in program.feeds.items()
        if feed.family not in families or (feed.family in paced and name not in played)
    )


def bases(program: Program, schedule: Schedule | None) -> frozenset[str]:
    """Those of them that other feeds are like, or that blocks play with lines of their own: they stop nothing."""
    heads = (feed.line.sentence for feed in program.feeds.values())
    like = {head.like.text for head in heads if isinstance(head, s.Feed) and head.like}
    like |= {feed.same_as.family for feed in program.feeds.values() if feed.same_as}
    like |= {program.feeds[name].family for block in (schedule.blocks if schedule else ()) for name in block.feeds}
    return frozenset(name for name in _idle(program, schedule) if program.feeds[name].family in like)


PROPOSALS: tuple[Callable[[Program, Shots, list[Finding]], list[Finding]], ...] = (
    wider, bouncing, forgiving, reachable, varied, clearing, usual, as_written, yielding, paced, aimed, moving, lower,
)  # fmt: skip
"""Each flies what it proposes first, and adds it to the findings that need it."""


_TOLD: Kept[tuple[tuple[object, ...], list[Finding]]] = Kept(1000)
"""By the script and the ball."""


def _told(program: Program, shots: Shots) -> dict[str, list[Finding]]:
    """The findings on each ball alone: why it has no launch, or what is wrong with its launch."""
    told = {}
    for name, shot in shots.shots.items():
        feed = program.feeds[name]
        seen = program.seen_by(feed.player).fed_from(feed.place)
        things = feed, shot, seen.player, seen.court, seen.ball, seen.feeder, seen.place
        told[name] = unchanged(_TOLD, (program.source.name, name), things, partial(check_ball, seen, feed, shot))
    for name, miss in shots.misses.items():
        feed, message = program.feeds[name], miss.message
        told[name] = [Finding(message, _fault(feed, message), remedies=_had(program, feed, miss))]
    return told


def _had(program: Program, feed: Feed, miss: Miss) -> tuple[Remedy, ...]:
    """The nearest that there is, which the trial alone judges: of a spin that the feeder has not, since no other line
    helps, and of a figure that no flight has, since what keeps off every warning may be far from the wish."""
    message = miss.message
    if isinstance(message, FeederLimit) and message.what in SPINS:
        trial = clamped(program, feed)
    else:
        trial = next(iter(nearest(program, feed, miss)), None) if isinstance(message, OutOfReach) else None
    remedy = put(feed, trial.attribute, trial.sentence) if trial and trial.attribute in feed.said else None
    return (remedy,) if remedy else ()


def _families(
    program: Program, odd: list[str], told: Mapping[str, list[Finding]], kind: type[Message]
) -> frozenset[str]:
    """Those of which the script does not accept such a finding."""
    if kind.code in program.accepted:
        return frozenset()
    return frozenset(program.feeds[name].family for name in odd if any(isinstance(f.message, kind) for f in told[name]))


def _speaks_against(finding: Finding) -> bool:
    return finding.severity is Severity.ERROR


def _fault(feed: Feed, message: Message) -> Span:
    """The line that asks for the impossible."""
    match message:
        case NotMet() | NotTogether(comes=ComesUp()):
            return place(feed, "stance")
        case BehindTheFeeder() | OutOfCourt(line="baseline"):
            return place(feed, "depth", "into")
        case FeederLimit(what=what) if what in SPINS:
            return place(feed, "spin")
        case FeederLimit(what="azimuth") | OutOfCourt():
            return place(feed, "side", "into")
    return fixing_line(feed)


def _out_of_hand(program: Program, finding: Finding) -> bool:
    """Whether the ball is met higher or lower than a player can play it, or is not quite the one asked, and the script
    does not accept that."""
    return isinstance(finding.message, OverTheHead | MetLow | AtTheLimit) and finding.code not in program.accepted


def _labels(program: Program) -> dict[str, str]:
    """The name of each rung and of each family member, with the coach's words for it."""
    found = {
        name: f"{name} ({label})"
        for play in (program.session.plays if program.session else ())
        if play.ladder and play.ladder.quantity
        for (_, name), label in zip(play.shares, play.ladder.labels, strict=True)
    }
    for members in program.families.values():
        feeds = [program.feeds[name] for name in members]
        for feed in feeds if len(feeds) > 1 else ():
            own = [
                feed.words[word] for word in sorted(feed.elements) if len({other.words[word] for other in feeds}) > 1
            ]
            if feed.depth and "depth" in feed.elements and feed.words["depth"] not in own:
                own.append(text(said_from(feed, program.court, feed.depth.aim)))
            if own:
                found[feed.name] = f"{feed.name} ({', '.join(own)})"
    return found


def _labelled(finding: Finding, labels: Mapping[str, str]) -> Finding:
    balls = [*(fact for fact in finding.message.values() if isinstance(fact, BallName)), *finding.balls]
    return replace(finding, labels={ball: labels[ball] for ball in balls if ball in labels})


def _one_a_family(program: Program, findings: list[Finding]) -> list[Finding]:
    """Findings that several balls share, because they share the line, become one, with the other balls and the
    remedies that may mend them all: a feed that is like another would say in a line of its own what one change in the
    line that both have says."""
    groups: dict[tuple[str, Severity, Source, int, str], list[Finding]] = {}
    for finding in findings:
        place = finding.span.source, finding.span.start
        way = finding.message.where if isinstance(finding.message, AimMoved) else ""  # one is short, another beyond
        groups.setdefault((finding.code, finding.severity, *place, way), []).append(finding)
    return [_merged(program, group) for group in groups.values()]


def _merged(program: Program, group: list[Finding]) -> Finding:
    first, *more = group
    if not more:
        return first

    def family(finding: Finding) -> str:
        message = finding.message
        return program.feeds[message.ball].family if isinstance(message, OfBall) else ""

    alike = [other for other in more if family(other) == family(first)]
    common = tuple(r for r in first.remedies if all(r in other.remedies for other in alike))
    others = tuple(f.message.ball for f in more if isinstance(f.message, OfBall))
    if isinstance(first.message, BallFound):  # what was found differs from ball to ball
        found = tuple(f.message for f in more if isinstance(f.message, BallFound))
        return replace(first, message=replace(first.message, others=found), balls=others)
    return replace(first, more=len(more), remedies=common, balls=others)
