"""What the player sees, as plain data; screens only draw it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple, Protocol

from ....compiler.model.plan import Shot
from ....compiler.printable import plural, visible
from ....grammar.units import clock, number
from ...log.points import told as point_words
from ...outputs import band
from ...outputs.sheet.rules import hit_if
from . import words
from .figures import can_draw
from .flow import Halt, RunPhase
from .places import Place, RunShelf
from .run import Ending, Run
from .state import State

STOP_AND_LEAVE = "SPACE  stop and leave"
KEYS_SHOWN = {
    RunPhase.READY: ("a  arm", "n  next block", STOP_AND_LEAVE),
    RunPhase.ANSWERING: ("type the four-character code, then ENTER", STOP_AND_LEAVE),
    RunPhase.LIVE: ("SPACE  STOP", "p  pause", "n  next block", "h  hit", "m  miss", "u  unmark"),
    RunPhase.WATCHING: ("SPACE  stop", "h  hit", "m  miss", "u  unmark"),
    RunPhase.ENDED: (),
}
LONGEST_WORD = 8
"""Longest name of a ball, in characters, that is shown giant; a ball with a longer name shows its number."""


REST_UNTIL_S = 10


class Sound(Enum):
    """What a player whose back is turned must hear, besides each ball."""

    STOP = "stop"
    REST = "play stops for a while"
    TIME = "the time of a rest or a collect is over"
    END = "all is played"


class Heard(NamedTuple):
    ball: int | None
    """Number of the next ball, while the machine is live."""
    to_go_s: float
    sound: Sound | None
    serve_in_s: float | None = None
    """Seconds until the player serves before this ball."""


class Playing(Protocol):
    """What the screen reads from a host."""

    phase: RunPhase
    halt: Halt
    """Why nothing is live, in READY."""
    why: str
    question: str
    told: bool
    """Whether the full cautions were shown: a person has asked to arm below them."""
    shelf: RunShelf
    quiet_shown: bool
    ending: Ending | None
    state: State

    @property
    def run(self) -> Run: ...
    @property
    def counts(self) -> dict[str, int]: ...
    @property
    def last_gone(self) -> Place | None: ...
    def armed_places(self) -> tuple[Place, ...]: ...
    def coming(self) -> tuple[Place, str] | None: ...
    def first_in_s(self, now: float) -> float: ...
    def serve_in_s(self, now: float) -> float | None: ...


@dataclass(frozen=True, slots=True)
class Picture:
    headline: str
    giant: tuple[str, ...]
    """Words to read from three metres, most important first."""
    seconds: int | None
    """Whole seconds to the next ball, counted down."""
    must: tuple[str, ...]
    """What a person must read before arming; a screen shows all of it, on pages if necessary."""
    more: tuple[str, ...]
    """Other lines, most important first."""
    counts: str
    keys: tuple[str, ...]
    alarm: bool = False
    """Whether it is a stop, or something else that a person must act on at once."""
    page: int = 0
    """The page to show of what must be read, from zero."""

    @property
    def lines(self) -> tuple[str, ...]:
        return (self.counts, *self.must, *self.more)


def limits(shelf: RunShelf, covered: Sequence[Place]) -> list[str]:
    """How high a raised machine has to stand, and how many of the balls keep what the script allows at most and at
    least."""
    shots = dict.fromkeys(name for place in covered for name in place.shots)
    told = band.limits([shelf.shots[name] for name in shots])
    raised = (
        f"The machine is raised, so that balls leave {shelf.raised_m:g} m above the ground." if shelf.raised_m else ""
    )
    kept = f"Limits, as far as the machine's scatter keeps them: {'; '.join(told)}" if told else ""
    return [line for line in (raised, kept) if line]


def picture(host: Playing, now: float, typed: str = "", since: float | None = None, page: int = 0) -> Picture:
    """The picture of a host now; `since` is when its phase began."""
    phase = host.phase
    headline = {
        RunPhase.READY: "Ready to arm", RunPhase.LIVE: "Live",
        RunPhase.ANSWERING: "Nobody in front? Own switch in reach?",
    }.get(phase, phase.value.capitalize())  # fmt: skip
    giant: tuple[str, ...] = ()
    seconds, must, more = None, [], list[str]()
    if phase is RunPhase.READY:
        covered, pause = host.armed_places(), break_before(host)
        quiet = words.QUIET_SHOWN if host.quiet_shown else words.QUIET_NOT_SHOWN
        giant = _halted(host, pause, now - (since if since is not None else now))
        must += [host.why[:1].upper() + host.why[1:] + "." if host.why else "", pause.told if pause else ""]
        must += [*words.cautions(quiet, host.told), *_by_hand("Set by hand first: ", covered)]
        must += [] if host.told else limits(host.shelf, covered)
        must.append(f"To arm: {summary(host.shelf, covered)}")
    elif phase is RunPhase.ANSWERING:
        more = [f"To arm, type without spaces   {host.question.upper()}",
                f"typed                         {typed.upper()}",
                *_by_hand("The code also confirms that this is set by hand: ", host.armed_places())]  # fmt: skip
    elif phase is RunPhase.LIVE:
        seconds = max(0, -int(-host.first_in_s(now) // 1))
        if coming := host.coming():
            more = [f"next: ball {coming[0].number}", *in_words(host.shelf, *coming)]
            serve, resting = host.serve_in_s(now), _live_rest(host, coming[0], seconds)
            if serve is not None and serve > 0 and not resting:
                seconds = -int(-serve // 1)
                giant = (str(seconds), "SERVE")
                more.insert(0, f"serve at 0; ball {coming[0].number} comes {host.first_in_s(now) - serve:.1f} s later")
            else:
                giant = (str(seconds), "REST" if resting else _called(*coming))
        else:
            more = ["the last ball is on its way"]
    elif phase is RunPhase.WATCHING:
        giant, more = ("LAST BALL",), ["the last ball is on its way; mark it now"]
    elif phase is RunPhase.STOPPING:
        giant, more = ("STOP",), [host.why]
    elif phase is RunPhase.ENDED:
        giant = ended(host.ending)
    return Picture(
        headline, giant, seconds, tuple(filter(None, must)), tuple(filter(None, more)), counted(host),
        KEYS_SHOWN.get(phase, ("SPACE  stop",)), _alarming(host), page,
    )  # fmt: skip


def counted(host: Playing) -> str:
    singles = {shot.feed for shot in host.shelf.shots.values()}
    points = host.state.points.tallies
    loads = ", ".join(f"{visible(name)} {balls}" for name, balls in host.state.loads.items())
    return (
        f"{host.run.title}: {plural(host.counts['gone'], 'ball')} thrown, {plural(host.counts['hit'], 'hit')}, "
        + plural(host.counts["miss"], "miss", "misses")
        + "".join(f", {visible(name)}: {point_words(tally)}" for name, tally in points.items() if name not in singles)
        + "".join(f", {visible(str(count))}" for count in (host.state.game, host.state.score) if count)
        + host.state.record
        + "".join(f", {visible(str(one))}" for one in (*host.state.holdings, *host.state.goals))
        + (f" (balls for {loads})" if loads else "")
    )


def ended(ending: Ending | None) -> tuple[str, ...]:
    """The last word, giant."""
    if ending is None or ending.stopped is None:
        return ("END",)
    if not ending.stopped:
        return ("NOT", "CONFIRMED")
    return ("END",) if ending.why in (words.PLAYED, words.LEFT) else ("STOPPED",)


def _alarming(host: Playing) -> bool:
    if host.phase is RunPhase.ENDED:
        return ended(host.ending) != ("END",)
    return host.phase is RunPhase.STOPPING and host.why not in (words.PLAYED, words.LEFT)


def heard(host: Playing, now: float, since: float) -> Heard:
    """What the player must hear of a host now."""
    sound = None
    if host.phase in (RunPhase.STOPPING, RunPhase.ENDED):
        sound = Sound.END if host.why in (words.PLAYED, words.LEFT) else Sound.STOP
    elif host.phase is RunPhase.READY and host.halt is not Halt.START:
        pause = break_before(host)
        sound = Sound.TIME if pause and 0 < pause.duration_s <= now - since else Sound.REST
    elif host.phase is RunPhase.LIVE and (coming := host.coming()):
        to_go_s = host.first_in_s(now)
        rest = Sound.REST if _live_rest(host, coming[0], to_go_s) else None
        return Heard(coming[0].number, to_go_s, rest, None if rest else host.serve_in_s(now))
    return Heard(None, 0.0, sound)


@dataclass(frozen=True, slots=True)
class Break:
    """The plan's pauses between the ball before and the next."""

    collect: bool
    duration_s: float
    balls: int
    """Balls on the court: thrown since the collect before."""
    serves: int = 0
    """So many serves of the player in it."""

    @property
    def told(self) -> str:
        long = f"{clock(self.duration_s)} min by the plan." if self.duration_s else "the plan sets no time."
        rest = f"{plural(self.serves, 'serve')} of the player" if self.serves else "Rest"
        return f"Collect {plural(self.balls, 'ball')}: {long}" if self.collect else f"{rest}: {long}"


