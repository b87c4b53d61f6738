"""What another ball, another line or another place of the feeder mends: flown first, then added to the findings."""

import math
from collections.abc import Collection
from functools import partial

from ...grammar.edits import Remedy
from ...grammar.finding import Finding, OfBall, Severity
from ...grammar.frozen import replace
from ..findings.bounds import BoundBroken, BoundOften, NotTogether, WithoutIt
from ..findings.figures import PlayedFarOff
from ..findings.flight import FeederLimit, HighArc, NoFlight, NoOneLine, OutOfReach, OverTheHead, SlowestThere
from ..findings.player import BelowTheKnee, FastForLevel, NoTimeToSee, OverTheShoulder
from ..findings.practice import AimMoved, NetOften
from ..findings.scatter import HeightVaries, ZoneSmall
from ..model.evaluation import Evaluation
from ..model.program import Best, Feed, FixedBy, Program
from ..model.shots import Shots, SolvedShot
from ..remedy import MOST_FEEDS, Judge, remedies
from ..variants import OVER_NET, at_nearest
from .ball import HIGH_M, check_ball, over_head, roomier
from .device import line
from .met import met_elsewhere, part_of


def is_a_note(finding: Finding) -> bool:
    return finding.severity is Severity.NOTE


def passes(high: Collection[str], dug: Collection[str], program: Program, feed: Feed, shot: SolvedShot) -> bool:
    """Whether a ball may be proposed: nothing speaks against it. In place of a ball over the head, one of the families
    `high`, none that is a little above the head either. One that is asked so high may stay there. In place of
    one that can only be dug out, of the families `dug`, one that is met at the knee or above."""
    program = program.seen_by(feed.player)
    if feed.family in dug and shot.predicted.contact[2] < part_of(program, "knee"):
        return False
    told = check_ball(program, feed, shot) + line(program, Shots({feed.name: shot}, {}), None, Evaluation({}, {}))
    told = [f for f in told if f.code not in program.accepted and not isinstance(f.message, PlayedFarOff)]
    asked = program.feeds[feed.name]  # as it was before a line was moved
    if asked.best == HIGHEST and feed.family not in high:
        return all(is_a_note(finding) or isinstance(finding.message, OverTheHead) for finding in told)
    over = over_head(program, asked, shot, 0.0) if feed.family in high else over_head(program, asked, shot)
    return (not over or OverTheHead.code in program.accepted) and all(is_a_note(finding) for finding in told)


proposable: Judge = partial(passes, (), ())
"""Whether nothing speaks against a ball."""


HIGHEST = Best(FixedBy.AT_PLAYER, 1)
OFTEN = NetOften | BoundOften | HeightVaries | NoTimeToSee | FastForLevel
"""What another ball may mend."""
SPARE_S = 0.1
"""What a slower ball gains beside what is missing, because it is often met a little farther away after its bounce. Own
choice."""
MOST_PACED = 2  # feeds for which an ordinary pace is looked for, since each takes a search of its own. Own choice
LOWER_M = 0.05  # so much lower a ball that is meant to be high may rise: nobody sees it. Own choice


