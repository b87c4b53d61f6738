"""What to think of a ball: what each of its shares says, in a word and with a sign, for page and terminal alike.

What asks for care is what a check warns of: more than one ball in ten in the net, or of those that pass outside the
zone, less than half in it with balls of another make, fewer than one good reply in ten; and of balls on the full that a
person feeds what a check notes. Where the script accepts that warning, it is accepted. From where on a ball is good is
our own choice.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from ...compiler.model.enough import HALF, MOST, SELDOM, enough, enough_in_zone
from ...compiler.model.plan import Plan, Shot
from ...grammar.units import of_ten
from . import band

Word = Literal["care", "accepted", "fair", "good", "not known"]
SIGNS: dict[Word, str] = {"care": "▲", "accepted": "∆", "fair": "◆", "good": "●", "not known": "○"}
"""Shapes that differ without colour."""
PLAIN: dict[Word, str] = {"care": "!", "accepted": "^", "fair": "~", "good": "+", "not known": "?"}
"""For a terminal that lacks the shapes."""
LOOK: tuple[Word, ...] = ("care", "accepted", "fair")
"""What is told in front of a ball where there is room for little."""
_ORDER: tuple[Word, ...] = ("care", "accepted", "fair", "not known", "good")
_CODES = {
    "over the net": ("net-often",), "in its zone": ("zone-small",),
    "comes to its place": ("zone-small", "height-varies"),  # on the full: its side, and its height there
    "its limits": ("bound-often",), "good replies": ("reply-unlikely",),
}  # fmt: skip
"""The codes of the warnings about a share."""
NET, LEAST, REPLIES = (MOST, 0.975), (HALF, 0.75), (SELDOM, 0.50)
"""Below the first a share asks for care, as a check warns of it; from the second on it is good. LEAST: in the zone with
balls of another make."""


@dataclass(frozen=True, slots=True)
class Judgement:
    word: Word
    label: str
    text: str


def judged(plan: Plan, shot: Shot) -> tuple[Judgement, ...]:
    """What asks for care comes first."""
    known, seen = shot.spread, shot.predicted
    found = []
    if seen.net_clearance_m is not None:
        share = None if known is None else known.share_over_net
        text = f"{seen.net_clearance_m:.2f} m" + ("" if share is None else f", {share:.0%} pass{_under(share)}")
        found.append(Judgement(_word(share, NET), "over the net", text))
    zone: Word = "not known"
    inside = "not computed"
    if known is not None:
        share, least = known.share_in_zone, known.share_in_zone_least
        zone = _word(least, LEAST) if enough_in_zone(share, least, known.share_over_net) else "care"
        inside = band.in_zone([shot])
        if zone == "care":
            inside += f", under {HALF:.0%} with other balls" if least < HALF else _under(share)
    where = "in its zone" if seen.landing_m is not None else "comes to its place"
    found.append(Judgement(zone, where, inside))
    if shot.limits:
        kept = [(limit.share_kept, limit.share_kept_least) for limit in shot.limits]
        found.append(Judgement(min((_kept(*one) for one in kept), key=_ORDER.index), "its limits", _limits(shot)))
    if shot.reply is not None:
        share = shot.reply.share_good
        found.append(Judgement(_word(share, REPLIES), "good replies", f"{of_ten(share)} of ten"))
    found = [
        replace(one, word="accepted")
        if one.word == "care" and any(code in shot.accepted for code in _CODES[one.label])
        else one
        for one in found
    ]
    told = {code for one in found if one.word == "accepted" for code in _CODES[one.label]}
    rest = [(code, title) for code, title in shot.accepted.items() if code not in told]
    found += [Judgement("accepted", _in_a_line(title), f"({code})") for code, title in rest]
    return tuple(sorted(found, key=lambda one: _ORDER.index(one.word)))


def accepted(plan: Plan) -> dict[str, list[str]]:
    """What the script accepts, in words, with the shots of which it does."""
    found: dict[str, list[str]] = {}
    for shot in plan.shots:
        for title in shot.accepted.values():
            found.setdefault(_in_a_line(title), []).append(shot.id)
    return found


def _in_a_line(title: str) -> str:
    return f"{title[:1].lower()}{title[1:]}"


def _under(share: float) -> str:
    """What would be enough, beside a share that is not."""
    return "" if enough(share) else f", under {MOST:.0%}"


def _kept(share: float | None, least: float | None) -> Word:
    return "not known" if least is None else "care" if least < HALF else _word(share, NET)


def _limits(shot: Shot) -> str:
    known = [limit.share_kept for limit in shot.limits if limit.share_kept is not None]
    return f"kept by {min(known):.0%}" if known else "not computed"


def by_word(plan: Plan, shot: Shot) -> list[tuple[Word, str]]:
    """The judgements in one line for each word."""
    found: dict[Word, list[str]] = {}
    for one in judged(plan, shot):
        found.setdefault(one.word, []).append(f"{one.label} {one.text}")
    return [(word, "; ".join(texts)) for word, texts in found.items()]


def worst(plan: Plan, shot: Shot) -> Word:
    """The word for the ball as a whole."""
    return first(one.word for one in judged(plan, shot))


def first(words: Iterable[Word]) -> Word:
    """Of several words the one that asks most for a look."""
    return min(words, key=_ORDER.index)


def _word(share: float | None, bounds: tuple[float, float]) -> Word:
    if share is None:
        return "not known"
    return "care" if round(share, 2) < bounds[0] else "fair" if share < bounds[1] else "good"
