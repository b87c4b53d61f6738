"""Program -> Sequence: what is played, line by line, rounds unrolled."""

from collections.abc import Iterator

from ..grammar.finding import Finding
from .findings.session import SessionTooLong
from .model.program import Item, Pause, Play, Program, Rounds
from .model.schedule import Entry, RoundNumber, Sequence

MOST_LAUNCHES = 20_000
LONGEST_S = 8 * 3600.0
MOST_BLOCKS = 2_000


def expand(program: Program) -> tuple[Sequence | None, list[Finding]]:
    """The sequence, or None if there is no session or it would unroll to more than anybody can mean."""
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
            return None, [Finding(SessionTooLong(round(found), round(limit), what), session.span)]
    return Sequence(tuple(_unrolled(session.items, None))), []


def _size(items: tuple[Item, ...], program: Program) -> tuple[float, float, int]:
    """Approximate launches and seconds, and the number of blocks, counted before anything is unrolled."""
    launches, seconds, blocks = 0.0, 0.0, 0
    for item in items:
        if isinstance(item, Pause):
            seconds, blocks = seconds + item.seconds, blocks + 1
        elif isinstance(item, Rounds):
            more = _size(item.items, program)  # with what is only between them once too often
            launches, seconds = launches + item.count * more[0], seconds + item.count * more[1]
            blocks += item.count * more[2]
        else:
            intervals = _intervals(item, program)
            longest = max(len(program.balls(name)) for _, name in item.shares)
            balls = item.count * longest if item.count is not None else (item.seconds or 0.0) / min(intervals) + 1
            launches, blocks = launches + balls, blocks + 1
            seconds += item.seconds if item.seconds is not None else balls * max(intervals)
    return launches, seconds, blocks


def _intervals(item: Play, program: Program) -> list[float]:
    """The interval of each feed; all members of a family have the same, and a serve takes part of a point's first."""
    return [
        program.feeds[program.members(feed)[0]].interval + program.served(name)
        for _, name in item.shares
        for feed in program.balls(name)
    ]


def _unrolled(items: tuple[Item, ...], turn: RoundNumber | None) -> Iterator[Entry]:
    """A pause belongs to a round whose blocks it follows; one beside rounds follows those, and is of none."""
    own = any(isinstance(item, Play) for item in items) and not any(isinstance(item, Rounds) for item in items)
    for item in items:
        if isinstance(item, Rounds):
            for number in range(1, item.count + 1):
                yield from _unrolled(item.played(number), RoundNumber(number, item.count))
        else:
            yield Entry(item, turn if own or not isinstance(item, Pause) else None)
