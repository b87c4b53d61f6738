"""Which runs can go on, which one the player means, and how far it got."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ....compiler.model.feeder import Feeder
from ....compiler.model.plan import Plan
from ....compiler.model.takers import takers_of_score
from ....compiler.printable import plural, visible
from ...log.points import PointBall, course, game_of, left_out
from ...log.progress import Rules, Standing, Verdict, step
from ...log.scores import score_of
from ...log.until import holding, over
from .journal import HELD, Journal, Past, past, records
from .places import Place, places
from .request import RequestRefused

ASKED = 3
"""How many times the program asks for the number of a run."""


@dataclass(frozen=True, slots=True)
class Going:
    """A run that goes on; only this process has its record open."""

    past: Past
    journal: Journal
    places: tuple[Place, ...]
    standings: Mapping[int, Standing]
    points: Mapping[int, tuple[PointBall, ...]]


def unfinished(folder: Path, fp: str = "") -> list[Past]:
    """The runs that can go on, of one plan or of all: most balls thrown first, then the newest."""
    started = [run for run in records(folder, fp) if run.balls and not run.over]
    return sorted(started, key=lambda run: -thrown(run))


def thrown(run: Past) -> int:
    return sum(ball.fate != "missed" for ball in run.balls)


def listed(runs: Sequence[Past], rehearsal: bool) -> list[str]:
    """A line for each run, numbered from one."""
    lines = []
    for number, run in enumerate(runs, start=1):
        of = str(run.last) if run.first == 1 else f"{run.first} to {run.last}"
        where = "rehearsal" if rehearsal else run.port or "port not known"
        title, when = visible(run.title), run.began.strftime("%Y-%m-%d %H:%M")
        lines.append(f"{number:3}  {run.name}  {title}, {when}, next ball {run.next} of {of}, {visible(where)}")
    return lines


def chosen(which: str, runs: Sequence[Past], rehearsal: bool, ask: Callable[[str], str], older: bool = False) -> Past:
    """The run that the player means; asks if there are several and none was named. `older`: the program has runs of
    another plan."""
    if not runs:
        none = f"no {'rehearsal' if rehearsal else 'run'} of this program can go on"
        why = "; its runs belong to an earlier build of the plan" if older else ""
        raise RequestRefused(f"{none}{why}: only a new run is possible")
    if which:
        if found := _named(which, runs):
            return found
        raise RequestRefused(
            f'there is no run "{which}" that can go on; there are {", ".join(run.name for run in runs)}'
        )
    if len(runs) == 1:
        return runs[0]
    print("These runs can go on:", *listed(runs, rehearsal), sep="\n")
    for _ in range(ASKED):
        try:
            answer = ask(f"Which one? 1 to {len(runs)}: ")
        except (EOFError, UnicodeDecodeError):
            break
        if found := _named(answer.strip(), runs):
            return found
    raise RequestRefused("no run was chosen")


def must_keep_its_balls(run: Past, first: int, last: int | None) -> None:
    """A continued run keeps the balls it began with. Naming the same balls again is allowed."""
    if first not in (1, run.first) or (last is not None and last != run.last):
        raise RequestRefused(
            f"the run {run.name} has the balls {run.first} to {run.last} and keeps them; do not give --from or --to"
        )


def _named(which: str, runs: Sequence[Past]) -> Past | None:
    """By its number in the list, or by the beginning of its name."""
    if which.isascii() and which.isdigit() and len(which) < 4:
        return runs[int(which) - 1] if 1 <= int(which) <= len(runs) else None
    found = [run for run in runs if len(which) >= 4 and run.run.startswith(which.lower())]
    return found[0] if len(found) == 1 else None


def going(run: Past, journal: Journal, plan: Plan, feeder: Feeder) -> Going:
    """Open its record for this process alone, and read it again now that nobody else can write to it."""
    try:
        journal.take()
    except OSError as error:
        if error.strerror == HELD:
            raise RequestRefused(f"the run {run.name} is open in another replay; it cannot go on in two") from error
        raise RequestRefused(f"the record of the run {run.name} cannot be used: {error.strerror or error}") from error
    now = (found := past(journal.path)) and passed(plan, found)
    left = places(plan, now.next, now.last, feeder) if now else ()
    if now is None or not left:
        journal.close()
        raise RequestRefused(f"nothing is left of the run {run.name}; without --continue a new one starts")
    return Going(now, journal, left, standings(plan, now), counted_balls(plan, now))


def standings(plan: Plan, run: Past) -> dict[int, Standing]:
    """The standing of each ladder of a run: from the rung of its first ball, stepped by each ball's mark. Without a
    ball, the rung on which it was to begin."""
    block_of = {number: launch.block for number, launch in enumerate(plan.launches, start=1)}
    found = {}
    for block in plan.blocks:
        ladder = block.ladder
        if ladder is None:
            continue
        start = run.rungs.get(block.index)
        standing: Standing | None = None
        for ball in run.balls:
            rung = ladder.at(ball.shot) if block_of.get(ball.ball) == block.index else None
            if rung is not None and ball.fate != "missed":
                standing = step(Rules.of(ladder), standing or Standing(rung), verdict(ball.hit), rung)
        if standing is None and start is not None and 0 <= start < len(ladder.rungs):
            standing = Standing(start)
        if standing is not None:
            found[block.index] = standing
    return found


def counted_balls(plan: Plan, run: Past) -> dict[int, tuple[PointBall, ...]]:
    """The balls that a run has thrown of each block with points, an early end, a score or a goal of its own."""
    goals = {index for goal in plan.goals for index in goal.blocks}
    goals |= {block.index for block in plan.blocks if block.score}
    first_of: dict[int, int] = {}
    found: dict[int, list[PointBall]] = {}
    block_of = {number: launch.block for number, launch in enumerate(plan.launches, start=1)}
    for number, block in block_of.items():
        first_of.setdefault(block, number)
    for ball in run.balls:
        block = block_of.get(ball.ball, -1)
        if ball.fate == "missed" or block < 0:
            continue
        if plan.blocks[block].points or plan.blocks[block].until or block in goals:
            index = ball.ball - first_of[block]
            found.setdefault(block, []).append(PointBall(index, ball.shot, verdict(ball.hit)))
    return {block: tuple(balls) for block, balls in found.items()}


def passed(plan: Plan, run: Past) -> Past:
    """The run, with what is left of a block or a point that marks have ended behind it."""
    first_of: dict[int, int] = {}
    for number, launch in enumerate(plan.launches, start=1):
        first_of.setdefault(launch.block, number)
    counted, variations = counted_balls(plan, run), {shot.id: shot.variation for shot in plan.shots}
    climbed = standings(plan, run)
    ahead, blocks = run.next, {block.index: block for block in plan.blocks}
    while ahead <= run.last and ahead <= len(plan.launches):
        index = plan.launches[ahead - 1].block
        block, balls = plan.blocks[index], counted.get(index, ())
        whose = takers_of_score(plan, index).items()
        scores = [score_of(blocks, index, counted, who, theirs) for who, theirs in whose]
        game = game_of(block, course(block, balls)) if block.points else None
        ended = (
            over(holding(block, balls, variations))
            or (game and game.over)
            or any(one and one.end is not None for one in scores)
        )
        won = index in climbed and climbed[index].won
        if not ended and not won and not left_out(block, balls, ahead - first_of[index]):
            break
        ahead += 1
    return replace(run, next=ahead)


def verdict(hit: bool | None) -> Verdict:
    return Verdict.NOT_JUDGED if hit is None else Verdict.HIT if hit else Verdict.MISS


def counts(run: Past) -> dict[str, int]:
    """The screen's counts of a run so far."""
    balls = [ball for ball in run.balls if ball.fate != "missed"]
    return {
        "gone": len(balls), "missed": len(run.balls) - len(balls),
        "hit": sum(ball.hit is True for ball in balls), "miss": sum(ball.hit is False for ball in balls),
    }  # fmt: skip


