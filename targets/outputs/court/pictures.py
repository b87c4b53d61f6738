"""Which pictures a plan needs: one for each variation, player and place of the feeder, with at most six labels."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil, dist

from ....compiler.model.plan import Plan, Shot, VariationRecord
from ..sheet.letters import Letters, listed, places

MOST = 6
"""Letters in a picture; with more of them the letters of one feed share a label, such as A1–A4."""

ALIKE_M = 0.4
"""Marks nearer to each other than this look like one: 2.2 mm, the width of a dot (our own choice)."""

BROADEST = len("A1–A4")
"""Characters of a label for several letters: a broader one stands farther off than theirs would (our own choice)."""


@dataclass(frozen=True, slots=True)
class Tag:
    """One label and the shots it names; all of them go to one place, or to one after the other along a line."""

    text: str
    shots: tuple[Shot, ...]
    short: str = ""
    """The same with A in place of A1–A4 if these are all that there are of A; empty if it is no shorter."""

    @property
    def spots(self) -> list[tuple[float, float]]:
        """Where the balls land, m, or on the full where they are met; each once."""
        return list(dict.fromkeys(spot(shot) for shot in self.shots))


@dataclass(frozen=True, slots=True)
class CourtPicture:
    variation: VariationRecord | None
    letters: tuple[str, ...]
    tags: tuple[Tag, ...]

    @property
    def player(self) -> str | None:
        """Whose balls these are, if the player has a name."""
        return self.tags[0].shots[0].player

    @property
    def fed_from(self) -> int:
        """From which place of the feeder they come."""
        return self.tags[0].shots[0].fed_from

    @property
    def shots(self) -> list[Shot]:
        return list({shot.id: shot for tag in self.tags for shot in tag.shots}.values())


def spot(shot: Shot) -> tuple[float, float]:
    x, y = shot.predicted.landing_m or shot.predicted.contact_m[:2]
    return x, y


def pictures(plan: Plan, named: Letters, among: Iterable[str] | None = None) -> tuple[CourtPicture, ...]:
    """In the order of the letters; `among` leaves out all other shots."""
    wanted = set(named.of if among is None else among)
    variations = {variation.id: variation for variation in plan.variations}
    users: dict[tuple[str, str | None, int], dict[str, list[Shot]]] = {}
    for shot in sorted(plan.shots, key=lambda shot: list(named.of.values()).index(named.of[shot.id])):
        if shot.id in wanted:
            of = shot.variation or "", shot.player, shot.fed_from
            users.setdefault(of, {}).setdefault(named.of[shot.id], []).append(shot)
    result = []
    for (name, *_), lettered in users.items():
        for part in _parts(lettered):
            tags = [tag for letters in part for tag in _tags({letter: lettered[letter] for letter in letters})]
            used = tuple(letter for letters in part for letter in letters)
            result.append(CourtPicture(variations.get(name), used, tuple(_shorter(tag, named) for tag in tags)))
    return tuple(result)


def joined(picture: CourtPicture, named: Letters) -> CourtPicture:
    """The picture with one label for balls whose marks look like one: several about one dot would not say which is
    whose."""
    groups: list[list[Tag]] = []
    for tag in picture.tags:
        group = next((one for one in groups if _alike([*one, tag])), None)
        if group is None:
            groups.append([tag])
        else:
            group.append(tag)
    tags: list[Tag] = []
    for group in groups:
        shots = tuple(shot for tag in group for shot in tag.shots)
        text = named.short(named.of[shot.id] for shot in shots)
        tags += [Tag(text, shots)] if len(group) > 1 and len(text) <= BROADEST else group
    order = [shot.id for tag in picture.tags for shot in tag.shots]
    return replace(picture, tags=tuple(sorted(tags, key=lambda tag: order.index(tag.shots[0].id))))


def _alike(tags: Sequence[Tag]) -> bool:
    spots = [at for tag in tags for at in tag.spots]
    full = {shot.predicted.landing_m is None for tag in tags for shot in tag.shots}
    return len(full) == 1 and all(dist(one, two) < ALIKE_M for one in spots for two in spots)


def _parts(lettered: dict[str, list[Shot]]) -> list[list[tuple[str, ...]]]:
    """The letters of each picture, those of one label together."""
    labels: list[tuple[str, ...]] = [(letter,) for letter in lettered]
    if _count(lettered, labels) > MOST:
        feeds: dict[str, list[str]] = {}
        for letter, shots in lettered.items():
            feeds.setdefault(shots[0].feed, []).append(letter)
        labels = [tuple(letters) for letters in feeds.values()]
    number = ceil(_count(lettered, labels) / MOST)
    parts: list[list[tuple[str, ...]]] = [[]]
    for label in labels:
        if parts[-1] and _count(lettered, [*parts[-1], label]) > ceil(_count(lettered, labels) / number):
            parts.append([])
        parts[-1].append(label)
    return parts


def _count(lettered: dict[str, list[Shot]], labels: Sequence[tuple[str, ...]]) -> int:
    return sum(len(_tags({letter: lettered[letter] for letter in label})) for label in labels)


def _tags(lettered: dict[str, list[Shot]]) -> list[Tag]:
    """A label for each place across the court that balls of these letters go to."""
    of = {shot.id: letter for letter, shots in lettered.items() for shot in shots}
    result = []
    for group in places([shot for shots in lettered.values() for shot in shots]):
        inside = sorted(group, key=lambda shot: list(of).index(shot.id))
        result.append(Tag(listed(tuple(dict.fromkeys(of[shot.id] for shot in inside))), tuple(inside)))
    return result


def _shorter(tag: Tag, named: Letters) -> Tag:
    short = named.short(named.of[shot.id] for shot in tag.shots)
    return replace(tag, short=short if len(short) < len(tag.text) else "")
