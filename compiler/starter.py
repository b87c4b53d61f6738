"""A first script from a few answers: one job for the player, two balls that call for it, ten minutes of them."""

from dataclasses import dataclass
from string import Template
from typing import NamedTuple


class Job(NamedTuple):
    """A variation and the two balls that call for it, by how they are fed."""

    variation: str
    balls: dict[str, tuple[str, str]]


MACHINES, PERSONS = ("club", "academy", "dials"), ("basket", "racket")
HANDS = ("right", "left")
STATURES = (1.0, 2.3)

_ACROSS = """\
    side      backhand wing
    depth     $depth
    stance    $stance
    $flight
    spin      $spin
    interval  6 s
"""


def _ball(depth: str, stance: str, flight: str, spin: str) -> str:
    return Template(_ACROSS).substitute(depth=depth, stance=stance, flight=flight, spin=spin)


_WIDE = "    side      forehand wing\n"
_BY_HAND = "time      1.3 s to contact"
JOBS = {
    "rally": Job(
        'variation rally "deep and clear of the net"\n'
        "    when      nobody is ahead in the point\n"
        "    reply     deep, at least 1 m over net, topspin 1200 rpm\n"
        "    goal      8 in a row\n",
        {
            "across": (_ball("1 to 4 m inside baseline", "2 m behind baseline", "height    1 m over net",
                             "topspin 600 rpm"), _WIDE),
            "hand": (_ball("1.5 to 4 m behind service line", "1 m inside baseline", _BY_HAND, "flat"), _WIDE),
        },
    ),
    "lift": Job(
        'variation lift "high and deep, to win back time"\n'
        "    when      pushed behind the baseline and late\n"
        "    reply     deep, at least 2.5 m over net, topspin 1500 rpm\n"
        "    goal      8 in a row\n",
        {
            "across": (_ball("1 to 4 m inside baseline", "3.5 m behind baseline", "height    1.8 m over net",
                             "topspin 1200 rpm"), _WIDE),
            "hand": (_ball("2 to 5 m behind service line", "0.5 m behind baseline", "time      1.6 s to contact",
                           "flat"), _WIDE),
        },
    ),
    "early": Job(
        'variation early "taken high and early, deep"\n'
        "    when      the ball sits up above the shoulder\n"
        "    reply     deep, at least 0.6 m over net, topspin 900 rpm, 80 km/h\n"
        "    goal      6 in a row\n",
        {
            "across": (_ball("1 to 4 m inside baseline", "0.5 m behind baseline", "height    1.35 m, rising",
                             "topspin 900 rpm"), _WIDE),
        },
    ),
    "drag": Job(
        'variation drag "short and low, to pull the other side forward"\n'
        "    when      the ball is slow and the other side stands deep\n"
        "    reply     short, at least 0.3 m over net, backspin 900 rpm\n"
        "    goal      6 in a row\n",
        {
            "across": (_ball("midcourt", "1 m inside baseline", "height    1.1 m over net", "backspin 300 rpm"), _WIDE),
            "hand": (_ball("1 to 3 m behind service line", "2 m inside baseline", _BY_HAND, "flat"), _WIDE),
        },
    ),
    "block": Job(
        'variation block "a short swing, back deep"\n'
        "    when      the ball comes too fast for a full swing\n"
        "    reply     deep, at least 0.5 m over net, flat\n"
        "    goal      8 in a row\n",
        {
            "across": (_ball("1 to 4 m inside baseline", "1 m behind baseline", "pace      $pace km/h", "flat"), _WIDE),
        },
    ),
}  # fmt: skip
FAST = {"club": 96, "academy": 100, "dials": 96, "racket": 85}  # km/h: within what each gives
PLACES = {
    "machine": "machine $name, on centre, on baseline, behind a screen",
    "racket": "person racket, on centre, 1 m behind service line, behind a screen",
    "basket": "person basket, on the player's side, 3 m from net, 1 m left of centre, behind a screen",
}
NAMES = {"rally": ("steady", "steady-wide"), "lift": ("kicker", "kicker-wide"), "early": ("sitter", "sitter-wide"),
         "drag": ("floater", "floater-wide"), "block": ("rocket", "rocket-wide")}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Answers:
    hand: str = "right"
    stature: float | None = None
    """Metres; None where it is not said."""
    feeder: str = "club"
    job: str = "rally"


def jobs_for(feeder: str) -> tuple[str, ...]:
    """The jobs whose balls this feeder can give."""
    return tuple(name for name, job in JOBS.items() if _way(feeder) in job.balls)


def first_script(answers: Answers) -> str:
    """The script, in canonical form; it compiles without a finding."""
    from .resolve.head import YOUNGEST_ADULT_STATURE  # slow to load, and completion needs the names above only

    job, (name, wide) = JOBS[answers.job], NAMES[answers.job]
    ball, other = job.balls[_way(answers.feeder)]
    ball = Template(ball).safe_substitute(pace=FAST.get(answers.feeder))
    place = Template(PLACES.get(answers.feeder, PLACES["machine"])).substitute(name=answers.feeder)
    adult = answers.stature is not None and answers.stature >= YOUNGEST_ADULT_STATURE
    tall = f", {answers.stature:.2f} m tall" if adult else ""
    child = "" if adult or answers.stature is None else (
        "    # Heights such as waist are an adult's; a child's are measured and written in a body line.\n"
    )  # fmt: skip
    return (
        "# One job for the player, two balls that call for it. Change one thing at a time and check again.\n"
        f'\nprogram "First script"\n    surface   hard\n    player    {answers.hand}-handed{tall}\n{child}'
        f"    feeder    {place}\n"
        '    note      "Nobody stands in front of the feeder; everybody on court may call stop."\n'
        f"\n{job.variation}"
        f"\nfeed {name} aims {answers.job}\n{ball}\nfeed {wide} aims {answers.job}, like {name}\n{other}"
        f'\nsession "Ten minutes", lasts 10 min\n{_session(answers.feeder, name, wide)}'
    )


def _way(feeder: str) -> str:
    return "hand" if feeder == "basket" else "across"


def _session(feeder: str, name: str, wide: str) -> str:
    if feeder == "dials":  # set by hand, so nothing changes within a block
        return (
            f"    2 min     {name}\n    rest      1 min\n    2 min     {wide}\n    collect   2 min\n"
            f"    2 min     {name}\n    rest      1 min\n"
        )
    return (
        f"    1 min     {name}\n    3 min     cycle {name}, {wide}\n    collect   2 min\n"
        f"    4 min     mix {name}, {wide}, at most 2 alike\n"
    )