def loads(plan: Plan, run: Past) -> dict[str, int]:
    """The balls that each player with a name got in a run so far."""
    players = {shot.id: shot.player for shot in plan.shots}
    return Counter(who for ball in run.balls if ball.fate != "missed" and (who := players.get(ball.shot)))


def told(runs: Sequence[Past], open_runs: Sequence[Past]) -> list[str]:
    """What is known of earlier runs where a new one starts."""
    if not runs:
        return []
    last = runs[0]
    said = f"Last run of this program: {known(last)}"
    if len(open_runs) == 1:
        earlier = "" if open_runs[0].run == last.run else "with an earlier run, "
        said += f" --continue goes on {earlier}from ball {open_runs[0].next}."
    elif open_runs:
        said += f" {plural(len(open_runs), 'run')} can go on; --continue shows them."
    return [f"{said} This is a new run."]


def known(run: Past) -> str:
    """What is known of a run's last ball."""
    doubt = "".join(f"; ball {ball} unknown, counts as thrown" for ball in run.unknown)
    if len(run.unknown) > 3:  # of a machine that never answers: all
        doubt = f"; {plural(len(run.unknown), 'ball')} up to ball {run.unknown[-1]} unknown, counted as thrown"
    return f"last ball surely thrown {run.gone or 'none'}{doubt}."
