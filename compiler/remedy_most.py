"""What comes nearest where no change lets enough of the balls do what is asked: the line, and the place of the feeder,
with which most of them do."""

from collections.abc import Callable, Iterable, Mapping

from ..grammar.edits import Remedy
from ..grammar.facts import BallName, Portion
from ..grammar.finding import Finding, Hint, Message, OfBall
from ..grammar.frozen import replace
from ..grammar.print import text
from ..grammar.syntax import Node, Sentence
from .check.met import at_other_parts, level_line
from .check.proposals import LOWER_M, proposable
from .evaluate import scatterings
from .findings.bounds import BoundOften
from .findings.flight import FeederLimit
from .findings.nearest import BestTried, HadAtHeight, Nearest
from .findings.scatter import HeightVaries, ZoneSmall
from .model.compiled import Compiled
from .model.enough import enough
from .model.evaluation import Scattering
from .model.program import Feed, Program
from .model.shots import SolvedShot
from .progress import Progress
from .remedy_place import FEW_M, MOVES_M, along, nearer, stood
from .solve import solve
from .variants import COARSE, Variant, attributes, fixing, of_a_list, placed, shifted

FEW, STEPS = ("height over net", "height", "pace", "time", "depth", "spin"), (4,)
"""The lines, and the steps, where each takes a search of its own."""
BETTER = 0.1  # a share that is larger by less is no help, unless it is enough. Own choice
Better = Callable[[Finding, Remedy], Remedy | None]
"""Of a change that does not mend a finding, the same with what it costs, if nothing else speaks against it."""
Line = tuple[Feed, Sentence, Remedy | None]
Tried = tuple[Node, float, Remedy | None]
"""What was changed, the share of balls that then do what is asked, and what writes it."""
Share = Callable[[Scattering, bool], float]
"""Of a ball, and whether it is met on the full."""
SHARES: Mapping[type[Message], Share] = {
    ZoneSmall: lambda one, full: one.at_side if full else one.in_zone,
    BoundOften: lambda one, full: min((share for share, _ in one.kept.values()), default=1.0),
    HeightVaries: lambda one, full: one.at_height,
}
"""What each message says too few balls do."""
MOST_LOOKED_AT, MOST_ANEW = 2, 1
"""For how many findings it is looked for, and of how many whose balls leave something open. Own choice."""


def nearly(
    compiled: Compiled, findings: tuple[Finding, ...], progress: Progress, betters: Better
) -> tuple[Finding, ...]:
    """The findings, in which those that no change mends tell what comes nearest, with those lines that `betters`."""
    told, lines, anew = dict[int, Hint | None](), dict[int, tuple[Remedy, ...]](), 0
    for i, finding in enumerate(findings):
        message = finding.message
        if isinstance(message, FeederLimit) and compiled.program and not finding.remedies and not finding.hint:
            told[i], lines[i] = _at_height(compiled.program, compiled.program.feeds[message.ball], progress)
            continue
        share = SHARES.get(type(message))
        if share is None or finding.remedies or finding.hint or len(told) == MOST_LOOKED_AT:
            continue
        if isinstance(message, OfBall) and compiled.program and compiled.shots:
            feed, shot = compiled.program.feeds[message.ball], compiled.shots.shots[message.ball]
            anew += feed.placed_anew
            if feed.placed_anew and anew > MOST_ANEW:
                continue
            lob = isinstance(message, HeightVaries) and message.high
            nearest, edits = _nearest(compiled.program, feed, shot, share, progress, lob)
            # No other line or place lets a person feed evenly enough, and where a coach stands is mostly meant.
            person = compiled.program.feeder.kind == "person" and not isinstance(message, BoundOften)
            lines[i] = () if person else edits
            if nearest and isinstance(message, BoundOften):
                nearest = replace(nearest, odds=_at_odds(feed, message, nearest))
            told[i] = nearest
    again = {i: [better for one in some if (better := betters(findings[i], one))] for i, some in lines.items()}
    return tuple(
        replace(finding, resort=told.get(i), remedies=(*finding.remedies, *again.get(i, ())))
        for i, finding in enumerate(findings)
    )


