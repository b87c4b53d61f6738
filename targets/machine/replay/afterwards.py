"""The lines after the end: goals and streaks, the hits beside those that the plan expects, misses, the rungs of the
ladders, and what to type next."""

import shlex
from collections.abc import Sequence
from itertools import pairwise

from ....compiler.model.plan import Plan
from ....compiler.model.takers import takers_of, takers_of_score
from ....compiler.printable import plural, visible
from ...log.advice import against_plan
from ...log.goals import so_far
from ...log.points import course, game_of, of_points, summed, told
from ...log.progress import Tally, Verdict, climbed
from ...log.scores import score_of
from ...log.until import holding, over
from ...outputs.blocks import numbered
from ...outputs.sheet.words import until
from .continuing import counted_balls, counts, standings, verdict
from .journal import Past
from .request import Request


def afterwards(plan: Plan, runs: Sequence[Past]) -> list[str]:
    """The runs of one start, each counted from its first ball, even if an earlier start threw it. Empty if no ball was
    thrown."""
    sums = [counts(run) for run in runs]
    balls, hits, misses = (sum(found[key] for found in sums) for key in ("gone", "hit", "miss"))
    if not balls:
        return []
    of = "In this run" if len(runs) == 1 else f"In these {len(runs)} runs"
    judged = f"{plural(hits, 'hit')}, {plural(misses, 'miss', 'misses')}, {balls - hits - misses} not judged"
    lines = [f"{of}: {plural(balls, 'ball')} thrown, {judged}."]
    thrown = ((ball.shot, verdict(ball.hit)) for run in runs for ball in run.balls if ball.fate != "missed")
    return (
        lines
        + _players(plan, runs)
        + _rows(plan, runs)
        + _points(plan, runs)
        + _held(plan, runs)
        + _scores(plan, runs)
        + _records(plan, runs)
        + _goals(plan, runs)
        + against_plan(plan, thrown)
        + _ladders(plan, runs[-1])
    )


def _players(plan: Plan, runs: Sequence[Past]) -> list[str]:
    """What each of several players got, and how it was judged."""
    players = {shot.id: shot.player for shot in plan.shots}
    thrown = [ball for run in runs for ball in run.balls if ball.fate != "missed"]
    lines = []
    for player in plan.players if plan.others else ():
        marks = [verdict(ball.hit) for ball in thrown if players.get(ball.shot) == player.name]
        hits, misses = marks.count(Verdict.HIT), marks.count(Verdict.MISS)
        judged = f"{plural(hits, 'hit')}, {plural(misses, 'miss', 'misses')}, {len(marks) - hits - misses} not judged"
        lines.append(f"{visible(player.name or '')}: {plural(len(marks), 'ball')}, {judged}.")
    return lines


def _rows(plan: Plan, runs: Sequence[Past]) -> list[str]:
    """A goal belongs to one variation within one block of one run; balls of other variations do not end it."""
    blocks = {number: launch.block for number, launch in enumerate(plan.launches, start=1)}
    variations = {shot.id: shot.variation for shot in plan.shots}
    goals = {variation.id: variation.goal for variation in plan.variations}
    tallies: dict[tuple[str, int, str], Tally] = {}
    for run in runs:
        for ball in run.balls:
            name, block = variations.get(ball.shot), blocks.get(ball.ball)
            if name is not None and block is not None and ball.fate != "missed":
                key = name, block, run.run
                tallies[key] = tallies.get(key, Tally.of(goals[name])).after(verdict(ball.hit))
    lines = []
    for variation in plan.variations:
        of = [found for (name, *_), found in tallies.items() if name == variation.id]
        judged, goal = sum(found.hits + found.misses for found in of), variation.goal
        best = max((found.best for found in of), default=0)
        if not judged:
            continue
        against = f"; goal {goal.words}{', reached' * (best >= goal.hits)}" if goal else ""
        told = f"longest streak {plural(best, 'hit')}"
        if goal and goal.window:
            told = f"{plural(best, 'hit')} among {plural(goal.among, 'ball')} at best"
        lines.append(f"{visible(variation.id)}: {told}{against}.")
    return lines


def _points(plan: Plan, runs: Sequence[Past]) -> list[str]:
    """A line for each point, over all runs of one start, and for each game its score."""
    number = numbered(plan.blocks)
    played = [(plan.blocks[block], balls) for run in runs for block, balls in counted_balls(plan, run).items()]
    courses = [(block, course(block, balls)) for block, balls in played if block.points]
    total = of_points(plan, summed(now.tallies for _, now in courses))
    games = [f"Block {number[block.index]}, {game}." for block, now in courses if (game := game_of(block, now))]
    return [f"{visible(name)}: {told(tally)}." for name, tally in total.items()] + games


