"""Shots, Schedule and Evaluation -> findings: a list of plain functions, each of which asks one question."""

import math
from collections.abc import Callable, Collection, Mapping
from functools import partial

from ...grammar import syntax as s
from ...grammar.edits import Remedy
from ...grammar.facts import BallName
from ...grammar.finding import Finding, Message, OfBall, Severity
from ...grammar.frozen import replace
from ...grammar.print import text
from ...grammar.source import Source, Span
from ..findings.bounds import BallFound, BoundBroken, BoundOften, ComesUp, NotTogether
from ..findings.flight import (
    AtTheLimit,
    BehindTheFeeder,
    FeederLimit,
    HighArc,
    MetLow,
    NoFlight,
    NoOneLine,
    NotMet,
    OutOfCourt,
    OverTheHead,
    PlayedFarOff,
)
from ..findings.player import BelowTheKnee, FastForLevel, NoTimeToSee, OverTheShoulder
from ..findings.practice import HeightVaries, NetOften, ZoneSmall
from ..kept import Kept, unchanged
from ..model.evaluation import Evaluation
from ..model.program import Feed, FixedBy, Program
from ..model.schedule import Schedule
from ..model.shots import Shots, SolvedShot
from ..remedy import MOST_FEEDS, Judge, remedies
from ..remedy_place import place_remedies
from ..said_from import said_from
from .answers import bounds_often, corridor, forgiving, heights, net_often, reply, spread, unscreened, wider
from .ball import check_ball, over_head, roomier
from .best import best
from .broad import broad
from .device import changes, hopper, line, marks, rhythm
from .figures import fixing_line, place
from .met import apart, lower, met_elsewhere, part_of, unasked
from .player import after_serve, outward, pace, reaction, running, turns
from .points import slower
from .practice import alike, goals, length, reachable, shares, unused, varied
from .sharing import sharing
from .stature import taken

__all__ = ["bases", "check", "proposable"]

Question = Callable[[Program, Shots, Schedule | None, Evaluation], list[Finding]]
EACH: tuple[Question, ...] = (
    best, rhythm, line, net_often, bounds_often, spread, heights, reply, reaction, pace,
    outward, unasked, apart, after_serve, corridor, unscreened, taken,
)  # fmt: skip
# These count the whole practice, so they are not asked while a part of it could not be read.
WHOLE: tuple[Question, ...] = (
    changes, marks, slower, hopper, running, turns, length, goals, broad, alike, shares, unused, sharing,
)  # fmt: skip


