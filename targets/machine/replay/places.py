"""The balls of a run: its places in order, each with the checked shots that may be thrown there; ladders."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import product

from ....compiler.model.device import Settings, settings_of
from ....compiler.model.feeder import Feeder
from ....compiler.model.plan import Block, BroadGoalRecord, Ladder, Plan, Shot
from ....compiler.model.session import LONGEST_PAUSE_S, TEST_BALLS
from ....compiler.model.takers import Places, takers_of, takers_of_score
from ...log.points import PointBall
from ...log.progress import Rules, Standing, Verdict, step
from ...outputs.places import spot
from ...outputs.sheet.words import AZIMUTH, setting, turned


@dataclass(frozen=True, slots=True)
class Place:
    """`number` counts the run's balls from 1; `at_s` is on the session's clock."""

    number: int
    at_s: float
    shots: tuple[str, ...]
    block: int
    part: int
    by_hand: str = ""
    """What a person must set at the machine before this ball, in words; "" if nothing."""


@dataclass(frozen=True, slots=True)
class RunShelf:
    """The plan's shots in line units, and its blocks."""

    shots: Mapping[str, Shot]
    settings: Mapping[str, Settings]
    blocks: Mapping[int, Block]
    standings: Mapping[int, Standing] = field(default_factory=dict)
    """Where each block's ladder begins, if not at its own start."""
    first_of: Mapping[int, int] = field(default_factory=dict)
    """The number of each block's first ball."""
    settling: Mapping[int, float] = field(default_factory=dict)
    """For each block in which a mark changes which ball comes next, the seconds that its longest change of settings
    takes: where a miss begins a point again or ends it, and where the last ball of a set decides the rung."""
    earlier: Mapping[tuple[str, int], tuple[PointBall, ...]] = field(default_factory=dict)
    """By the run's word and block, what an interrupted run had thrown of a block with points."""
    got: Mapping[str, int] = field(default_factory=dict)
    """What each of several players got in the same run before it was interrupted."""
    goals: tuple[tuple[BroadGoalRecord, Mapping[str, Places | None]], ...] = ()
    """Beyond one variation in one block, each with the balls that count for whoever has a count of their own."""
    raised_m: float | None = None
    """How high above the ground balls leave a machine that is raised."""

    scores: Mapping[int, Mapping[str, Places | None]] = field(default_factory=dict)
    """By the block which of its balls count for each who has a score of their own."""
    hit_if: Mapping[str | None, tuple[str, ...]] = field(default_factory=dict)
    """By the variation, what else decides a hit."""

    def on_rung(self, place: Place, shot: str) -> str:
        """The label of a shot's rung, "" if it has none."""
        block = self.blocks.get(place.block)
        rungs = Rungs.of(block.ladder) if block else None
        at = rungs.at(shot) if rungs else None
        return block.ladder.labels[at] if block and block.ladder and at is not None else ""


def _blocks(plan: Plan) -> dict[int, Block]:
    return {block.index: block for block in plan.blocks}


def shelf(
    plan: Plan,
    rungs: Mapping[int, int] | None = None,
    reached: Mapping[int, Standing] | None = None,
    feeder: Feeder | None = None,
    earlier: Mapping[tuple[str, int], tuple[PointBall, ...]] | None = None,
    got: Mapping[str, int] | None = None,
) -> RunShelf:
    """`rungs`: the rungs on which ladders begin; `reached`, `earlier`, `got`: the standings of ladders, the balls of
    points and the balls of each player, played earlier in the same run. Without the feeder each ball is set as
    soon as the one before has left."""
    settings = {shot.id: settings_of(shot.told) for shot in plan.shots}
    standings = {block: Standing(rung) for block, rung in (rungs or {}).items()} | dict(reached or {})
    first_of: dict[int, int] = {}
    for number, ball in enumerate(plan.launches, start=1):
        first_of.setdefault(ball.block, number)
    in_sets = {block.index for block in plan.blocks if block.ladder and block.ladder.in_sets}
    waits = [block for block in plan.blocks if block.begins_again or block.leaves_out or block.index in in_sets]
    settling = {block.index: _settling(plan, block, feeder) for block in waits if feeder is not None}
    shots = {shot.id: shot for shot in plan.shots}
    raised = plan.feeder.release_height_m if plan.feeder.raised and not plan.feeder.elsewhere else None
    goals = tuple((goal, takers_of(plan, goal)) for goal in plan.goals)
    return RunShelf(
        shots, settings, _blocks(plan), standings, first_of, settling, earlier or {}, got or {}, goals, raised,
        {block.index: takers_of_score(plan, block.index) for block in plan.blocks if block.score and block.score.each},
        {one.id: one.hit_if for one in plan.variations if one.hit_if},
    )  # fmt: skip


