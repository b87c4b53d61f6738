"""What the player is shown, as plain data; screens only draw it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from ...compiler.model.plan import Shot
from ...compiler.printable import plural, visible
from . import words
from .flow import Phase
from .places import Place, Shelf
from .run import Ending, Run

KEYS_SHOWN = {
    Phase.READY: "a  arm     n  next block     SPACE  stop and leave",
    Phase.ANSWERING: "type the four signs, then ENTER     SPACE  stop and leave",
    Phase.LIVE: "SPACE  STOP     p  pause     n  next block     h  hit     m  miss",
}


class Playing(Protocol):
    """What is shown of a host."""

    phase: Phase
    why: str
    question: str
    told: bool
    """Whether the cautions were told in full: a person has asked to arm below them."""
    shelf: Shelf
    quiet_shown: bool
    ending: Ending | None

    @property
    def run(self) -> Run: ...
    @property
    def counts(self) -> dict[str, int]: ...
    @property
    def last_gone(self) -> Place | None: ...
    def armed_places(self) -> tuple[Place, ...]: ...
    def coming(self) -> tuple[Place, str] | None: ...
    def first_in_s(self, now: float) -> float: ...


@dataclass(frozen=True, slots=True)
class Picture:
    headline: str
    seconds: int | None
    """Whole seconds to the next ball, counted down."""
    lines: tuple[str, ...]
    keys: str


def picture(host: Playing, now: float, typed: str = "") -> Picture:
    lines = [
        f"{host.run.title}: {plural(host.counts['gone'], 'ball')} thrown, {plural(host.counts['hit'], 'hit')}, "
        + plural(host.counts["miss"], "miss", "misses")
    ]
    seconds = None
    headline = {
        Phase.READY: "Ready to arm", Phase.ANSWERING: "Nobody in front? Own switch in reach?", Phase.LIVE: "Live",
    }.get(host.phase, host.phase.value.capitalize())  # fmt: skip
    if host.phase is Phase.READY:
        covered = host.armed_places()
        quiet = words.QUIET_SHOWN if host.quiet_shown else words.QUIET_NOT_SHOWN
        lines += [host.why[:1].upper() + host.why[1:] + "." if host.why else "", *words.cautions(quiet, host.told)]
        lines += _by_hand("Set by hand first: ", covered)
        lines.append(f"To arm: {summary(host.shelf, covered)}")
    elif host.phase is Phase.ANSWERING:
        lines += _by_hand("The signs also say that this is set by hand: ", host.armed_places())
        lines += [
            f"To arm, type without spaces   {host.question.upper()}",
            f"typed                         {typed.upper()}",
        ]
    elif host.phase is Phase.LIVE:
        seconds = max(0, -int(-host.first_in_s(now) // 1))
        if coming := host.coming():
            lines += [f"next: ball {coming[0].number}", *in_words(host.shelf, *coming)]
        else:
            lines.append("the last ball is on its way")
    elif host.phase is Phase.STOPPING:
        lines.append(host.why)
    return Picture(headline, seconds, tuple(line for line in lines if line), KEYS_SHOWN.get(host.phase, "SPACE  stop"))


def _by_hand(words_before: str, covered: Sequence[Place]) -> list[str]:
    return [words_before + covered[0].by_hand] if covered and covered[0].by_hand else []


def in_words(shelf: Shelf, place: Place, shot: str) -> list[str]:
    """The next ball as its coach wrote it, and the line of its block."""
    block = shelf.blocks[place.block]
    label = shelf.on_rung(place, shot)
    rung = f" - on {visible(label)}" if label else ""
    return [ball_words(shelf.shots[shot]), visible(" ".join(block.words.split())) + rung]


def ball_words(shot: Shot) -> str:
    told: Mapping[str, str] = shot.words
    keys = ("side", "depth", "height", "height over net", "pace", "time", "spin")
    return visible(f"{shot.id}: " + ", ".join(told[key] for key in keys if key in told))


def summary(shelf: Shelf, covered: tuple[Place, ...]) -> str:
    """Balls, top speed and first direction of what is about to be armed."""
    if not covered:
        return ""
    speeds = [shelf.settings[shot][0] for place in covered for shot in place.shots]
    aside = shelf.settings[covered[0].shots[0]][2] / 1000
    where = (
        "straight ahead"
        if abs(aside) < 0.05
        else f"{abs(aside):.1f} deg to the machine's {'right' if aside > 0 else 'left'}"
    )
    return (
        f"{plural(len(covered), 'ball')}, {covered[0].number} to {covered[-1].number}; "
        f"up to {max(speeds) * 0.0036:.0f} km/h; "
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
