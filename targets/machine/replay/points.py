"""What the marks of a run decide in its blocks, besides ladders: which ball comes next where a point begins again, the
points won so far, and whether a block is over."""

from dataclasses import replace

from ....compiler.model.takers import Places
from ...log.goals import GoalSoFar, so_far
from ...log.points import Course, Game, PointBall, PointTally, course, game_of, in_point, left_out, shot_of, summed
from ...log.progress import Verdict
from ...log.scores import ScoreSoFar, score_of
from ...log.until import HoldSoFar, holding, over
from . import words
from .journal import TEST_BALLS
from .places import Place, RunShelf
from .run import Run


class Points:
    """Counts the balls of each block with points, an early end or a goal of its own, for each run anew. A mark changes
    the choice of later balls, never a ball on its way."""

    def __init__(self, shelf: RunShelf) -> None:
        self.shelf = shelf
        self._tests = set[str]()
        self._balls: dict[tuple[str, int], list[PointBall]] = {}
        self._courses: dict[tuple[str, int], Course] = {}
        self._counted = {index for goal, _ in shelf.goals for index in goal.blocks}
        self._counted |= {index for index, block in shelf.blocks.items() if block.score}

    def choose(self, run: Run, place: Place) -> str | None:
        """The shot for this place; None where the order is fixed. Always one that the plan allows there."""
        block = self.shelf.blocks.get(place.block)
        if block is None or not block.begins_again:
            return None
        shot = shot_of(block, self._course((run.word, place.block)))
        return shot if shot in place.shots else place.shots[0]

    def serve_before(self, run: Run, place: Place) -> float | None:
        """Seconds from the player's serve to the ball of this place; None if it is not the first ball after a serve."""
        block = self.shelf.blocks.get(place.block)
        if block is None or not block.points:
            return None
        if block.begins_again:
            now = self._course((run.word, place.block))
            return block.points[now.point].serve_s if now.step == 0 else None
        found = in_point(block.points, self._index(place))
        return found[0].serve_s if found and found[1] == 0 else None

    def left_out(self, run: Run, place: Place) -> bool:
        """Whether the ball of this place is left out, because its point ended with a miss. Test balls all come."""
        block = self.shelf.blocks.get(place.block)
        if block is None or run.title == TEST_BALLS or not block.leaves_out:
            return False
        return left_out(block, self._of((run.word, place.block)), self._index(place))

    def hangs_on_marks(self, place: Place) -> bool:
        """Whether the mark of the ball before may change the ball of this place, or leave it out."""
        block = self.shelf.blocks.get(place.block)
        if block is None or not block.leaves_out:
            return block is not None and block.begins_again
        found = in_point(block.points, self._index(place))
        return found is not None and found[1] > 0 and found[0].after_miss == "next point"

    def _index(self, place: Place) -> int:
        """How many balls of its block come before this place."""
        return place.number - self.shelf.first_of.get(place.block, 1)

    def thrown(self, run: Run, place: Place, shot: str) -> None:
        block, key = self.shelf.blocks.get(place.block), (run.word, place.block)
        if run.title == TEST_BALLS:
            self._tests.add(run.word)
        if block and (block.points or block.until or place.block in self._counted):
            self._of(key).append(PointBall(self._index(place), shot, Verdict.NOT_JUDGED))
            self._courses.pop(key, None)

    def marked(self, run: Run, place: Place, verdict: Verdict) -> None:
        """The verdict on a ball that was thrown."""
        key = run.word, place.block
        if key in self._balls:
            index, balls = self._index(place), self._balls[key]
            balls[:] = [replace(one, verdict=verdict) if one.index == index else one for one in balls]
            self._courses.pop(key, None)

    def game(self, run: Run, place: Place) -> Game | None:
        """The game to which a place belongs, so far; None if its block is no game. Test balls play none."""
        block = self.shelf.blocks.get(place.block)
        if block is None or block.first_to is None or run.title == TEST_BALLS:
            return None
        return game_of(block, self._course((run.word, place.block)))

    def holdings(self, run: Run, place: Place) -> tuple[HoldSoFar, ...]:
        """How far the block of a place is with what it goes on for, if it says so. Test balls count for nothing."""
        block = self.shelf.blocks.get(place.block)
        if block is None or not block.until or run.title == TEST_BALLS:
            return ()
        variations = {name: shot.variation for name, shot in self.shelf.shots.items()}
        return holding(block, self._of((run.word, place.block)), variations)

    def score(self, run: Run, place: Place) -> ScoreSoFar | None:
        """The score of the block of a place so far; None if it has none. Where each has one, that of whoever gets its
        ball."""
        at = place.block, self._index(place)
        mine = [one for one, theirs in self._scores(run, place) if theirs is None or at in theirs]
        return mine[0] if mine else None

    def _scores(self, run: Run, place: Place) -> list[tuple[ScoreSoFar, Places | None]]:
        """Each score of the block of a place, with the balls that it counts. Test balls count for nothing."""
        blocks, found = self.shelf.blocks, list[tuple[ScoreSoFar, Places | None]]()
        if place.block not in blocks or run.title == TEST_BALLS:
            return found
        balls = {index: self._of((run.word, index)) for index, one in blocks.items() if one.score}
        for who, theirs in self.shelf.scores.get(place.block, {"": None}).items():
            if score := score_of(blocks, place.block, balls, who, theirs):
                found.append((score, theirs))
        return found

    def played(self, run: Run, place: Place) -> int:
        """How many balls, or points, of the block of a place are over. Test balls count for nothing."""
        if run.title == TEST_BALLS:
            return 0
        key = run.word, place.block
        return len(self._course(key).results) if self.shelf.blocks[place.block].points else len(self._of(key))

    def goals(self, run: Run, place: Place) -> tuple[GoalSoFar, ...]:
        """How far the run is with the goals that count the block of a place; of goals that each has for themselves,
        those of whoever gets its ball. Test balls count for nothing."""
        if run.title == TEST_BALLS:
            return ()
        variations = {name: shot.variation for name, shot in self.shelf.shots.items()}
        at, found = (place.block, self._index(place)), list[GoalSoFar]()
        for goal, takers in self.shelf.goals:
            if place.block in goal.blocks:
                balls = {b: self._of((run.word, b)) for b in goal.blocks}
                mine = [(who, theirs) for who, theirs in takers.items() if theirs is None or at in theirs]
                found += [so_far(goal, self.shelf.blocks, balls, variations, *one) for one in mine]
        return tuple(found)

    def over(self, run: Run, place: Place) -> str:
        """Why the block of a place is over, in words; "" while it goes on."""
        played, holdings = self.game(run, place), self.holdings(run, place)
        if played and played.over:
            return words.game_over(played.tally)
        for score, _ in self._scores(run, place):
            if score.end is not None:
                return words.score_over(score)
        return words.held(holdings) if over(holdings) else ""

    @property
    def tallies(self) -> dict[str, PointTally]:
        """The points that are over, by name, without those of test balls."""
        return summed(
            self._course(key).tallies
            for key in self._balls
            if key[0] not in self._tests and self.shelf.blocks[key[1]].points
        )

    def _of(self, key: tuple[str, int]) -> list[PointBall]:
        if key not in self._balls:
            self._balls[key] = list(self.shelf.earlier.get(key, ()))
        return self._balls[key]

    def _course(self, key: tuple[str, int]) -> Course:
        if key not in self._courses:
            self._courses[key] = course(self.shelf.blocks[key[1]], self._of(key))
        return self._courses[key]
