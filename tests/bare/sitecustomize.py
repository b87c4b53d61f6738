"""With this folder on PYTHONPATH, Python is as it is on systems that lack these parts of POSIX.

Every process that inherits the environment is one of that kind, so commands that tests start are tried there too.
"""

import os
import signal
import sys
import time

MODULES = frozenset({"termios", "fcntl", "pty", "tty", "resource", "grp", "pwd"})
NAMES = (
    (os, "fchmod", "openpty", "ttyname", "O_NOFOLLOW"),
    (signal, "SIGHUP"),
    (time, "clock_gettime", "CLOCK_BOOTTIME", "CLOCK_MONOTONIC"),
)


class _Missing:
    @staticmethod
    def find_spec(name: str, path: object = None, target: object = None) -> None:
        if name in MODULES:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)


sys.meta_path.insert(0, _Missing)  # type: ignore[arg-type]
for _name in MODULES:
    sys.modules.pop(_name, None)
for _module, *_missing in NAMES:
    for _name in _missing:
        if hasattr(_module, _name):
            delattr(_module, _name)
