"""What a phone is shown of a replay, as plain data that becomes JSON. It holds no code that arms."""

from collections.abc import Mapping
from dataclasses import dataclass

from ....compiler.model.plan import GoalRecord
from ....compiler.printable import visible
from ...log.progress import Verdict, tally
from ..replay.flow import RunPhase
from ..replay.host import Host
from ..replay.picture import heard, in_words, picture

VERDICTS = {Verdict.HIT: "hit", Verdict.MISS: "miss", Verdict.NOT_JUDGED: ""}
CALM = {
    RunPhase.GREETING: "Getting ready", RunPhase.PROVING: "Getting ready", RunPhase.SILENCE_TEST: "Getting ready",
    RunPhase.READY: "Not armed", RunPhase.ASKING: "Being armed: nobody in front",
    RunPhase.ANSWERING: "Being armed: nobody in front", RunPhase.LIVE: "LIVE", RunPhase.WATCHING: "Last ball",
    RunPhase.STOPPING: "Stopping", RunPhase.ENDED: "Ended",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class NextBall:
    name: str
    number: int
    in_s: float
    """Seconds until it leaves the machine."""
    lines: tuple[str, ...]
    """The ball in the coach's words, and the line of its block with the rung."""


@dataclass(frozen=True, slots=True)
class LastBall:
    place: int
    """The how many-th ball since the start: a mark names it."""
    name: str
    number: int
    verdict: str


@dataclass(frozen=True, slots=True)
class StreakShown:
    of: str
    now: int
    best: int
    among: int | None
    """Among how many balls the hits are counted; None for a streak."""
    goal: str | None


@dataclass(frozen=True, slots=True)
class Shown:
    title: str
    phase: str
    headline: str
    giant: tuple[str, ...]
    """A few large words, such as PAUSED, REST or COLLECT; in play the name of the next ball."""
    why: str
    alarm: bool
    live: bool
    over: bool
    sound: str
    """What is to be heard besides the balls: one of picture.Sound, or nothing."""
    thrown: int
    hits: int
    misses: int
    next: NextBall | None
    last: LastBall | None
    streak: StreakShown | None
    afterwards: tuple[str, ...] = ()
    """Once it is over: goals, streaks, and what the log advises."""


def shown(host: Host, now: float, since: float, goals: Mapping[str, GoalRecord]) -> Shown:
    """`since`: when the phase began; `goals`: what each variation asks for."""
    drawn, sound = picture(host, now, since=since), heard(host, now, since).sound
    thrown, coming = host.state.thrown, host.coming() if host.phase is RunPhase.LIVE else None
    over = host.phase in (RunPhase.STOPPING, RunPhase.ENDED)
    in_play = host.phase is RunPhase.LIVE
    last = thrown[-1] if thrown else None
    return Shown(
        title=visible(host.run.title), phase=host.phase.name.lower(), headline=CALM[host.phase],
        giant=tuple(map(visible, drawn.giant[1:] if in_play else drawn.giant)),
        why=visible(host.why) if over or host.phase is RunPhase.READY else "", alarm=drawn.alarm, live=in_play,
        over=host.phase is RunPhase.ENDED, sound=sound.name.lower() if sound else "",
        thrown=host.counts["gone"], hits=host.counts["hit"], misses=host.counts["miss"],
        next=NextBall(visible(coming[1]), coming[0].number, host.first_in_s(now), tuple(in_words(host.shelf, *coming)))
        if coming else None,
        last=LastBall(len(thrown), visible(last.ball.shot), last.ball.number, VERDICTS[last.verdict]) if last else None,
        streak=_streak(host, coming[1] if coming else last.ball.shot if last else None, goals),
    )  # fmt: skip


def _streak(host: Host, shot: str | None, goals: Mapping[str, GoalRecord]) -> StreakShown | None:
    """Hits in a row of the variation that is played, or among the balls that its goal says; over all balls thrown."""
    found = host.shelf.shots.get(shot) if shot is not None else None
    if found is None or found.variation is None:
        return None
    shots, goal = host.shelf.shots, goals.get(found.variation)
    mine = {name for name, one in shots.items() if one.variation == found.variation}
    now = tally((one.verdict for one in host.state.thrown if one.ball.shot in mine), goal)
    return StreakShown(visible(found.variation), now.now, now.best, now.among, goal.words if goal else None)