def _nearest(
    program: Program, feed: Feed, shot: SolvedShot, share: Share, progress: Progress, lob: bool
) -> tuple[Nearest | None, tuple[Remedy, ...]]:
    """The best of all, one line or the place of the feeder changed, and what writes them; None where enough of the
    balls do it already, but for those of another make. A lob stays as high as it is, with its spin."""
    (now,) = scatterings(program, [(feed, shot)], sample=False)
    if enough(here := share(now, feed.depth is None)):
        return None, ()
    anew = feed.placed_anew
    trials = [
        trial
        for attribute in attributes(feed)
        for steps in (STEPS if anew else COARSE[:6])
        for way in (1, -1)
        if attribute not in feed.free
        and (attribute in FEW or not anew)
        and not (lob and attribute == "spin")
        and (trial := shifted(program, feed, attribute, way * steps))
    ]
    lines = [_written(feed, trial) for trial in trials if not of_a_list(trial)]
    lines += _other_parts(program, feed)[: len(STEPS) if anew else None]
    least = shot.predicted.peak - LOWER_M if lob else 0.0
    shares = _shares(program, [altered for altered, *_ in lines], share, progress, least)
    line, edit = _best([(said, found, edit) for (_, said, edit), found in zip(lines, shares, strict=True)], here)
    stands, unplaced = program.fed_from(feed.place), replace(feed, place=None)
    places = [
        (along(program.court, away), found, stood(stands, away))
        for moved, away in nearer(stands, () if stands.place.players_side else FEW_M[:2] if anew else MOVES_M)
        for found in _shares(moved, [unplaced], share, progress, least)
    ]
    place, moved_there = _best(places, here)
    return Nearest(BallName(feed.name), Portion(here), line, place, lob), _placed(program, edit, moved_there)


def _written(feed: Feed, trial: Variant) -> Line:
    return trial.altered, trial.sentence, placed(feed, trial.attribute, trial.sentence)


def _other_parts(program: Program, feed: Feed) -> list[Line]:
    line = level_line(feed)
    return [(altered, said, placed(feed, line, said)) for altered, said in at_other_parts(program, feed)]


def _placed(program: Program, *edits: Remedy | None) -> tuple[Remedy, ...]:
    """What there is of these changes, at their places in the script."""
    return tuple(replace(edit, span=program.rows.place(edit.span)) for edit in edits if edit)


def _at_height(program: Program, feed: Feed, progress: Progress) -> tuple[HadAtHeight | None, tuple[Remedy, ...]]:
    """Of a ball on the full that no line mends within its bounds: the other height at which most of them keep them,
    all other lines as they are, and what writes it."""
    if feed.contact_height is None or "height" in feed.elements or feed.open or not feed.bounds:
        return None, ()
    trials = [t for steps in COARSE[:8] for way in (1, -1) if (t := shifted(program, feed, "height", way * steps))]
    lines = [_written(feed, trial) for trial in trials] + _other_parts(program, feed)
    shares = _shares(program, [altered for altered, *_ in lines], SHARES[BoundOften], progress, 0.0)
    best, edit = _best([(said, found, edit) for (_, said, edit), found in zip(lines, shares, strict=True)], 0.0)
    return (HadAtHeight(BallName(feed.name), best) if best else None), _placed(program, edit)


def _at_odds(feed: Feed, message: BoundOften, nearest: Nearest) -> tuple[str, ...]:
    """The line that decides how the ball flies and the bound that it breaks, where all that was tried breaks it."""
    said = feed.said.get(fixing(feed))
    mended = any(enough(best.share) for best in (nearest.line, nearest.place) if best)
    return () if mended or not isinstance(said, Sentence) else (text(said), message.bound)


def _best(tried: Iterable[Tried], here: float) -> tuple[BestTried | None, Remedy | None]:
    said, share, edit = max(tried, key=lambda one: round(one[1], 2), default=(None, 0.0, None))
    if said is None or (share <= here + BETTER and not enough(share)):
        return None, None
    return BestTried(text(said), Portion(share)), edit


def _shares(program: Program, feeds: list[Feed], share: Share, progress: Progress, least_m: float) -> list[float]:
    """Of each feed the share of its balls that do what is asked; 0 for one that has no ball, none that rises so high,
    or none to propose."""
    named = {f"{i}": feed for i, feed in enumerate(feeds)}
    solved = solve(program, named, any(feed.placed_anew for feed in feeds), progress)
    flown = {
        name: (had, shot)
        for name, shot in solved.shots.items()
        if shot.predicted.peak >= least_m and proposable(program, had := solved.feeds.get(name, named[name]), shot)
    }
    spread = dict(zip(flown, scatterings(program, list(flown.values()), sample=False), strict=True))
    return [
        share(one, feed.depth is None) if (one := spread.get(name)) and enough(one.over_net) else 0.0
        for name, feed in named.items()
    ]