def _settling(plan: Plan, block: Block, feeder: Feeder) -> float:
    """The longest change between two balls of a block, s."""
    of = {shot.id: shot.settings for shot in plan.shots}
    rung = {shot: at for at, shots in enumerate(block.ladder.rungs) for shot in shots} if block.ladder else {}
    follow = [(a, b) for a, b in product(block.shots, repeat=2) if abs(rung.get(a, 0) - rung.get(b, 0)) < 2]
    steps = [(of[a], of[b]) for a, b in follow]
    changes = (seconds for a, b in steps for seconds in feeder.change_s(a, b).values())
    return max(changes, default=0.0) + feeder.settle_s + feeder.feed_jitter_s


def places(plan: Plan, first: int = 1, last: int | None = None, feeder: Feeder | None = None) -> tuple[Place, ...]:
    """Balls `first` to `last` of the plan, both included; given its feeder, also what a person sets by hand."""
    blocks, hand = _blocks(plan), {shot.id: by_hand(plan, shot, feeder) for shot in plan.shots}
    return tuple(
        Place(
            number,
            ball.at_s,
            shots,
            ball.block,
            blocks[ball.block].part,
            hand[ball.unmarked(blocks[ball.block].ladder)],
        )
        for number, ball in enumerate(plan.launches, start=1)
        if first <= number <= (last if last is not None else len(plan.launches))
        for shots in [tuple(dict.fromkeys((ball.first, *ball.any_of)))]
    )


def first_balls(plan: Plan, feeder: Feeder | None = None, balls: int = TEST_BALLS, first: int = 1) -> tuple[Place, ...]:
    """The plan's first balls, exactly as the program throws them, to see where they go with nobody in front; of balls
    that come from another place than those the first ones of these."""
    begun = plan.launches[first - 1].block if 0 < first <= len(plan.launches) else plan.launches[0].block
    start = 1 if plan.place_of(begun) == plan.place_of(plan.launches[0].block) else first
    return places(plan, start, start + balls - 1, feeder)


def by_hand(plan: Plan, shot: Shot, feeder: Feeder | None) -> str:
    """Where the machine stands, if not always in one place, and the settings that no line changes between balls, for
    the person at the machine."""
    there = plan.feeder.at(shot.fed_from)
    said = [f"the machine {spot(there, plan.court)}"] if plan.feeder.elsewhere else []
    said += [f"balls leave {there.release_height_m:g} m above the ground"] if said and there.raised else []
    for name, axis in feeder.axes().items() if feeder else ():
        told = feeder is not None and feeder.template is not None and name in feeder.template.fields
        if axis.changes == "between balls" or axis.low == axis.high or told:
            continue
        value, unit = shot.settings[name], axis.unit
        if axis.dial is not None:
            said.append(f"{setting(name)} position {value:g} ({axis.dial[int(value) - 1]:g} {unit})")
        elif name == AZIMUTH:
            side = f"{abs(value):g} {unit} to the machine's {'right' if value > 0 else 'left'}"
            said.append(f"{setting(name)} {side if value else 'straight ahead'}")
        else:
            said.append(f"{setting(name)} {value:g} {unit}{turned(name, value)}")
    return ", ".join(said)


def arming(run: Iterable[Place]) -> tuple[Place, ...]:
    """The places, from the first on, that one arming covers: one part, without a long pause and without a setting that
    a person must change at the machine."""
    taken: list[Place] = []
    for place in run:
        if taken:
            before = taken[-1]
            apart = (place.part, place.by_hand) != (before.part, before.by_hand)
            if apart or place.at_s - before.at_s > LONGEST_PAUSE_S:
                break
        taken.append(place)
    return tuple(taken)


