"""Letters for the feeds of a sheet: one for each kind of ball that a feeder can tell from the others."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ....compiler.model.plan import Plan, Shot

ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which look like figures."""
FULL_M = 0.5
"""How far, m, one place reaches to each side of a contact on the full (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Letters:
    of: dict[str, str]
    """Shot to letter; the same letter for the same ball through the whole sheet."""
    _shots: dict[str, Shot]

    def used(self, among: Iterable[str]) -> tuple[str, ...]:
        """Letters of some shots, in the order of the sheet."""
        wanted = {self.of[shot] for shot in among}
        return tuple(letter for letter in dict.fromkeys(self.of.values()) if letter in wanted)

    def told(self, among: Iterable[str]) -> str:
        """The same in words."""
        return listed(self.used(among))

    def shots(self, letter: str, among: list[str]) -> list[Shot]:
        return [self._shots[shot] for shot in dict.fromkeys(among) if self.of[shot] == letter]


def letters(plan: Plan) -> Letters:
    """A letter for each feed, with numbers if the shots of a feed differ, as in a family over heights or on the rungs
    of a ladder."""
    rungs = {rung for block in plan.blocks if block.ladder for rung in block.ladder.rungs}
    feeds: dict[str, list[list[Shot]]] = {}
    for shot in plan.shots:
        groups = feeds.setdefault(shot.feed, [])
        group = None
        if plan.feeder.kind == "person" and shot.id not in rungs:
            group = next((g for g in groups if g[0].id not in rungs and _alike(g[0], shot)), None)
        if group is None:
            groups.append([shot])
        else:
            group.append(shot)
    of: dict[str, str] = {}
    for index, groups in enumerate(feeds.values()):
        for place, group in enumerate(groups, start=1):
            for shot in group:
                of[shot.id] = _letter(index) + (str(place) if len(groups) > 1 else "")
    return Letters(of, {shot.id: shot for shot in plan.shots})


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


def places(shots: Sequence[Shot]) -> list[list[Shot]]:
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


def _across(shot: Shot) -> tuple[float, float]:
    x = shot.predicted.contact_m[0]
    return shot.zone_m[:2] if shot.zone_m else (x - FULL_M, x + FULL_M)


def _letter(index: int) -> str:
    """A to Z, then AA, AB and so on."""
    head, tail = divmod(index, len(ALPHABET))
    return (_letter(head - 1) if head else "") + ALPHABET[tail]


def _alike(one: Shot, other: Shot) -> bool:
    """Whether a person feeds both in the same way, except for a step or two in where they land.

    The tolerances are about what a feeder repeats (common practice, no source).
    """
    a, b = one.predicted, other.predicted
    if (a.landing_m is None) != (b.landing_m is None) or one.variation != other.variation:
        return False
    near = a.landing_m is None or b.landing_m is None or abs(a.landing_m[0] - b.landing_m[0]) <= 2.5
    return (
        near
        and abs(a.contact_m[2] - b.contact_m[2]) <= 0.15
        and abs(one.stance_y_m - other.stance_y_m) <= 0.5
        and abs(one.launch.speed_mps - other.launch.speed_mps) <= 2.5
        and abs(one.launch.topspin_rpm - other.launch.topspin_rpm) <= 200
        and abs(one.launch.sidespin_rpm - other.launch.sidespin_rpm) <= 200
        and one.interval_s == other.interval_s
    )
