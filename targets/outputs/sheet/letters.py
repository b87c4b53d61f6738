"""Letters for the feeds of a sheet: one for each kind of ball that a feeder can tell from the others."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ....compiler.model.lettering import Fed, lettered
from ....compiler.model.plan import Plan, Shot

FULL_M = 0.5
"""How far, m, one place reaches to each side of a contact on the full (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Letters:
    of: dict[str, str]
    """Shot to letter; the same letter for the same ball through the whole sheet."""
    _shots: dict[str, Shot]
    _families: dict[str, list[str]] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        families: dict[str, list[str]] = {}
        for letter in dict.fromkeys(self.of.values()):
            families.setdefault(letter.rstrip("0123456789"), []).append(letter)
        object.__setattr__(self, "_families", families)

    def used(self, among: Iterable[str]) -> tuple[str, ...]:
        """Letters of some shots, in the order of the sheet."""
        wanted = {self.of[shot] for shot in among}
        return tuple(letter for letter in dict.fromkeys(self.of.values()) if letter in wanted)

    def told(self, among: Iterable[str]) -> str:
        """The same in words."""
        return listed(self.used(among))

    def either(self, among: Iterable[str]) -> str:
        """The same where any of them may come: A1 or A2, one of A1–A4."""
        used = self.used(among)
        return " or ".join(used) if len(used) < 3 else f"one of {listed(used)}"

    def rung(self, shots: Sequence[str]) -> str:
        """What a rung of a ladder is called: A where A1 and A2 come on it in turn."""
        used = self.used(shots)
        return used[0] if len(used) == 1 else used[0].rstrip("0123456789")

    def player(self, shot: str) -> str:
        """Whose it is; empty of a player without a name."""
        return self._shots[shot].player or ""

    def interval_s(self, shot: str) -> float:
        """The time from the ball before."""
        return self._shots[shot].interval_s

    def short(self, used: Iterable[str]) -> str:
        """Some letters, with A in place of A1–A4 if these are all that there are of A, and A–C in place of A, B, C."""
        wanted = set(used)
        runs: list[list[str]] = []
        goes_on = False
        for head, family in self._families.items():
            found = [letter for letter in family if letter in wanted]
            told = head if found == family else listed(found)
            if told == head and goes_on:
                runs[-1].append(told)
            elif told:
                runs.append([told])
            goes_on = told == head
        return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)

    def shots(self, letter: str, among: list[str]) -> list[Shot]:
        return [self._shots[shot] for shot in dict.fromkeys(among) if self.of[shot] == letter]


def letters(plan: Plan) -> Letters:
    """A letter for each feed, with numbers if the shots of a feed differ, as in a family over heights or on the rungs
    of a ladder."""
    ladders = [block.ladder for block in plan.blocks if block.ladder]
    rungs = {rung for ladder in ladders if ladder.quantity for rung in ladder.shots}
    fed = {shot.id: _fed(shot) for shot in plan.shots}
    return Letters(lettered(fed, rungs, plan.feeder.kind == "person"), {shot.id: shot for shot in plan.shots})


def _fed(shot: Shot) -> Fed:
    flown, launch = shot.predicted, shot.launch
    return Fed(
        shot.feed, shot.variation, None if flown.landing_m is None else flown.landing_m[0], flown.contact_m[2],
        shot.stance_y_m, launch.speed_mps, (launch.topspin_rpm, launch.sidespin_rpm), shot.interval_s, shot.player,
        launch.origin_m,
    )  # fmt: skip


def of(letters: str, player: str | None) -> str:
    """Letters with the name of the player whose balls they are, if there are several players."""
    return f"{letters} · {player}" if player else letters


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