def clearing(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with balls that pass the net, keep their bounds and come as high as asked often enough, and leave
    time enough."""
    wanting = [f for f in found if isinstance(f.message, OFTEN) and not is_a_note(f)]
    # Where no wider zone will do.
    wanting += [f for f in found if isinstance(f.message, ZoneSmall) and not (f.remedies or is_a_note(f))]
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

    def suits(program: Program, feed: Feed, shot: SolvedShot) -> bool:
        if shot.speed > slower.get(feed.family, math.inf):
            return False
        if (lob := high.get(feed.name)) and (shot.predicted.peak < lob[0] or feed.topspin != lob[1]):
            return False  # a little spin steadies no lob
        return shot.predicted.contact_time >= needed.get(feed.family, 0.0) and proposable(program, feed, shot)

    found_anew = {name for name in often if program.feeds[name].placed_anew}
    said = [name for name in shots.shots if name in often]
    mended = remedies(program, said, {}, suits) if said else {}
    mended |= {name: (*mended.get(name, ()), *roomier(program, program.feeds[name])) for name in found_anew}
    # A ball that is met elsewhere keeps the flight that is asked, or most of it.
    met = [f.message.ball for f in wanting if isinstance(f.message, BoundOften)]
    mended |= {name: (*met_elsewhere(program, program.feeds[name]), *mended.get(name, ())) for name in met}
    for message in (f.message for f in wanting):
        if isinstance(message, NoTimeToSee):
            from .in_time import in_time  # a script that is sound proposes nothing, and starts sooner

            name = message.ball
            mended[name] = in_time(program, program.feeds[name], shots.shots[name], message, mended.get(name, ()))
    return [
        proposed(program, f, f.message.ball, mended.get(f.message.ball, ()), often)
        if isinstance(f.message, OfBall) and f in wanting
        else f
        for f in found
    ]


def _of_spin(one: Remedy) -> bool:
    return one.text.split()[0] == "spin"


LIFTING, FLATTENING = ("stance", OVER_NET, "pace", "time"), ("stance", "depth", "spin", "pace")
"""The lines that are moved of a ball that is met low or high, or flies high, though no line asks for that."""
FLATTER_M = 1.2  # so high over the net at most a ball is that is proposed in place of a high one. Own choice


def usual(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with balls that are met between knee and shoulder, or pass about a metre over the net, in place of
    those of which no line asks for something else."""

    def level(program: Program, feed: Feed, shot: SolvedShot) -> bool:
        seen = program.seen_by(feed.player)
        return part_of(seen, "knee") <= shot.predicted.contact[2] <= part_of(seen, "shoulder")

    def flat(program: Program, feed: Feed, shot: SolvedShot) -> bool:
        keeps = feed.topspin != program.feeds[feed.name].topspin  # place and height: no lob is then flat enough
        return (shot.predicted.clearance or 0.0) <= (HIGH_M if keeps else FLATTER_M)

    for kinds, lines, does in ((BelowTheKnee | OverTheShoulder, LIFTING, level), (HighArc, FLATTENING, flat)):
        noted = [f for f in found if isinstance(f.message, kinds)]
        told = [f.message.ball for f in noted if isinstance(f.message, OfBall)]
        balls = frozenset(ball for ball in told if program.feeds[ball].best is None)  # a figure is another wish
        if not balls:
            continue

        def suits(program: Program, feed: Feed, shot: SolvedShot, does: Judge = does) -> bool:
            return does(program, feed, shot) and proposable(program, feed, shot)

        mended = remedies(program, [name for name in shots.shots if name in balls], {}, suits, lines)
        # A spin keeps the place and the height that are asked.
        mended = {name: tuple(sorted(some, key=lambda one: not _of_spin(one))) for name, some in mended.items()}
        found = [
            proposed(program, f, f.message.ball, mended[f.message.ball], balls)
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


def yielding(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, of a ball that leaves something open and cannot be had with the line that is in the way, and with
    another of each line that fights. Each takes a search, so the first such ball alone; of any other the line that
    asks too much comes to the nearest that was found."""
    told, found_of = list[Finding](), dict[str, tuple[Remedy, ...]]()
    for finding in found:
        message = finding.message
        if isinstance(message, BoundBroken | NotTogether | NoFlight) and program.feeds[message.ball].open:
            feed, remedies = program.feeds[message.ball], finding.remedies
            if not found_of:
                from ..remedy_pairs import pairs
                from .in_the_way import in_the_way

                lines = in_the_way(program, feed, message, proposable)
                hint = WithoutIt(message.ball, lines.words) if lines.words else finding.hint
                both = pairs(program, feed, proposable) if isinstance(message, NotTogether) and not feed.best else ()
                finding = replace(finding, hint=hint)
                found_of[feed.family] = (*both, *remedies, *lines.remedies)
            # As another player gets it, it shares the lines.
            remedies = found_of.get(feed.family, remedies)
            near = at_nearest(feed, message) if isinstance(message, NotTogether) and not message.comes else ()
            finding = replace(finding, remedies=(*remedies, *near))
        told.append(finding)
    return told


def paced(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, of a ball whose pace takes it nowhere first with an ordinary one, and with the least that gets
    there; of several rungs of one ladder with no pace, since each has its own."""
    told, searched = list[Finding](), set[str]()
    mine = [f.message.ball for f in found if isinstance(f.message, NoFlight | FeederLimit)]
    if not mine:
        return found
    from ..remedy_pace import of_rungs, ordinary_paces, slowest

    rungs = of_rungs(program, mine)
    for finding in found:
        message = finding.message
        if isinstance(message, NoFlight | FeederLimit) and "pace" in program.feeds[message.ball].said:
            feed, remedies = program.feeds[message.ball], finding.remedies
            first = feed.family not in searched and len(searched) < MOST_PACED
            if message.ball in rungs:
                remedies = tuple(edit for edit in remedies if edit.text.split()[:1] != ["pace"])
            elif first:
                remedies = (*ordinary_paces(program, feed, proposable), *remedies)
            least = slowest(program, feed) if isinstance(message, NoFlight) and feed.open and first else None
            hint = SlowestThere(least) if least else finding.hint
            searched.add(feed.family)
            finding = replace(finding, remedies=remedies, hint=hint)
        told.append(finding)
    return told


def aimed(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, of an aim that a bound moves with that bound."""
    told = []
    for finding in found:
        message = finding.message
        if isinstance(message, AimMoved) and not program.feeds[message.ball].open:
            from .in_the_way import away_from_the_aim

            lines = away_from_the_aim(program, program.feeds[message.ball])
            lines = tuple(line for line in lines if line not in message.because)  # which says so already
            finding = replace(finding, hint=WithoutIt(message.ball, lines) if lines else finding.hint)
        told.append(finding)
    return told


def moving(program: Program, shots: Shots, found: list[Finding]) -> list[Finding]:
    """The findings, with a place of the feeder from which all balls keep their bounds, or of which nothing else is
    proposed, land in their zone and are met as high as asked."""
    for kinds, anew in (
        (BoundBroken | BoundOften, False),
        (ZoneSmall | HeightVaries, False),
        (NotTogether | NoFlight, True),
    ):
        scattered = kinds == ZoneSmall | HeightVaries
        wanting = [f for f in found if isinstance(f.message, kinds) and not is_a_note(f)]
        balls = [f.message.ball for f in wanting if isinstance(f.message, kinds) and not (scattered and f.remedies)]
        if not balls or len(balls) > MOST_FEEDS:
            continue
        from ..remedy_place import place_remedies

        # To look anew takes long: the trial tells whether the others go with the first, too.
        places = place_remedies(program, balls[:1] if anew else balls, proposable, anew)
        found = [replace(f, remedies=(*f.remedies, *places)) if f in wanting else f for f in found]
    return found


def proposed(
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
    # What leaves the fastest ball its time keeps the wish, and so does the nearest that there is; a figure does not.
    first = finding.severity is Severity.NOTE or isinstance(finding.message, NoTimeToSee | OutOfReach)
    order = (*own, *remedies) if first else (*remedies, *own)
    return replace(finding, hint=hint, remedies=order)