@dataclass(frozen=True, slots=True)
class Rungs:
    """A consistent ladder: at least one rung, a label for each, and valid rules."""

    shots: tuple[tuple[str, ...], ...]
    """Of each rung."""
    rules: Rules
    start: int = 0
    early: Callable[[int, int], float] = lambda one, then: 0.0
    """How much sooner than the plan says a ball comes that is on a rung after one on that or another rung, s."""

    @classmethod
    def of(cls, ladder: Ladder | None) -> "Rungs | None":
        """None if the ladder is not consistent, whatever document it comes from."""
        if ladder is None or not ladder.rungs or len(ladder.labels) != len(ladder.rungs):
            return None
        try:
            return cls(tuple(ladder.rungs), Rules.of(ladder), ladder.start, ladder.early_s)
        except ValueError:
            return None

    def at(self, shot: str) -> int | None:
        return next((at for at, shots in enumerate(self.shots) if shot in shots), None)


class Ladders:
    """The rung of each ladder. A hit or a miss changes the choice of later balls, never a ball on its way."""

    def __init__(self, shelf: RunShelf) -> None:
        found = {index: Rungs.of(block.ladder) for index, block in shelf.blocks.items()}
        self._rungs = {index: rungs for index, rungs in found.items() if rungs}
        self._begins = {index: self._begin(shelf, index, rungs) for index, rungs in self._rungs.items()}
        self._standing, self._first_of, self._blocks = dict(self._begins), shelf.first_of, shelf.blocks

    @staticmethod
    def _begin(shelf: RunShelf, block: int, rungs: Rungs) -> Standing:
        """Where it begins; at its own start if the given rung is not on the ladder."""
        told = shelf.standings.get(block, Standing(rungs.start))
        return told if 0 <= told.rung < rungs.rules.rungs else Standing()

    def hangs_on_marks(self, place: Place) -> bool:
        """Whether the mark of the ball before may change the ball of this place, because it ended a set."""
        rungs = self._rungs.get(place.block)
        return rungs is not None and rungs.rules.begins_set(self._standing[place.block])

    def choose(self, place: Place) -> str:
        """The shot for this place; always one that the plan allows there."""
        rungs = self._rungs.get(place.block)
        if rungs is None:
            return place.shots[0]
        wanted = rungs.shots[self._standing[place.block].rung]
        return next((shot for shot in place.shots if shot in wanted), place.shots[0])

    def early(self, place: Place, before: str, shot: str) -> float:
        """How much sooner than the plan says the ball of a place comes, after the shot before it, s."""
        rungs = self._rungs.get(place.block)
        one, then = (rungs.at(before), rungs.at(shot)) if rungs else (None, None)
        return rungs.early(one, then) if rungs and one is not None and then is not None else 0.0

    def won(self, place: Place) -> str:
        """The last rung, if that is won and so ends the block of a place; "" while it goes on. Of the block's first
        ball, where another run begins, it is not."""
        standing = self._standing.get(place.block)
        if standing is None or not standing.won or place.number == self._first_of.get(place.block):
            return ""
        ladder = self._blocks[place.block].ladder
        return ladder.labels[-1] if ladder else ""

    def mark(self, place: Place, shot: str, verdict: Verdict) -> None:
        """Count a ball. It counts for no rung if it was on its way when its ladder stepped."""
        rungs = self._rungs.get(place.block)
        rung = rungs.at(shot) if rungs else None
        if rungs and rung is not None:
            standing = self._standing[place.block]
            if (rungs.rules.in_sets or standing.won) and place.number == self._first_of.get(place.block):
                standing = Standing(standing.rung)  # a round that was skipped leaves no part of a set behind
            self._standing[place.block] = step(rungs.rules, standing, verdict, rung)

    def replay(self, history: Iterable[tuple[Place, str, Verdict]]) -> None:
        """Compute the standings again from the start and these balls."""
        self._standing = dict(self._begins)
        for place, shot, verdict in history:
            self.mark(place, shot, verdict)
