"""The feeder of a plan: what its profile says, and where it stands for which block."""

from collections.abc import Sequence
from typing import Any

from .model import plan as doc
from .model.feeder import Feeder
from .model.program import FeederPlace, Program
from .model.schedule import Schedule
from .shot_record import short


def places_of(program: Program, schedule: Schedule) -> dict[object, FeederPlace]:
    """Where it stands, in the order in which blocks are fed from there."""
    found: dict[object, FeederPlace] = {}
    for block in schedule.blocks:
        for name in block.feeds[:1]:  # a block is fed from one place
            place = program.place_of(program.feeds[name])
            found.setdefault(place.there, place)
    return found or {program.place.there: program.place}


def feeder_record(program: Program, places: Sequence[FeederPlace]) -> doc.FeederRecord:
    first, *others = map(_place, places)
    profile = {**of_profile(program.feeder), "fingerprint": program.profile.fingerprint}
    return doc.FeederRecord(**{**profile, **first}, elsewhere=tuple(doc.PlaceRecord(**one) for one in others))


def _place(place: FeederPlace) -> dict[str, Any]:
    return dict(
        place_m=(short(place.x), short(place.y)),
        place_words=place.words,
        release_height_m=place.height,
        players_side=place.players_side,
        screen=place.screen,
    )


def of_profile(feeder: Feeder) -> dict[str, Any]:
    """Those entries of a plan's feeder that follow from the profile alone."""
    machine = feeder.kind == "machine"
    return dict(
        kind=feeder.kind,
        name=feeder.name,
        title=feeder.title,
        fingerprint=feeder.fingerprint,
        how=feeder.how,
        release_height_m=feeder.release_height_m,
        setting_units={n: "position" if a.dial else a.unit for n, a in feeder.axes().items()} if machine else {},
        hopper=feeder.hopper,
        basis=feeder.basis,
        device=_device(feeder),
    )


def _device(feeder: Feeder) -> doc.DeviceRecord | None:
    limits = feeder.limits
    if limits is None:
        return None
    return doc.DeviceRecord(id=limits.id, cap=limits.cap, gap=limits.gap, limits=limits.checksum)
