"""What a script may begin with: an included program, by what it trains, or a first practice with its blanks filled; and
the forms that go on from there."""

from collections.abc import Callable
from typing import Any, TypeVar

from ...compiler.scripts import Refusal
from ...compiler.service.ball_form import ball_changed, ball_of
from ...compiler.service.blanks import (
    BallBlanks,
    BlankProblem,
    PartBlanks,
    PointBlanks,
    VariationBlanks,
)
from ...compiler.service.block_form import as_long_as, ball_mirrored, block_changed, block_mirrored, block_of_row
from ...compiler.service.forms import (
    accepted,
    ball_written,
    part_written,
    point_written,
    said_of,
    thrown,
    variation_written,
)
from ...compiler.service.goals import with_goal
from ...compiler.service.rearranged import block_moved, block_removed, removed
from ...compiler.service.script import Script
from ...compiler.starter import (
    COURTS,
    GRADES,
    GROUNDS,
    HANDS,
    MACHINES,
    MOST_PLAYERS,
    PERSONS,
    PLACES,
    STATURES,
    USUAL,
    VARIATIONS,
    Answers,
    first_script,
    variations_for,
)
from ...grammar import syntax as s
from ...grammar.edits import Edit
from ...grammar.frozen import replace
from ...programs import shipped
from ...programs.shelf import shelf
from ..machine.feeders import ProfileShelf

Blanks = TypeVar("Blanks", VariationBlanks, BallBlanks, PointBlanks, PartBlanks, Answers)
FED_FROM_NEAR = {
    "level": "open", "speed": "time", "time": 1.3, "near": 1.5, "far": 4.0, "stance": 1.0,
    "stance_from": "inside baseline",
}  # fmt: skip
"""What a new ball begins with whose feeder stands on the player's side: it passes no net."""
FORMS: dict[str, Callable[[Script, object], tuple[Edit, ...]]] = {
    "variation": lambda script, said: variation_written(script, filled(VariationBlanks("", ""), said)),
    "ball": lambda script, said: with_goal(script, filled(BallBlanks(""), said), ball_written),
    "point": lambda script, said: point_written(script, filled(PointBlanks(""), said)),
    "change": lambda script, said: with_goal(script, filled(BallBlanks(""), said), ball_changed),
    "removal": lambda script, said: removed(script, str(getattr(said, "name", None))),
    "accept": lambda script, said: accepted(script, str(getattr(said, "name", None))),
    "throw": lambda script, said: thrown(script, str(getattr(said, "name", None))),
    "mirror": lambda script, said: ball_mirrored(script, str(getattr(said, "name", None))),
    "part": lambda script, said: part_written(script, filled(PartBlanks(), said)),
    "block": lambda script, said: block_changed(script, filled(PartBlanks(), said)),
    "other": lambda script, said: block_mirrored(script, _row(said)),
    "earlier": lambda script, said: block_moved(script, _row(said), -1),
    "later": lambda script, said: block_moved(script, _row(said), 1),
    "out": lambda script, said: block_removed(script, _row(said)),
}


def _row(said: object) -> int:
    row = getattr(said, "row", None)
    return row if isinstance(row, int) else -1


def filled(empty: Blanks, said: object) -> Blanks:
    """The blanks with what a page said, each of the kind that it has when empty."""
    values: dict[str, Any] = {}
    for blank, held in zip(empty._fields, empty.values(), strict=True):
        if held is None:
            continue
        value = getattr(said, blank, held)
        if isinstance(held, float) and isinstance(value, int) and not isinstance(value, bool):
            value = float(value)
        if isinstance(held, tuple) and isinstance(value, list) and all(isinstance(one, str) for one in value):
            value = tuple(value)
        if type(value) is not type(held):
            raise BlankProblem(f"{blank} is not filled")
        values[blank] = value
    return replace(empty, **values)


def held_by(script: Script, what: object, name: object, row: object) -> dict[str, Any]:
    """What the blanks of a form hold for a ball or a block of the script, and what of it no blank can hold; for a ball
    also a name for a copy."""
    if what == "block" and isinstance(row, int):
        block, kept = block_of_row(script, row)
        return {"held": _named(block), "kept": kept}
    if not isinstance(name, str):
        near = any(isinstance(spot, s.PlayersSide) for feeder in said_of(script, s.Feeder) for spot in feeder.spots)
        return {"begin": FED_FROM_NEAR if near else {}}
    blanks, kept = ball_of(script, name)
    taken = {one.name for one in script.names}
    copy = next(f"{name}-{n}" for n in range(2, len(taken) + 3) if f"{name}-{n}" not in taken)
    held = {blank: value for blank, value in _named(blanks).items() if blank not in ("amount", "measure", "rest")}
    return {"held": held | as_long_as(script, name), "kept": kept, "copy": copy}


def _named(blanks: BallBlanks | PartBlanks) -> dict[str, Any]:
    return dict(zip(blanks._fields, blanks.values(), strict=True))


def answered(said: object) -> Answers:
    """What the form of a new practice holds."""
    tall = getattr(said, "stature", None)
    return replace(filled(Answers(), said), stature=float(tall) if isinstance(tall, int | float) else None)


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
        "programs": programs, "hands": list(HANDS), "courts": list(COURTS), "surfaces": list(GROUNDS),
        "levels": list(GRADES), "stature": [low, high], "feeders": feeders,
        "places": {feeder: list(places_of(feeder)) for feeder in feeders},
        "usual": {feeder: USUAL.get(feeder, "on the baseline") for feeder in feeders}, "players": MOST_PLAYERS,
        "said": titles | {feeder: profile.title for feeder, profile in loaded.items()},
    }  # fmt: skip


def places_of(feeder: str) -> tuple[str, ...]:
    """Where this feeder may stand, of PLACES: by hand one feeds from the player's side alone."""
    return PLACES[:1] if feeder == "basket" else PLACES


def program_text(program: str) -> str:
    """The text of an included program; Refusal if there is none of this name."""
    text = shipped().get(f"{program}.feed")
    if text is None:
        raise Refusal(f"there is no included program {program}")
    return text


def begun(answers: Answers) -> str:
    """The text of a first practice; Refusal if a blank holds what it may not."""
    feeder, variation = answers.feeder, answers.variation
    if (
        answers.hand not in HANDS
        or feeder not in (*MACHINES, *PERSONS)
        or variation not in ("", *variations_for(feeder))
    ):
        raise Refusal("no first practice has these words in its blanks")
    if answers.court not in COURTS or (variation and answers.court != "doubles"):
        raise Refusal("no first practice has this court")
    if answers.surface not in GROUNDS or answers.level not in GRADES:
        raise Refusal("no first practice has this surface, or a player of this level")
    if answers.place not in places_of(feeder) or (answers.place == "from net" and not 1 <= answers.metres <= 20):
        raise Refusal("this feeder stands from 1 to 20 m from the net")
    if not (1 <= answers.players <= MOST_PLAYERS and 1 <= answers.turns <= 100):
        raise Refusal(f"a first practice has 1 to {MOST_PLAYERS} players, who change every 1 to 100 balls")
    title = " ".join(answers.title.split())
    if not title or '"' in title or not title.isprintable():
        raise Refusal('a practice is called by a few words, without "')
    low, high = STATURES
    if answers.stature is not None and not low <= answers.stature <= high:
        raise Refusal(f"{answers.stature} m is no stature from {low} to {high} m")
    return first_script(replace(answers, title=title))
