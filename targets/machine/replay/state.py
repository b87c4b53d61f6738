"""The one state of a replay: which balls were sent, which are known or in doubt, and how they were marked."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from ....compiler.printable import plural
from ...log.goals import GoalSoFar
from ...log.points import Game
from ...log.progress import Verdict
from ...log.scores import ScoreSoFar
from ...log.until import HoldSoFar
from . import words
from .flow import CORRECT_S, JUDGE_S, Halt
from .journal import TEST_BALLS
from .places import Ladders, Place, RunShelf, arming
from .points import Points
from .run import Run


@dataclass(frozen=True, slots=True)
class RunBall:
    """A place of a run and the shot thrown there."""

    run: Run
    place: Place
    shot: str

    @property
    def number(self) -> int:
        return self.place.number


@dataclass(frozen=True, slots=True)
class ThrownBall:
    """A ball that has left, at the host's second `at_s`. `told`: its event came, not only an answer to `fate`."""

    ball: RunBall
    at_s: float
    told: bool
    verdict: Verdict = Verdict.NOT_JUDGED
    marked_at_s: float = 0.0


@dataclass(slots=True)
class State:
    shelf: RunShelf
    runs: Iterator[Run]
    run: Run
    next: int = 0
    """Index of the next place in the run."""
    last: int = 0
    """Index after the last place that is armed."""
    begun: bool = False
    """Whether the record of this run was begun."""
    first: Place | None = None
    """The first place of the arming."""
    aimed: bool = False
    """Whether wheels and head have the settings of the next ball, which is `shot`."""
    shot: str = ""
    noted: RunBall | None = None
    """The ball that the record has as sent and that is not announced yet."""
    in_doubt: RunBall | None = None
    """The ball that is announced and whose fate is not known."""
    missed_untold: int = 0
    """The ball that `fate` reported as missed; its event may still come."""
    wish: tuple[Halt, str] | None = None
    """Why the machine shall hold."""
    held: tuple[Halt, str] | None = None
    """Why the machine holds."""
    thrown: list[ThrownBall] = field(default_factory=list)
    left: tuple[Run, int] | None = None
    """What is left of the block that marks ended last: its run and the index of its next ball; None once the next block
    is armed."""
    early: dict[int, float] = field(default_factory=dict)
    """By how much each ball of this arming came sooner than the plan says, s."""
    alone: int = 0
    """Launches that nobody asked for."""
    missed: int = 0
    unknown: int | None = None
    """A ball whose fate can never be known."""
    ladders: Ladders = field(init=False)
    points: Points = field(init=False)
    hits: int = 0
    misses: int = 0
    earlier: Mapping[str, int] = field(default_factory=dict)
    """Counts of the same run before it was interrupted."""

    def __post_init__(self) -> None:
        self.ladders = Ladders(self.shelf)
        self.points = Points(self.shelf)

    # ---- what comes

    @property
    def surely_thrown(self) -> int | None:
        """The last ball that is known to have left."""
        return next((one.ball.number for one in reversed(self.thrown) if one.ball.number != self.unknown), None)

    @property
    def place(self) -> Place | None:
        """The next place, None after the last."""
        return self.run.places[self.next] if self.next < len(self.run.places) else None

    @property
    def counts(self) -> dict[str, int]:
        """Balls gone and missed, hits and misses; a continued run includes its earlier counts."""
        own = {"gone": len(self.thrown) + self.alone, "missed": self.missed, "hit": self.hits, "miss": self.misses}
        return {what: count + self.earlier.get(what, 0) for what, count in own.items()}

    @property
    def loads(self) -> dict[str, int]:
        """Balls thrown for each of several players; those of the same run before it was interrupted count, too."""
        players = {name: shot.player for name, shot in self.shelf.shots.items() if shot.player is not None}
        if len(set(players.values())) < 2:
            return {}
        found = {player: self.shelf.got.get(player, 0) for player in sorted(set(players.values()))}
        for one in self.thrown:
            if player := players.get(one.ball.shot):
                found[player] += 1
        return found

    def coming(self) -> tuple[Place, str] | None:
        """The ball on its way until it has left, or else the next, with its shot."""
        if self.in_doubt:
            return self.in_doubt.place, self.in_doubt.shot
        return (self.place, self.shot if self.aimed else self.choose(self.place)) if self.place else None

    @property
    def game(self) -> Game | None:
        """The game to which the next ball belongs, or after the last ball of a run this one."""
        place = self.place or (self.thrown[-1].ball.place if self.thrown else None)
        return self.points.game(self.run, place) if place else None

    @property
    def holdings(self) -> tuple[HoldSoFar, ...]:
        """How far the block of the next ball is with what it goes on for; after the last ball of a run the block of
        this one."""
        place = self.place or (self.thrown[-1].ball.place if self.thrown else None)
        return self.points.holdings(self.run, place) if place else ()

    @property
    def score(self) -> ScoreSoFar | None:
        """That of the block of the next ball, or of the last one."""
        place = self.place or (self.thrown[-1].ball.place if self.thrown else None)
        return self.points.score(self.run, place) if place else None

    @property
    def record(self) -> str:
        """How far the block of the next ball is with its record: `, 12 balls, record 30`; "" where it has none."""
        place = self.place or (self.thrown[-1].ball.place if self.thrown else None)
        block = self.points.shelf.blocks.get(place.block) if place else None
        if place is None or block is None or block.record is None:
            return ""
        played = self.points.played(self.run, place)
        return f", {plural(played, 'point' if block.points else 'ball')}, record {block.record}"

    @property
    def goals(self) -> tuple[GoalSoFar, ...]:
        """How far the run is with the goals that count the block of the next ball, or of the last one."""
        place = self.place or (self.thrown[-1].ball.place if self.thrown else None)
        return self.points.goals(self.run, place) if place else ()

    @property
    def over(self) -> str:
        """Why marks have ended the block of the next ball, in words; "" while it goes on."""
        return self._over(self.run, self.place) if self.place else ""

    def _over(self, run: Run, place: Place) -> str:
        rung = self.ladders.won(place) if run.title != TEST_BALLS else ""
        return words.ladder_over(rung) if rung else self.points.over(run, place)

    def choose(self, place: Place) -> str:
        """The shot for the next place, as ladders and points stand now."""
        return self.points.choose(self.run, place) or self.ladders.choose(place)

    def may_be_marked(self, place: Place) -> bool:
        """Whether the mark of the last ball can still change what is thrown at the next place, within this arming."""
        last = self.thrown[-1].ball if self.thrown else None
        same = last is not None and last.run is self.run and last.place.block == place.block
        waits = same and place is not self.first and place.block in self.shelf.settling
        return waits and (self.points.hangs_on_marks(place) or self.ladders.hangs_on_marks(place))

    def armed_places(self) -> tuple[Place, ...]:
        """What the next arming covers."""
        return arming(self.run.places[self.next :])

    def cover(self) -> None:
        """It is armed: note the places that the arming covers."""
        covered = self.armed_places()
        self.first, self.last = (covered[0] if covered else None), self.next + len(covered)
        self.aimed, self.left, self.early = False, None, {}

    def offset(self, place: Place) -> float:
        """Seconds after the arming's first ball. On a ladder whose rungs have intervals of their own, balls come sooner
        than the plan says."""
        if self.first is None:
            return 0.0
        early = self.early.get(place.number)
        if early is None:
            early = max(self.early.values(), default=0.0)
            if place is self.place:
                early += self._sooner(place, self.shot if self.aimed else self.choose(place))
        return place.at_s - self.first.at_s - early

    def _sooner(self, place: Place, shot: str) -> float:
        """By how much the ball of a place comes sooner after the one before than the plan says, s."""
        last = self.thrown[-1].ball if self.thrown else None
        if last is None or place is self.first or (last.run, last.place.block) != (self.run, place.block):
            return 0.0
        return self.ladders.early(place, last.shot, shot)

    def skip_block(self) -> None:
        here = self.place
        self.left = (self.run, self.next) if self.over else None
        while here and self.place and self.place.block == here.block:
            self.next += 1

    def leave_point(self) -> bool:
        """Go past the balls of a point that a miss has ended. Returns whether there are any; once the machine was told
        of a ball, it comes."""
        before = self.next
        while not self.aimed and self.in_doubt is None and self.place and self.points.left_out(self.run, self.place):
            self.next += 1
        return self.next > before

    def take_up(self) -> bool:
        """Go back into the block that marks had ended, if they do so no more and nothing was armed since. Returns
        whether there is one."""
        if self.left is None or self.left[0] is not self.run:
            return False
        if self._over(self.run, self.run.places[self.left[1]]):
            return False
        self.next, self.left = self.left[1], None
        return True

    def next_run(self) -> bool:
        """Go to the next run if this one is over; False if none is left."""
        while self.next >= len(self.run.places):
            following = next(self.runs, None)
            if following is None:
                return False
            self.run, self.next, self.begun = following, 0, False
        return True

    # ---- one ball; each step goes into the record

    def note(self, place: Place) -> None:
        """From here on the ball counts as thrown until the machine says otherwise."""
        self.noted = RunBall(self.run, place, self.shot)
        self.run.record.sent(place.number, self.shot)

    def announce(self, ball: RunBall) -> RunBall:
        self.early[ball.number] = max(self.early.values(), default=0.0) + self._sooner(ball.place, ball.shot)
        self.noted, self.in_doubt = None, ball
        self.next += 1
        return ball

    def leave_out(self) -> None:
        """Skip a ball that is in the record and was not announced."""
        if ball := self.noted:
            self.noted = None
            self.next += 1
            self.missed += 1
            ball.run.record.fate(ball.number, "missed")

    def gone(self, at_s: float, told: bool, fate: str = "gone") -> None:
        """The ball in doubt was thrown; `fate` is "unknown" if nothing will ever confirm it."""
        if ball := self.in_doubt:
            self.in_doubt, self.aimed = None, False
            self.thrown.append(ThrownBall(ball, at_s, told))
            self.points.thrown(ball.run, ball.place, ball.shot)
            if ball.run.title != TEST_BALLS:
                self.ladders.mark(ball.place, ball.shot, Verdict.NOT_JUDGED)
            self.unknown = None if fate == "gone" else ball.number
            ball.run.record.fate(ball.number, fate)

    def not_thrown(self, told: bool) -> None:
        if ball := self.in_doubt:
            self.in_doubt, self.aimed = None, False
            self.missed += 1
            self.missed_untold = 0 if told else ball.number
            ball.run.record.fate(ball.number, "missed")

    def unasked(self, number: int) -> None:
        """A launch that nobody asked for; it also counts as thrown."""
        if self.in_doubt and self.in_doubt.number == number:
            self.in_doubt = None
        self.alone += 1
        self.run.record.fate(number, "gone")

    def end(self) -> None:
        """The fate of a ball still in doubt stays unknown."""
        self.leave_out()
        if ball := self.in_doubt:
            self.unknown = ball.number
            ball.run.record.fate(ball.number, "unknown")

    def late_news(self, ball: int) -> bool:
        """Whether this is the first event of a launch that an answer to `fate` already reported."""
        last = self.thrown[-1] if self.thrown else None
        if last is None or last.told or last.ball.number != ball or last.ball.run is not self.run:
            return False
        self.thrown[-1] = replace(last, told=True)
        return True

    # ---- marks

    def marked_until(self, leaves_s: float) -> float:
        """When the time to mark the last ball ends: the player hits it first, and then needs a moment to mark it. The
        machine tells a launch `leaves_s` before the ball leaves."""
        if not self.thrown:
            return 0.0
        last = self.thrown[-1]
        shot = self.shelf.shots.get(last.ball.shot)
        met = last.at_s + leaves_s + (shot.predicted.contact_s if shot else 0.0)
        if last.verdict is Verdict.NOT_JUDGED:
            return met + JUDGE_S
        return max(met, min(last.marked_at_s + CORRECT_S, met + JUDGE_S))

    def mark(self, verdict: Verdict, at_s: float, nth: int | None = None) -> None:
        """Give, change or take back the verdict of the last ball, or of the `nth` thrown, counted from 1. All that
        depends on marks is counted again from the history."""
        at = len(self.thrown) - 1 if nth is None else nth - 1
        if not 0 <= at < len(self.thrown) or self.thrown[at].verdict is verdict:
            return
        self.thrown[at] = replace(self.thrown[at], verdict=verdict, marked_at_s=at_s)
        marked = [one for one in self.thrown if one.verdict is not Verdict.NOT_JUDGED]
        played = [one for one in self.thrown if one.ball.run.title != TEST_BALLS]
        self.ladders.replay((one.ball.place, one.ball.shot, one.verdict) for one in played)
        self.hits = sum(one.verdict is Verdict.HIT for one in marked)
        self.misses = len(marked) - self.hits
        ball, hit = self.thrown[at].ball, verdict is Verdict.HIT
        self.points.marked(ball.run, ball.place, verdict)
        ball.run.record.mark(ball.number, None if verdict is Verdict.NOT_JUDGED else hit)
