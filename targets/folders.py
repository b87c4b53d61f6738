"""Where what is kept lies in a user's folders; nothing here makes or reads one."""

import os
import sys
from pathlib import Path


class NoHome(OSError):
    """The system names no home folder, and nothing else says where to keep things."""

    def __init__(self, instead: str) -> None:
        super().__init__(f"this system names no home folder; {instead} says where instead")


def data(instead: str) -> Path:
    """What a user keeps: XDG Base Directory Specification 0.8 on Linux, the platforms' own customs elsewhere; NoHome
    where there is no place, with what `instead` can name one."""
    return _own("XDG_DATA_HOME", Path(".local", "share"), instead)


def state(instead: str) -> Path:
    """What may be lost without loss to the user, such as records of runs; else as `data`."""
    return _own("XDG_STATE_HOME", Path(".local", "state"), instead)


def _own(xdg: str, custom: Path, instead: str) -> Path:
    if sys.platform == "win32":
        local = os.environ.get("LOCALAPPDATA", "")
        folder = Path(local) if local else _home(instead) / "AppData" / "Local"
    elif sys.platform == "darwin":
        folder = _home(instead) / "Library" / "Application Support"
    else:
        named = os.environ.get(xdg, "")
        # The specification: a relative path is invalid and ignored.
        folder = Path(named) if os.path.isabs(named) else _home(instead) / custom
    return folder / "feedwright"


def _home(instead: str) -> Path:
    try:
        return Path.home()
    except RuntimeError:
        raise NoHome(instead) from None
