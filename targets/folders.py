"""The user's folders for the program's files; this module neither makes nor reads one."""

import os
import sys
from pathlib import Path


class NoHome(OSError):
    """The system has no home folder, and nothing else names a place."""

    def __init__(self, instead: str) -> None:
        super().__init__(f"this system has no home folder; name another place with {instead}")


def data(instead: str) -> Path:
    """The folder for a user's data: XDG Base Directory Specification 0.8 on Linux, the platform's custom elsewhere.
    NoHome if there is no place; `instead` is the option or variable that can name one."""
    return _own("XDG_DATA_HOME", Path(".local", "share"), instead)


def state(instead: str) -> Path:
    """The folder for data that a user can do without, such as records of runs; otherwise like `data`."""
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