def break_before(host: Playing) -> Break | None:
    """The rest or collect at which a host is, if any."""
    covered = host.armed_places()
    if host.halt is not Halt.PART_PLAYED or not covered:
        return None
    at = _index(host, covered[0])
    return _between(host, at) if at > 0 else None


def _index(host: Playing, place: Place) -> int:
    """The index of a place in its run, whose balls are numbered without gaps."""
    return place.number - host.run.places[0].number


def _between(host: Playing, at: int) -> Break | None:
    """The pauses of the plan between two places of the run: the one before `at` and the one at `at`."""
    places, blocks = host.run.places, host.shelf.blocks
    before, after = places[at - 1].block, places[at].block
    within = blocks.get(after) if before == after else None
    if within and within.rest:
        rests = places[at].number - host.shelf.first_of[after] in within.rested
        return Break(False, within.rest.rest_s, 0) if rests else None
    pauses = [block for i, block in blocks.items() if before < i < after and block.kind != "balls"]
    if not pauses:
        return None
    earlier = max((i for i, block in blocks.items() if block.kind == "collect" and i < before), default=-1)
    balls = sum(place.block > earlier for place in places[:at])
    serves = sum(b.serves.number for b in pauses if b.serves)
    return Break(any(b.kind == "collect" for b in pauses), sum(b.duration_s for b in pauses), balls, serves)


