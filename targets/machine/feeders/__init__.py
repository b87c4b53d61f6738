"""Feeder profiles: the included ones, and a coach's own beside the script."""

import re
import tomllib
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

from ....compiler.model.feeder import Feeder, ProfileProblem
from ....compiler.model.record import Unsound

LARGEST = 64 * 1024
SHIPPED = Path(__file__).parent
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,40}", re.ASCII)


class ProfileShelf:
    """Profiles by name: first `NAME.toml` in a folder, then the included ones."""

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder

    def names(self) -> Iterable[str]:
        own = [p.stem for p in self._folder.glob("*.toml")] if self._folder else []
        shipped = [p.name.removesuffix(".toml") for p in SHIPPED.iterdir() if p.name.endswith(".toml")]
        return sorted({name for name in own if _NAME.fullmatch(name)} | set(shipped))

    def load(self, name: str) -> Feeder | None:
        """The profile; None if there is none, ProfileProblem if it cannot be used."""
        if not _NAME.fullmatch(name):
            return None
        own = self._folder / f"{name}.toml" if self._folder else None
        place = own if own and own.is_file() else SHIPPED / f"{name}.toml"
        try:
            with open(place, "rb") as stream:
                data = stream.read(LARGEST + 1)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise ProfileProblem(f"it cannot be read ({error.strerror})") from error
        return read(data, name)


@lru_cache(32)  # a script that is being written is compiled again and again, its profile seldom changes
def read(data: bytes, name: str) -> Feeder:
    """A profile from the bytes of its file; ProfileProblem says in one sentence what is wrong."""
    if len(data) > LARGEST:
        raise ProfileProblem(f"it is larger than {LARGEST // 1024} KB")
    try:
        text = data.decode("utf-8-sig")
        table = tomllib.loads(text)
    except UnicodeDecodeError as error:
        raise ProfileProblem("it is not UTF-8 text") from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        from .wording import not_toml

        raise ProfileProblem(not_toml(error, text)) from error
    try:
        return Feeder(**{**table, "name": name})
    except Unsound as unsound:
        from .wording import problem

        raise ProfileProblem(problem(unsound, text)) from unsound
