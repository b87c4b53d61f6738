"""The plan and its profile, read once and checked; read from the disk and checked again at the moment of arming."""

import hashlib
import stat
import time
from collections.abc import Callable
from pathlib import Path

from ....compiler.model.feeder import Feeder, ProfileProblem
from ....compiler.model.plan import Plan
from ....compiler.printable import visible
from ... import document
from ..feeders import ProfileShelf
from .request import ERRORS, RequestRefused

Verify = Callable[[Plan, Feeder], list[str]]
SLOW_S = 0.1
"""Arming must not take longer: a machine that hears nothing for half a second takes no order."""


class Checked:
    """A plan that may be played with its profile. RequestRefused, in one sentence, if it may not."""

    def __init__(self, name: str, verify: Verify) -> None:
        self._path, self._verify = Path(name), verify
        data = _read(self._path)
        try:
            self.plan = document.read(data)
        except document.PlanRefused as refused:
            if self._path.suffix == ".feed":
                raise RequestRefused(
                    f"{self._path} is a script, not a plan; feedwright build makes the plan"
                ) from refused
            raise RequestRefused(str(refused), ERRORS) from refused
        self._digest = hashlib.sha256(data).digest()
        self.feeder = _profile(self.plan, self._path.parent)
        took = self._judged_s()
        self._took_s = took if took <= SLOW_S else self._judged_s()  # the first check also loads modules
        self.changed = ""
        """Why the plan may no longer be armed; "" while it may."""

    def unchanged(self) -> bool:
        """Whether plan and profile on the disk are still those that passed the check; `changed` says why not. Unless it
        is slow, this also checks every flight against the profile's limits again. It may be left out, because the same
        plan and the same profile give the same result."""
        try:
            if hashlib.sha256(_read(self._path)).digest() != self._digest:
                raise RequestRefused(f"The plan {self._path} was changed since it was checked; start again")
            feeder = _profile(self.plan, self._path.parent)
            if self._took_s <= SLOW_S:
                _judge(self.plan, feeder, self._verify)
        except RequestRefused as refused:
            self.changed = str(refused).rstrip(".")
        return not self.changed

    def _judged_s(self) -> float:
        """Seconds that the check of the plan took."""
        started = time.perf_counter()
        _judge(self.plan, self.feeder, self._verify)
        return time.perf_counter() - started


def _judge(plan: Plan, feeder: Feeder, verify: Verify) -> None:
    if wrong := verify(plan, feeder):
        more = f" ({len(wrong) - 1} more of this kind)" if len(wrong) > 1 else ""
        raise RequestRefused(f"The plan is refused: {wrong[0]}{more}", ERRORS)


def _read(path: Path) -> bytes:
    """The bytes that are checked, armed and played."""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise RequestRefused(f"{path} is a folder, not a plan")
        if not stat.S_ISREG(mode):
            raise RequestRefused(f"{path} is not an ordinary file")
        with path.open("rb") as file:
            return file.read(document.LIMIT + 1)
    except OSError as error:
        raise RequestRefused(f"cannot read {path}: {error.strerror or error}") from error
    except ValueError as error:
        raise RequestRefused(f"cannot read {visible(str(path))}: {error}") from error


def _profile(plan: Plan, folder: Path) -> Feeder:
    if plan.feeder.kind != "machine":
        raise RequestRefused("the plan is for a person who feeds; play it from its sheet", ERRORS)
    feeder = _made_for(plan, folder)
    if feeder.template is None and plan.feeder.device is None:
        raise RequestRefused(
            f"the profile {plan.feeder.name} names no device and no commands; nothing can be replayed", ERRORS
        )
    return feeder


def _made_for(plan: Plan, beside: Path) -> Feeder:
    """The profile with the plan's fingerprint: beside the plan, in the current folder or an included one."""
    name, broken, other = plan.feeder.name, None, False
    for folder in (beside, Path.cwd(), None):
        try:
            feeder = ProfileShelf(folder).load(name)
        except ProfileProblem as problem:
            broken = broken or problem
            continue
        if feeder and feeder.fingerprint == plan.feeder.fingerprint:
            return feeder
        other = other or feeder is not None
    if broken:
        raise RequestRefused(f"the feeder profile {name} cannot be used: {broken}", ERRORS) from broken
    where = f"beside the plan ({beside.resolve()}), in the current folder ({Path.cwd()}) or among the included ones"
    if other:
        raise RequestRefused(
            f"the plan was made for another profile {name} than the one {where}; build it again", ERRORS
        )
    raise RequestRefused(f"there is no feeder profile {name} {where}; the plan was made for it", ERRORS)
