"""What a script may begin with: an included program, by what it trains, or a first practice with its blanks filled; and
the forms that go on from there."""

from collections.abc import Callable
from typing import Any, TypeVar

from ...compiler.scripts import Refusal
from ...compiler.service.blanks import (
    BallBlanks,
    BlankProblem,
    PartBlanks,
    PointBlanks,
    VariationBlanks,
    ball_written,
    part_written,
    point_written,
    variation_written,
)
from ...compiler.service.script import Script
from ...compiler.starter import (
    COURTS,
    HANDS,
    MACHINES,
    PERSONS,
    STATURES,
    VARIATIONS,
    Answers,
    first_script,
    variations_for,
)
from ...grammar.edits import Edit
from ...grammar.frozen import replace
from ...programs import shipped
from ...programs.shelf import shelf
from ..machine.feeders import ProfileShelf

Blanks = TypeVar("Blanks", VariationBlanks, BallBlanks, PointBlanks, PartBlanks)
FORMS: dict[str, Callable[[Script, object], tuple[Edit, ...]]] = {
    "variation": lambda script, said: variation_written(script, _filled(VariationBlanks("", ""), said)),
    "ball": lambda script, said: ball_written(script, _filled(BallBlanks(""), said)),
    "point": lambda script, said: point_written(script, _filled(PointBlanks(""), said)),
    "part": lambda script, said: part_written(script, _filled(PartBlanks(), said)),
}


def _filled(empty: Blanks, said: object) -> Blanks:
    """The blanks with what a page said, each of the kind that it has when empty."""
    values: dict[str, Any] = {}
    for blank, held in zip(empty._fields, empty.values(), strict=True):
        value = getattr(said, blank, held)
        if isinstance(held, float) and isinstance(value, int) and not isinstance(value, bool):
            value = float(value)
        if isinstance(held, tuple) and isinstance(value, list) and all(isinstance(one, str) for one in value):
            value = tuple(value)
        if type(value) is not type(held):
            raise BlankProblem(f"{blank} is not filled")
        values[blank] = value
    return replace(empty, **values)


def beginnings() -> dict[str, Any]:
    """Programs that are practices, with level, subject and length; and what each blank may hold."""
    programs = [
        {"name": known["name"], "about": f"{known['about']} {known['for']}".strip(), "level": known["level"],
         "minutes": known["minutes"]}
        for known in shelf()["programs"] if known["level"]
    ]  # fmt: skip
    low, high = STATURES
    feeders = {feeder: list(variations_for(feeder)) for feeder in (*MACHINES, *PERSONS)}
    loaded = {feeder: profile for feeder in feeders if (profile := ProfileShelf(None).load(feeder))}
    titles = {one: VARIATIONS[one].variation.split('"')[1] for one in VARIATIONS}
    return {
        "programs": programs, "hands": list(HANDS), "courts": list(COURTS), "stature": [low, high],
        "feeders": feeders, "said": titles | {feeder: profile.title for feeder, profile in loaded.items()},
    }  # fmt: skip


def begun(
    program: str | None, hand: str, stature: float | None, feeder: str, variation: str, title: str, court: str
) -> str:
    """The text of an included program, or of a first practice; Refusal if a blank holds what it may not."""
    if program is not None:
        text = shipped().get(f"{program}.feed")
        if text is None:
            raise Refusal(f"there is no included program {program}")
        return text
    if hand not in HANDS or feeder not in (*MACHINES, *PERSONS) or variation not in ("", *variations_for(feeder)):
        raise Refusal("no first practice has these words in its blanks")
    if court not in COURTS or (variation and court != "doubles"):
        raise Refusal("no first practice has this court")
    title = " ".join(title.split())
    if not title or '"' in title or not title.isprintable():
        raise Refusal('a practice is called by a few words, without "')
    low, high = STATURES
    if stature is not None and not low <= stature <= high:
        raise Refusal(f"{stature} m is no stature from {low} to {high} m")
    return first_script(Answers(hand, stature, feeder, variation, title, court))
