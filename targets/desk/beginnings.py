"""What a script may begin with: an included program, by what it trains, or a first practice with its blanks filled."""

from typing import Any

from ...compiler.scripts import Refusal
from ...compiler.starter import HANDS, MACHINES, PERSONS, STATURES, Answers, first_script, variations_for
from ...programs import shipped
from ...programs.shelf import shelf


def beginnings() -> dict[str, Any]:
    """Programs that are practices, with level, subject and length; and what each blank may hold."""
    programs = [
        {"name": known["name"], "about": f"{known['about']} {known['for']}".strip(), "level": known["level"],
         "minutes": known["minutes"]}
        for known in shelf()["programs"] if known["level"]
    ]  # fmt: skip
    low, high = STATURES
    return {
        "programs": programs, "hands": list(HANDS), "stature": [low, high],
        "feeders": {feeder: list(variations_for(feeder)) for feeder in (*MACHINES, *PERSONS)},
    }  # fmt: skip


def begun(program: str | None, hand: str, stature: float | None, feeder: str, variation: str) -> str:
    """The text of an included program, or of a first practice; Refusal if a blank holds what it may not."""
    if program is not None:
        text = shipped().get(f"{program}.feed")
        if text is None:
            raise Refusal(f"there is no included program {program}")
        return text
    if hand not in HANDS or feeder not in (*MACHINES, *PERSONS) or variation not in variations_for(feeder):
        raise Refusal("no first practice has these words in its blanks")
    low, high = STATURES
    if stature is not None and not low <= stature <= high:
        raise Refusal(f"{stature} m is no stature from {low} to {high} m")
    return first_script(Answers(hand, stature, feeder, variation))
