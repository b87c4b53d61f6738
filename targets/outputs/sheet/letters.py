"""Letters for the feeds of a sheet: one for each kind of ball that a feeder can tell from the others."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:  # slow to load, and a check has no plan
    from ....compiler.model.plan import Plan, Shot

ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which look like figures."""
FULL_M = 0.5
"""How far, m, one place reaches to each side of a contact on the full (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Letters:
    of: dict[str, str]
    """Shot to letter; the same letter for the same ball through the whole sheet."""
    _shots: "dict[str, Shot]"

    def used(self, among: Iterable[str]) -> tuple[str, ...]:
        """Letters of some shots, in the order of the sheet."""
        wanted = {self.of[shot] for shot in among}
        return tuple(letter for letter in dict.fromkeys(self.of.values()) if letter in wanted)

    def told(self, among: Iterable[str]) -> str:
        """The same in words."""
        return listed(self.used(among))

    def shots(self, letter: str, among: list[str]) -> "list[Shot]":
        return [self._shots[shot] for shot in dict.fromkeys(among) if self.of[shot] == letter]


class Fed(NamedTuple):
    """What of a ball decides its letter: what a person feeds alike has the same one."""

    feed: str
    variation: str | None
    landing_x_m: float | None
    contact_m: float
    """Its height."""
    stance_y_m: float
    speed_mps: float
    spins_rpm: tuple[float, float]
    interval_s: float


def letters(plan: "Plan") -> Letters:
    """A letter for each feed, with numbers if the shots of a feed differ, as in a family over heights or on the rungs
    of a ladder."""
    rungs = {rung for block in plan.blocks if block.ladder for rung in block.ladder.rungs}
    fed = {shot.id: _fed(shot) for shot in plan.shots}
    return Letters(lettered(fed, rungs, plan.feeder.kind == "person"), {shot.id: shot for shot in plan.shots})


def lettered(balls: Mapping[str, Fed], rungs: Collection[str], by_person: bool) -> dict[str, str]:
    """The letter of each ball."""
    feeds: dict[str, list[list[str]]] = {}
    for ball, fed in balls.items():
        groups = feeds.setdefault(fed.feed, [])
        group = None
        if by_person and ball not in rungs:
            group = next((g for g in groups if g[0] not in rungs and _alike(balls[g[0]], fed)), None)
        if group is None:
            groups.append([ball])
        else:
            group.append(ball)
    of: dict[str, str] = {}
    for index, groups in enumerate(feeds.values()):
        for place, group in enumerate(groups, start=1):
            for ball in group:
                of[ball] = _letter(index) + (str(place) if len(groups) > 1 else "")
    return of


def _fed(shot: "Shot") -> Fed:
    flown, launch = shot.predicted, shot.launch
    return Fed(
        shot.feed, shot.variation, None if flown.landing_m is None else flown.landing_m[0], flown.contact_m[2],
        shot.stance_y_m, launch.speed_mps, (launch.topspin_rpm, launch.sidespin_rpm), shot.interval_s,
    )  # fmt: skip


def listed(used: Sequence[str]) -> str:
    """Letters as text; three or more in a row become A1–A3."""
    runs: list[list[str]] = []
    for letter in used:
        if runs and letter == _after(runs[-1][-1]):
            runs[-1].append(letter)
        else:
            runs.append([letter])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def _after(letter: str) -> str:
    """A2 after A1; nothing after a letter without a number."""
    head = letter.rstrip("0123456789")
    return f"{head}{int(letter[len(head) :]) + 1}" if head != letter else ""


def places(shots: "Sequence[Shot]") -> "list[list[Shot]]":
    """Balls of one letter, grouped by the places across the court that they go to, from the feeder's left. Separate
    zones are separate places."""
    result: list[list[Shot]] = []
    right = 0.0
    for low, high, shot in sorted(((*_across(shot), shot) for shot in shots), key=lambda entry: entry[:2]):
        if result and low <= right:
            result[-1].append(shot)
        else:
            result.append([shot])
        right = max(right, high) if len(result[-1]) > 1 else high
    return result


def _across(shot: "Shot") -> tuple[float, float]:
    x = shot.predicted.contact_m[0]
    return shot.zone_m[:2] if shot.zone_m else (x - FULL_M, x + FULL_M)


def _letter(index: int) -> str:
    """A to Z, then AA, AB and so on."""
    head, tail = divmod(index, len(ALPHABET))
    return (_letter(head - 1) if head else "") + ALPHABET[tail]


def _alike(one: Fed, other: Fed) -> bool:
    """Whether a person feeds both in the same way, except for a step or two in where they land.

    The tolerances are about what a feeder repeats (common practice, no source).
    """
    a, b = one.landing_x_m, other.landing_x_m
    if (a is None) != (b is None) or one.variation != other.variation:
        return False
    near = a is None or b is None or abs(a - b) <= 2.5
    return (
        near
        and abs(one.contact_m - other.contact_m) <= 0.15
        and abs(one.stance_y_m - other.stance_y_m) <= 0.5
        and abs(one.speed_mps - other.speed_mps) <= 2.5
        and all(abs(x - y) <= 200 for x, y in zip(one.spins_rpm, other.spins_rpm, strict=True))
        and one.interval_s == other.interval_s
    )