def _live_rest(host: Playing, coming: Place, to_go_s: float) -> bool:
    """Whether a live machine is in a rest of the plan; the last seconds of a rest belong to the next ball."""
    at = _index(host, coming)
    return to_go_s > REST_UNTIL_S and at > 0 and _between(host, at) is not None


def _halted(host: Playing, pause: Break | None, for_s: float) -> tuple[str, ...]:
    if pause:
        left = clock(max(0.0, pause.duration_s - for_s)) if pause.duration_s else ""
        if pause.serves:
            return tuple(filter(None, (f"{pause.serves} SERVES", left)))
        said = ("COLLECT", f"{plural(pause.balls, 'BALL', 'BALLS')}", left) if pause.collect else ("REST", left)
        return tuple(filter(None, said))
    return {
        Halt.PAUSED: ("PAUSED",), Halt.SKIPPED: ("SKIPPED",), Halt.HELD: ("HELD",), Halt.PART_PLAYED: ("READY",),
    }.get(host.halt, ())  # fmt: skip


def _called(place: Place, shot: str) -> str:
    name = shot.upper()
    return name if len(name) <= LONGEST_WORD and can_draw(name) else f"BALL {place.number}"


def _by_hand(words_before: str, covered: Sequence[Place]) -> list[str]:
    return [words_before + covered[0].by_hand] if covered and covered[0].by_hand else []


def in_words(shelf: RunShelf, place: Place, shot: str) -> list[str]:
    """The next ball as its coach wrote it, and the line of its block."""
    block = shelf.blocks[place.block]
    label = shelf.on_rung(place, shot)
    rung = f" - on {visible(label)}" if label else ""
    also = hit_if((*shelf.hit_if.get(shelf.shots[shot].variation, ()), *block.hit_if))
    return [
        ball_words(shelf.shots[shot]),
        *filter(None, [visible(also)]),
        visible(" ".join(block.words.split())) + rung,
    ]


def ball_words(shot: Shot) -> str:
    told: Mapping[str, str] = shot.words
    keys = ("side", "depth", "height", "height over net", "pace", "time", "spin")
    return visible(f"{shot.id}: " + ", ".join(told[key] for key in keys if key in told))


def summary(shelf: RunShelf, covered: tuple[Place, ...]) -> str:
    """Number of balls, top speed and first direction of the next arming."""
    if not covered:
        return ""
    speeds = [shelf.shots[shot].launch.speed_mps for place in covered for shot in place.shots]
    aside = shelf.shots[covered[0].shots[0]].launch.azimuth_deg
    where = (
        "straight ahead"
        if abs(aside) < 0.05
        else f"{abs(aside):.1f} deg to the machine's {'right' if aside > 0 else 'left'}"
    )
    return (
        f"{plural(len(covered), 'ball')}, {covered[0].number} to {covered[-1].number}; "
        f"up to {number(max(speeds) * 3.6, 0)} km/h; "
        f"the first goes {where}"
    )


def farewell(ending: Ending, machine_switch: str) -> list[str]:
    """What is known at the end, and what is not."""
    lines = [ending.why + "."]
    if ending.stopped:
        lines.append("The machine is stopped and said so.")
    elif ending.stopped is False:
        lines.append(f"Stop {machine_switch}.")
    if ending.said:
        lines.append(ending.said)
    lines.append(f"Last ball surely thrown: {ending.last_gone or 'none'}.")
    if ending.unknown is not None:
        lines.append(f"Ball {ending.unknown}: unknown, counts as thrown.")
    return lines
