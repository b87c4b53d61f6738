"""Program -> Sequence: which ball when. Rounds are unrolled, mixes drawn with the seed, the same everywhere."""

from dataclasses import dataclass, field
from random import Random

import numpy as np

from .model.program import Item, Pause, Program, Rounds, Serve
from .model.schedule import Block, Indices, Round, Sequence
from .report.finding import Finding

MOST_LAUNCHES = 20_000
LONGEST_S = 8 * 3600.0
MOST_BLOCKS = 2_000
BAG_COPIES = 3
"""A mix is drawn from a bag that holds each share this many times and is filled again when empty, so that shares are
kept over a short block and the next ball cannot be counted off."""


def expand(program: Program) -> tuple[Sequence | None, list[Finding]]:
    """The sequence, or None where there is no session or it would unroll to more than can be meant."""
    session = program.session
    if session is None:
        return None, []
    launches, seconds, blocks = _size(session.items, program)
    for found, limit, what in (
        (launches, MOST_LAUNCHES, "launches"),
        (seconds / 60, LONGEST_S / 60, "minutes"),
        (blocks, MOST_BLOCKS, "blocks"),
    ):
        if found > limit:
            facts = {"found": f"{found:.0f}", "limit": f"{limit:.0f}", "what": what}
            return None, [Finding("session-too-long", session.span, facts)]
    names = tuple(program.feeds)
    reel = _Reel(program, {name: i for i, name in enumerate(names)})
    reel.play(session.items, None)
    return Sequence(names, tuple(reel.blocks)), reel.findings


def _size(items: tuple[Item, ...], program: Program) -> tuple[float, float, int]:
    """At most so many launches, seconds and blocks, counted before anything is unrolled."""
    launches, seconds, blocks = 0.0, 0.0, 0
    for item in items:
        if isinstance(item, Pause):
            seconds, blocks = seconds + item.seconds, blocks + 1
        elif isinstance(item, Rounds):
            more = _size(item.items, program)
            launches, seconds = launches + item.count * more[0], seconds + item.count * more[1]
            blocks += item.count * more[2]
        else:
            intervals = _intervals(item, program)
            balls = item.count if item.count is not None else (item.seconds or 0.0) / min(intervals) + 1
            launches, blocks = launches + balls, blocks + 1
            seconds += item.seconds if item.seconds is not None else balls * max(intervals)
    return launches, seconds, blocks


def _intervals(item: Serve, program: Program) -> list[float]:
    """The interval of each share; the members of a family have one."""
    return [program.feeds[program.families.get(name, (name,))[0]].interval for _, name in item.shares]


@dataclass(slots=True)
class _Walk:
    """The way through a family: every member once, in an order drawn anew each time, never one twice running."""

    members: list[int]
    chance: Random
    left: list[int] = field(default_factory=list)
    last: int = -1

    def step(self) -> int:
        if not self.left:
            self.left = sorted(self.members, key=lambda _: self.chance.random())
            if len(self.left) > 1 and self.left[-1] == self.last:
                self.left.insert(0, self.left.pop())
        self.last = self.left.pop()
        return self.last


