"""How far a plan's figures may be off as balls differ, in words: the share in the zone, and where a ball comes to."""

import re
from collections.abc import Sequence
from math import ceil

from ...compiler.model.plan import Shot

NOWHERE = "less than 0.1 m off"
"""Of the ends of balls that land where the plan says."""


def in_zone(shots: Sequence[Shot]) -> str:
    """Their shares in the zone, and behind that from which to which these go with the drag of other balls; "" where a
    share is not computed."""
    known = [shot.spread for shot in shots if shot.spread is not None]
    if len(known) < len(shots):
        return ""
    told = _span([one.share_in_zone for one in known])
    least = min(one.share_in_zone_least for one in known)
    band = _span([least, *(one.share_in_zone_most for one in known)])
    return told if band == told else f"{told} ({band})"


def limits(shots: Sequence[Shot]) -> list[str]:
    """What the script allows at most and at least, and how many of their balls keep it: those that differ most from
    that first."""
    return [f"{words}: {_told(found)}" for words, found in _kept(shots)]


def _kept(shots: Sequence[Shot]) -> list[tuple[str, list[float]]]:
    """Each limit with the shares of their balls that keep it, those that differ most first."""
    shares: dict[str, list[float]] = {}
    for shot in shots:
        for limit in shot.limits:
            known = [limit.share_kept, limit.share_kept_least]
            mine = shares.setdefault(" and ".join(limit.words), [])
            mine += [share for share in known if share is not None]
    return sorted(shares.items(), key=lambda item: min(item[1], default=0.0))


def _told(shares: list[float]) -> str:
    return f"kept by {_span(shares)} of the balls" if shares else "not computed"


UNSEEN = re.compile(r"\b(?:pace|spin|time)\b")
"""What nobody beside a court can judge without an instrument."""
ON_ITS_WAY = re.compile(r"\bheight (?=.*(?:over (?:the )?net|at (?:(?:the|its) )?top))")
"""What whoever is at a machine's switch sees no better than the machine keeps it."""


def watched(shots: Sequence[Shot], machine: bool) -> list[str]:
    """The same for whoever feeds: at how many balls in ten that break a limit to stop, where that can be seen. The
    rest a `machine` keeps, not whoever is at its switch."""
    seen: list[str] = []
    unseen: list[str] = []
    for words, shares in _kept(shots):
        asked = words.replace("limit ", "").replace("nothing ", "no ball met ")
        stop = ceil((100 - round(min(shares, default=0.0) * 100)) / 10) + 1
        if not shares or stop > 10 or UNSEEN.search(asked) or (machine and ON_ITS_WAY.search(asked)):
            kept = _told(shares)
            keeps = f"the machine keeps {asked} in {kept.removeprefix('kept by ')}"
            unseen.append(keeps if machine and shares else f"{asked}: {kept}")
        else:
            asked = ON_ITS_WAY.sub("the fed ball's height ", asked)
            against = "" if seen else " that break it STOP, tell the coach"
            seen.append(f"{asked}: at {f'{stop} in ten' if stop > 1 else 'the first'}{against}")
    return [*seen, *unseen]


def _span(shares: list[float]) -> str:
    low, high = f"{min(shares) * 100:.0f}", f"{max(shares) * 100:.0f}"
    return f"{high}%" if low == high else f"{low}-{high}%"


def heights(shots: Sequence[Shot]) -> str:
    """How much lower and higher balls with more or less drag are met after their bounce than the plan says, at most of
    all `shots`, and whether one of them is not met then; "" where that is less than 5 cm, or not computed."""
    off, lost = [0.0], False
    for shot in shots:
        if shot.spread is not None and shot.predicted.landing_m is not None:
            told = (shot.spread.least_drag_contact_m, shot.spread.most_drag_contact_m)
            off += [height - shot.predicted.contact_m[2] for height in told if height is not None]
            lost = lost or None in told
    some = _both(-min(off), max(off), "lower", "higher", 2, 0.05)
    return f"{some or 'as high'}, or not after their bounce" if lost else some


def _both(less: float, more: float, lesser: str, greater: str, digits: int, worth: float) -> str:
    """How far off to each side, m; a side by less than `worth` has no words."""
    sides = [(value, word) for value, word in ((less, lesser), (more, greater)) if value >= worth]
    told = " to ".join(f"{value:.{digits}f} m {word}" for value, word in sides)
    return f"up to {told}" if len(sides) == 1 else told


def ends(shots: Sequence[Shot]) -> str:
    """How much shorter and longer balls with more or less drag land than the plan says, or on the full how much lower
    and higher they come, at most of all `shots`."""
    told = []
    for full, (less, more) in ((False, ("shorter", "longer")), (True, ("lower", "higher"))):
        off = [0.0]
        for shot in shots:
            if shot.spread is not None and (shot.predicted.landing_m is None) == full:
                at = shot.predicted.contact_m[2] if shot.predicted.landing_m is None else shot.predicted.landing_m[1]
                off += [end[1] - at for end in (shot.spread.least_drag_m, shot.spread.most_drag_m) if end is not None]
        if both := _both(-min(off), max(off), less, more, 1, 0.1):
            told.append(both)
    return ", on the full ".join(told) or NOWHERE