def _held(plan: Plan, runs: Sequence[Past]) -> list[str]:
    """For each block with an early end whether it came, and how many balls it took."""
    number, variations = numbered(plan.blocks), {shot.id: shot.variation for shot in plan.shots}
    lines = []
    for run in runs:
        for index, balls in counted_balls(plan, run).items():
            block = plan.blocks[index]
            if not block.until:
                continue
            ended = over(holding(block, balls, variations))
            asked = visible(" and ".join(until(hold) for hold in block.until))
            count = plural(len(balls), "ball")
            came = f"reached with {count} of at most {block.balls}" if ended else f"not reached in {count}"
            lines.append(f"Block {number[index]}, {asked}: {came}.")
    return lines


def _scores(plan: Plan, runs: Sequence[Past]) -> list[str]:
    """The score of each block that has one, or of all rounds that it counts, and with how many balls it came there."""
    number, lines = numbered(plan.blocks), []
    blocks = {block.index: block for block in plan.blocks}
    for balls in (counted_balls(plan, run) for run in runs):
        played = [index for index in balls if blocks[index].score]
        for index, later in pairwise([*played, -1]):
            after = blocks.get(later)
            if after and after.score and after.score.goes_on:
                continue
            for who, theirs in takers_of_score(plan, index).items():
                found = score_of(blocks, index, balls, who, theirs)
                if found and found.judged:
                    count = plural(len(balls[index]), "ball")
                    took = f" with {count} of at most {blocks[index].balls}" if found.score.ends else ""
                    lines.append(visible(f"Block {number[index]}, {found.told}{took}."))
    return lines


def _records(plan: Plan, runs: Sequence[Past]) -> list[str]:
    """How long each block with a record was, of those that marks have ended."""
    number, lines = numbered(plan.blocks), []
    variations = {shot.id: shot.variation for shot in plan.shots}
    for balls in (counted_balls(plan, run) for run in runs):
        for index, played in balls.items():
            block, held = plan.blocks[index], {one.index: one for one in plan.blocks}
            if block.record is None:
                continue
            whose = takers_of_score(plan, index).items()
            scores = [score_of(held, index, balls, who, theirs) for who, theirs in whose]
            ended = any(one and one.end is not None for one in scores) or over(holding(block, played, variations))
            count = len(course(block, played).results) if block.points else len(played)
            beaten = count > block.record if block.longer_beats else bool(ended) and count < block.record
            units = plural(count, "point" if block.points else "ball")
            lines.append(f"Block {number[index]}, record {block.record}: {units}, {'' if beaten else 'not '}beaten.")
    return lines


def _goals(plan: Plan, runs: Sequence[Past]) -> list[str]:
    """Each goal beyond one variation in one block, for each run that played some of it."""
    number, variations = numbered(plan.blocks), {shot.id: shot.variation for shot in plan.shots}
    blocks, lines = {block.index: block for block in plan.blocks}, []
    for balls in (counted_balls(plan, run) for run in runs):
        for goal in plan.goals:
            for who, theirs in takers_of(plan, goal).items():
                found = so_far(goal, blocks, balls, variations, who, theirs)
                if found.judged:
                    alone = (goal.variation is None and not goal.whole) or (goal.each and not goal.in_all)
                    where = f"Block {number[goal.blocks[0]]}, " if alone else ""
                    said = f"{where}{visible(found.told)}."
                    lines.append(said[:1].upper() + said[1:] if goal.whole else said)
    return lines


def _ladders(plan: Plan, run: Past) -> list[str]:
    played = {
        launch.block for number, launch in enumerate(plan.launches, 1) if any(b.ball == number for b in run.balls)
    }
    found, feeds = standings(plan, run), {shot.id: shot.feed for shot in plan.shots}
    return [
        f"The ladder of {visible(climbed(feeds[block.ladder.shots[0]], block.ladder.quantity))} stands on "
        f"{visible(block.ladder.labels[found[block.index].rung])}{', which is won' * found[block.index].won}."
        for block in plan.blocks
        if block.ladder and block.index in found and block.index in played
    ]


def next_steps(wanted: Request, title: str, runs: Sequence[Past], log: str | None) -> list[str]:
    """The lines to type, ready to copy. `log` is the file with the balls, "" for the user's own, None for none."""
    lines = []
    if runs and runs[-1].balls and not runs[-1].over:
        run = runs[-1]
        lines += [f"{plural(run.last - run.next + 1, 'ball')} of this run left. To go on:", wanted.again(run.name)]
    if log is not None and any(run.balls for run in runs):
        where = ["--db", log] if log else []
        lines += ["What was hit and missed, here and before:", shlex.join(["feedwright", "log", "show", title, *where])]
    return lines
