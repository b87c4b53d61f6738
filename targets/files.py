"""Write the outputs of one plan: all of them, complete, or none."""

import contextlib
import os
import re
import secrets
import shutil
from collections.abc import Mapping
from pathlib import Path

from ..compiler.model.plan import Plan
from . import TARGETS

_NAME = re.compile(r"[^\x00-\x1f/\\:.][^\x00-\x1f/\\:]{0,119}")


def write(plan: Plan, folder: Path, name: str) -> tuple[Path, ...]:
    """Write into `folder` every output of TARGETS that is built, in their order; return their paths.

    An output that this kind of feeder does not have (a stream for a person) is removed if an earlier build left one.
    On OSError the folder is as it was before.
    """
    _check(name)
    if plan.digest != plan.fresh_digest():
        raise ValueError("The plan's digest does not match its content, so nothing is written from it.")
    built = [target for target in TARGETS.values() if target.built]
    wanted = [target for target in built if plan.feeder.kind in target.kinds]
    outputs = {folder / f"{name}.{target.suffix}": target.render(plan) for target in wanted}
    stale = {folder / f"{name}.{target.suffix}" for target in built} - outputs.keys()
    _swap_in(outputs, sorted(stale))
    return tuple(outputs)


def write_outputs(folder: Path, name: str, outputs: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write NAME.SUFFIX for each suffix into `folder`; on OSError the folder is as it was before."""
    _check(name)
    paths = {folder / f"{name}.{suffix}": data for suffix, data in outputs.items()}
    _swap_in(paths, [])
    return tuple(paths)


def _check(name: str) -> None:
    if not _NAME.fullmatch(name):
        raise ValueError(f"{name} cannot be the name of a file: it is empty, starts with a dot, or holds / \\ or :.")


def _swap_in(outputs: dict[Path, bytes], stale: list[Path]) -> None:
    token = secrets.token_hex(6)
    fresh = {path: path.with_name(f".{token}.new.{path.name}") for path in outputs}
    kept: dict[Path, Path] = {}  # the old files, until all is done
    done: list[Path] = []
    try:
        for path, temporary in fresh.items():
            _write_through(temporary, outputs[path])
        for path in [*outputs, *stale]:
            if path.is_file():
                kept[path] = path.with_name(f".{token}.old.{path.name}")
                _keep(path, kept[path])
        for path, temporary in fresh.items():
            os.replace(temporary, path)
            done.append(path)
        for path in stale:
            if path in kept:
                path.unlink()
                done.append(path)
        _sync_folders({path.parent for path in outputs})
    except BaseException:
        for path in done:
            with contextlib.suppress(OSError):
                if path not in kept:
                    path.unlink()
                    continue
                previous = kept.pop(path)  # if the next line fails, this copy is not deleted below
                os.replace(previous, path)
        raise
    finally:
        for leftover in [*fresh.values(), *kept.values()]:
            with contextlib.suppress(OSError):
                leftover.unlink()


def _write_through(path: Path, data: bytes) -> None:
    # Exclusive: never write through a link that somebody else put there.
    with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _sync_folders(folders: set[Path]) -> None:
    if os.name != "posix":  # other systems cannot open a folder
        return
    for folder in folders:
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _keep(path: Path, copy: Path) -> None:
    try:
        os.link(path, copy)
    except OSError:  # a file system without hard links
        shutil.copy2(path, copy)