def check(
    program: Program, shots: Shots, schedule: Schedule | None, evaluation: Evaluation, propose: bool = True
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
        mended = remedies(program, [*failed, *odd], shots.misses, partial(_passes, high, dug))
        # Where no line brings it up to the knee, one that brings it high enough to be hit.
        if least := [n for n in (*failed, *odd) if program.feeds[n].family in dug and not mended.get(n)]:
            mended |= remedies(program, least, shots.misses, partial(_passes, high, ()))
    wrong = frozenset((*failed, *odd))
    found = [
        _mended(program, f, name, mended.get(name, ()), wrong)
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
    return [_labelled(finding, labels) for finding in _one_a_family(program, found + accepted)]


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
    """Those of them that other feeds are like: they stop nothing."""
    heads = (feed.line.sentence for feed in program.feeds.values())
    like = {head.like.text for head in heads if isinstance(head, s.Feed) and head.like}
    return frozenset(name for name in _idle(program, schedule) if program.feeds[name].family in like)


OFTEN = NetOften | BoundOften | HeightVaries | NoTimeToSee | FastForLevel
"""What another ball may mend."""
SPARE_S = 0.1
"""What a slower ball gains beside what is missing, because it is often met a little farther away after its bounce. Own
choice."""
LOWER_M = 0.05  # so much lower a ball that is meant to be high may rise: nobody sees it. Own choice


def clearing(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with balls that pass the net, keep their bounds and come as high as asked often enough, and leave
    time enough."""
    wanting = [f for f in found if isinstance(f.message, OFTEN) and not _is_a_note(f)]
    # Where no wider zone will do.
    wanting += [f for f in found if isinstance(f.message, ZoneSmall) and not (f.remedies or _is_a_note(f))]
    often = frozenset(f.message.ball for f in wanting if isinstance(f.message, OfBall))
    needed: dict[str, float] = {}
    slower: dict[str, float] = {}
    high: dict[str, tuple[float, float]] = {
        message.ball: (shots.shots[message.ball].predicted.peak - LOWER_M, program.feeds[message.ball].topspin)
        for message in (finding.message for finding in found)
        if isinstance(message, HeightVaries) and message.high
    }
    for message in (finding.message for finding in found):
        if isinstance(message, FastForLevel):
            slower[program.feeds[message.ball].family] = message.usual
        if isinstance(message, NoTimeToSee):
            family, full = program.feeds[message.ball].family, program.feeds[message.ball].depth is None
            spare = 0.0 if full else SPARE_S
            needed[family] = max(needed.get(family, 0.0), message.see + message.move + spare)

    def passes(program: Program, feed: Feed, shot: SolvedShot) -> bool:
        if shot.speed > slower.get(feed.family, math.inf):
            return False
        if (lob := high.get(feed.name)) and (shot.predicted.peak < lob[0] or feed.topspin != lob[1]):
            return False  # a little spin steadies no lob
        return shot.predicted.contact_time >= needed.get(feed.family, 0.0) and proposable(program, feed, shot)

    found_anew = {name for name in often if program.feeds[name].placed_anew}
    said = [name for name in shots.shots if name in often]
    mended = remedies(program, said, {}, passes) if said else {}
    mended |= {name: (*mended.get(name, ()), *roomier(program, program.feeds[name])) for name in found_anew}
    # A ball that is met elsewhere keeps the flight that is asked, or most of it.
    met = [f.message.ball for f in wanting if isinstance(f.message, BoundOften | NoTimeToSee)]
    mended |= {name: (*met_elsewhere(program, program.feeds[name]), *mended.get(name, ())) for name in met}
    return [
        _mended(program, f, f.message.ball, mended.get(f.message.ball, ()), often)
        if isinstance(f.message, OfBall) and f in wanting
        else f
        for f in found
    ]


LIFTING, FLATTENING = ("stance", "height over net", "pace", "time"), ("stance", "depth", "spin", "pace")
"""The lines that are moved of a ball that is met low or high, or flies high, though no line asks for that."""
FLATTER_M = 1.2  # so high over the net at most a ball is that is proposed in place of a high one. Own choice


def usual(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with balls that are met between knee and shoulder, or pass about a metre over the net, in place of
    those of which no line asks for something else."""

    def level(program: Program, feed: Feed, shot: SolvedShot) -> bool:
        seen = program.seen_by(feed.player)
        return part_of(seen, "knee") <= shot.predicted.contact[2] <= part_of(seen, "shoulder")

    def flat(program: Program, feed: Feed, shot: SolvedShot) -> bool:
        return (shot.predicted.clearance or 0.0) <= FLATTER_M

    for kinds, lines, does in ((BelowTheKnee | OverTheShoulder, LIFTING, level), (HighArc, FLATTENING, flat)):
        noted = [f for f in found if isinstance(f.message, kinds)]
        told = [f.message.ball for f in noted if isinstance(f.message, OfBall)]
        balls = frozenset(ball for ball in told if program.feeds[ball].best is None)  # a figure is another wish
        if not balls:
            continue

        def passes(program: Program, feed: Feed, shot: SolvedShot, does: Judge = does) -> bool:
            return does(program, feed, shot) and proposable(program, feed, shot)

        mended = remedies(program, [name for name in shots.shots if name in balls], {}, passes, lines)
        found = [
            _mended(program, f, f.message.ball, mended[f.message.ball], balls)
            if isinstance(f.message, OfBall) and f in noted and f.message.ball in balls
            else f
            for f in found
        ]
    return found


def as_written(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, of a figure that is played far off first with another part of the body, which may leave it so."""
    return [
        replace(f, remedies=(*met_elsewhere(program, program.feeds[f.message.ball]), *f.remedies))
        if isinstance(f.message, PlayedFarOff)
        else f
        for f in found
    ]


def moving(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with a place of the feeder from which all balls keep their bounds, or of which nothing else is
    proposed, land in their zone and are met as high as asked."""
    for kinds, anew in (
        (BoundBroken | BoundOften, False),
        (ZoneSmall | HeightVaries, False),
        (NotTogether | NoFlight, True),
    ):
        scattered = kinds == ZoneSmall | HeightVaries
        wanting = [f for f in found if isinstance(f.message, kinds) and not _is_a_note(f)]
        balls = [f.message.ball for f in wanting if isinstance(f.message, kinds) and not (scattered and f.remedies)]
        if not balls or len(balls) > MOST_FEEDS:
            continue
        # To look anew takes long: the trial tells whether the others go with the first, too.
        places = place_remedies(program, balls[:1] if anew else balls, proposable, anew)
        found = [replace(f, remedies=(*f.remedies, *places)) if f in wanting else f for f in found]
    return found


PROPOSALS: tuple[Callable[[Program, Shots, list[Finding]], list[Finding]], ...] = (
    wider, forgiving, reachable, varied, clearing, usual, as_written, moving, lower,
)  # fmt: skip
"""Each flies what it proposes first, and adds it to the findings that need it."""


def _mended(
    program: Program, finding: Finding, name: str, remedies: tuple[Remedy, ...], wrong: Collection[str]
) -> Finding:
    """The finding with its remedies, or with a hint about families where no one line mends the whole family; something
    speaks against the balls that are `wrong`."""
    feed = program.feeds[name]
    several = len(program.families.get(feed.family, ()))
    hint = finding.hint
    if several > 1 and not remedies and not finding.remedies and name in program.families[feed.family]:
        some = any(member not in wrong for member in program.families[feed.family])
        hint = NoOneLine(several, feed.family, by_height=feed.fixed_by is FixedBy.AT_PLAYER, some=some)
    own = finding.remedies
    # What leaves the fastest ball its time keeps the wish, a figure does not.
    first = finding.severity is Severity.NOTE or isinstance(finding.message, NoTimeToSee)
    order = (*own, *remedies) if first else (*remedies, *own)
    return replace(finding, hint=hint, remedies=order)


_TOLD: Kept[tuple[tuple[object, ...], list[Finding]]] = Kept(1000)
"""By the script and the ball."""


def _told(program: Program, shots: Shots) -> dict[str, list[Finding]]:
    """The findings on each ball alone: why it has no launch, or what is wrong with its launch."""
    told = {}
    for name, shot in shots.shots.items():
        feed = program.feeds[name]
        seen = program.seen_by(feed.player)
        things = feed, shot, seen.player, seen.court, seen.ball, seen.feeder, seen.place
        told[name] = unchanged(_TOLD, (program.source.name, name), things, partial(check_ball, seen, feed, shot))
    for name, miss in shots.misses.items():
        told[name] = [Finding(miss.message, _fault(program.feeds[name], miss.message))]
    return told


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
        case FeederLimit(what="topspin" | "backspin" | "sidespin"):
            return place(feed, "spin")
        case FeederLimit(what="azimuth") | OutOfCourt():
            return place(feed, "side", "into")
    return fixing_line(feed)


def _out_of_hand(program: Program, finding: Finding) -> bool:
    """Whether the ball is met higher or lower than a player can play it, or is not quite the one asked, and the script
    does not accept that."""
    return isinstance(finding.message, OverTheHead | MetLow | AtTheLimit) and finding.code not in program.accepted


def _passes(high: Collection[str], dug: Collection[str], program: Program, feed: Feed, shot: SolvedShot) -> bool:
    """Whether a ball may be proposed: nothing speaks against it. In place of a ball over the head, one of the families
    `high`, none that is a little above the head either. One that is asked for over the head may stay there. In place of
    one that can only be dug out, of the families `dug`, one that is met at the knee or above."""
    program = program.seen_by(feed.player)
    if feed.family in dug and shot.predicted.contact[2] < part_of(program, "knee"):
        return False
    told = check_ball(program, feed, shot) + line(program, Shots({feed.name: shot}, {}), None, Evaluation({}, {}))
    told = [f for f in told if f.code not in program.accepted and not isinstance(f.message, PlayedFarOff)]
    asked = program.feeds[feed.name]
    high_asked = asked.fixed_by is FixedBy.AT_PLAYER and asked.value > program.player.head_on(program.court.name)
    if high_asked and feed.family not in high:
        return all(_is_a_note(finding) or isinstance(finding.message, OverTheHead) for finding in told)
    over = over_head(program, feed, shot, 0.0) if feed.family in high else over_head(program, feed, shot)
    return (not over or OverTheHead.code in program.accepted) and all(_is_a_note(finding) for finding in told)


proposable: Judge = partial(_passes, (), ())
"""Whether nothing speaks against a ball."""


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
    groups: dict[tuple[str, Severity, Source, int], list[Finding]] = {}
    for finding in findings:
        place = finding.span.source, finding.span.start
        groups.setdefault((finding.code, finding.severity, *place), []).append(finding)
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
