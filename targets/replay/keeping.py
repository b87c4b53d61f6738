"""What a run's record also tells the practice log: each ball as it has gone, each verdict as it is given.

The record comes first and decides; the log must not hold up a ball. If the log can't be written, the run goes on
without it and says so at its end.
"""

from collections.abc import Mapping
from datetime import datetime

from ...compiler.model.plan import Plan
from ..log import LogRefused
from ..log.progress import Verdict
from ..log.record import Recorder, practice_of
from .places import Place
from .run import Record


class Kept:
    """A record whose balls go to the log as well."""

    def __init__(self, record: Record, log: "Log", places: tuple[Place, ...]) -> None:
        self._record, self._log = record, log
        self._blocks = {place.number: place.block for place in places}
        self._shots: dict[int, str] = {}
        self._numbers: dict[int, int] = {}

    def begin(self, facts: dict[str, object]) -> None:
        self._record.begin(facts)
        self._log.begin(str(facts["run"]))

    def sent(self, ball: int, shot: str) -> None:
        self._record.sent(ball, shot)
        self._shots[ball] = shot

    def fate(self, ball: int, fate: str) -> None:
        self._record.fate(ball, fate)
        if fate == "gone" and ball in self._shots:
            number = self._log.ball(self._blocks[ball], self._shots[ball])
            if number is not None:
                self._numbers[ball] = number

    def mark(self, ball: int, hit: bool) -> None:
        self._record.mark(ball, hit)
        if ball in self._numbers:
            self._log.judge(self._numbers[ball], hit)

    def close(self) -> None:
        self._record.close()


class Log:
    """The player's practice log, as far as it can be written; `trouble` is why not."""

    def __init__(self, plan: Plan, recorder: Recorder | None, trouble: str = "") -> None:
        self._plan, self._recorder, self.trouble = plan, recorder, trouble
        self._ladders = {block.index: block.ladder for block in plan.blocks if block.ladder}

    def rungs(self) -> Mapping[int, int]:
        """Where each ladder begins: on the rung last held."""
        if self._recorder is None:
            return {}
        try:
            return {block: self._recorder.starting_rung(block) for block in self._ladders}
        except LogRefused as refused:
            self.trouble = str(refused)
            return {}

    def begin(self, run: str) -> None:
        """From here on the balls are of this run: one practice, however often the run goes on."""
        if self._recorder is None or self.trouble:
            return
        try:
            self._recorder.begin(practice_of(run))
        except LogRefused as refused:
            self.trouble = str(refused)

    def ball(self, block: int, shot: str) -> int | None:
        if self._recorder is None or self.trouble:
            return None
        ladder = self._ladders.get(block)
        rung = ladder.rungs.index(shot) if ladder else None
        try:
            return self._recorder.ball(block, shot, rung, datetime.now().astimezone(), Verdict.NOT_JUDGED)
        except LogRefused as refused:
            self.trouble = str(refused)
            return None

    def judge(self, number: int, hit: bool) -> None:
        if self._recorder is None or self.trouble:
            return
        try:
            self._recorder.judge(number, Verdict.HIT if hit else Verdict.MISS)
        except LogRefused as refused:
            self.trouble = str(refused)

    def close(self) -> None:
        if self._recorder is not None:
            self._recorder.close()