@dataclass(slots=True)
class _Reel:
    program: Program
    index: dict[str, int]
    walks: dict[str, _Walk] = field(default_factory=dict)
    blocks: list[Block] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    clock: float = 0.0
    last: float = -np.inf
    """The last launch, kept over rests: a short one leaves no ball less than its interval."""

    def play(self, items: tuple[Item, ...], turn: Round | None) -> None:
        for item in items:
            if isinstance(item, Rounds):
                for number in range(item.count):
                    self.play(item.items, Round(number + 1, item.count))
            elif isinstance(item, Pause):
                self._add(item, turn, item.kind, item.seconds)
                self.clock += item.seconds
            else:
                self._serve(item, turn)

    def _serve(self, item: Serve, turn: Round | None) -> None:
        """A ball's interval runs since the launch before it, over the change of blocks too. A block of balls lasts
        until its last ball's own interval is over."""
        intervals = np.array(_intervals(item, self.program))
        most = item.count if item.count is not None else int((item.seconds or 0.0) / intervals.min()) + 2
        draws = self._draws(item, most)
        first = max(self.clock, self.last + intervals[draws[0]])
        times = first + np.concatenate([[0.0], np.cumsum(intervals[draws[1:]])])
        if item.seconds is not None:
            keep = times < self.clock + item.seconds - 1e-6
            draws, times = draws[keep], times[keep]
            if not len(draws):
                # Once for a block that rounds repeat.
                if all(f.span is not item.span for f in self.findings):
                    facts = {"block": f"{item.seconds:g} s", "interval": f"{intervals.min():g} s"}
                    self.findings.append(Finding("block-too-short", item.span, facts))
                return
        self._add(item, turn, "balls", item.seconds, self._members(item, draws))
        self.last = float(times[-1])
        self.clock = self.clock + item.seconds if item.seconds is not None else float(times[-1] + intervals[draws[-1]])

    def _add(
        self, item: Serve | Pause, turn: Round | None, kind: str, seconds: float | None, members: Indices | None = None
    ) -> None:
        serve = item if isinstance(item, Serve) else None
        names = [name for _, name in serve.shares] if serve else []
        balls = [member for name in dict.fromkeys(names) for member in self.program.families.get(name, (name,))]
        self.blocks.append(
            Block(
                kind=kind,
                words=item.words,
                span=item.span,
                seconds=seconds,
                round=turn,
                order=serve.order if serve else None,
                feeds=tuple(balls),
                draws=members if members is not None else np.empty(0, np.intp),
                ladder=serve.ladder if serve else None,
                notes=serve.notes if serve else (),
            )
        )

    def _members(self, item: Serve, draws: Indices) -> Indices:
        """Which ball each draw is: a family is walked through, a ladder begins on its first rung."""
        if item.order == "ladder":
            return np.full(len(draws), self.index[item.shares[0][1]])
        walks = [self._walk(name) for _, name in item.shares]
        return np.array([walks[share].step() for share in draws], dtype=np.intp)

    def _walk(self, name: str) -> _Walk:
        if name not in self.walks:
            members = [self.index[member] for member in self.program.families[name]]
            self.walks[name] = _Walk(members, Random(self.program.seed * MOST_BLOCKS + MOST_BLOCKS - 1 - members[0]))
        return self.walks[name]

    def _draws(self, item: Serve, count: int) -> Indices:
        """Which share each ball is."""
        if item.order == "ladder":
            return np.zeros(count, np.intp)
        if item.order == "mix":
            # Two numbers in one integer seed: Random's stream for an integer is the same on every machine.
            chance = Random(self.program.seed * MOST_BLOCKS + len(self.blocks))
            return np.array(_mixed([weight for weight, _ in item.shares], item.at_most, count, chance), dtype=np.intp)
        pattern = np.repeat(np.arange(len(item.shares)), [weight for weight, _ in item.shares])
        return np.resize(pattern, count)


def _mixed(weights: list[int], at_most: int | None, count: int, chance: Random) -> list[int]:
    """Drawn from the bag so that it can be emptied with at most so many alike; where the weights forbid that, what is
    left over stays in the bag."""
    drawn: list[int] = []
    bag = [0] * len(weights)
    alike = 0

    def run(i: int) -> int:
        return alike + 1 if drawn and drawn[-1] == i else 1

    def empties(i: int) -> bool:
        """Whether the rest of the bag can still be laid out after `i`. Only the largest share can stand in the way."""
        rest = sum(bag) - 1
        left = {k: bag[k] - (k == i) for k in (i, bag.index(max(bag)))}
        return not at_most or all(n <= at_most * (rest - n + 1) - (k == i) * run(i) for k, n in left.items())

    while len(drawn) < count:
        open_ = [left if not at_most or run(i) <= at_most else 0 for i, left in enumerate(bag)]
        if not any(open_):
            bag = [left + BAG_COPIES * weight for left, weight in zip(bag, weights, strict=True)]
            continue
        kept = [left if left and empties(i) else 0 for i, left in enumerate(open_)]
        open_ = kept if any(kept) else open_
        spot = chance.random() * sum(open_)
        pick = next(i for i, _ in enumerate(open_) if spot < sum(open_[: i + 1]))
        alike = run(pick)
        bag[pick] -= 1
        drawn.append(pick)
    return drawn
