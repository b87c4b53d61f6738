"""Which letter stands for which ball, on the sheet, in pictures and in what a check prints."""

from collections.abc import Collection, Mapping
from typing import NamedTuple

ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, which look like figures."""


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
    player: str | None = None
    origin_m: tuple[float, ...] = ()
    """From where it is fed."""


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


def _letter(index: int) -> str:
    """A to Z, then AA, AB and so on."""
    head, tail = divmod(index, len(ALPHABET))
    return (_letter(head - 1) if head else "") + ALPHABET[tail]


def _alike(one: Fed, other: Fed) -> bool:
    """Whether a person feeds both in the same way, except for a step or two in where they land.

    The tolerances are about what a feeder repeats (common practice, no source).
    """
    a, b = one.landing_x_m, other.landing_x_m
    theirs = one.variation, one.player, one.origin_m
    if (a is None) != (b is None) or theirs != (other.variation, other.player, other.origin_m):
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
