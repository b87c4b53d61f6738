"""Outputs come whole or not at all."""

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from feedwright.compiler.model.plan import Plan
from feedwright.targets import TARGETS, files
from feedwright.targets.document import read

from .plans import make_plan


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_machine_gets_four_files(machine_plan: Plan, tmp_path: Path) -> None:
    paths = files.write(machine_plan, tmp_path, "wing")
    assert [path.name for path in paths] == ["wing.plan.json", "wing.stream", "wing.sheet.html", "wing.table.txt"]
    assert set(paths) == set(tmp_path.iterdir())
    assert read(paths[0].read_bytes()) == machine_plan


def test_an_old_stream_does_not_stay_beside_a_plan_for_a_person(
    machine_plan: Plan, person_plan: Plan, tmp_path: Path
) -> None:
    files.write(machine_plan, tmp_path, "wing")
    (tmp_path / "other.stream").write_bytes(b"of another program")
    files.write(person_plan, tmp_path, "wing")
    names = ["other.stream", "wing.plan.json", "wing.sheet.html", "wing.table.txt"]
    assert sorted(contents(tmp_path)) == names


def fail_at(monkeypatch: pytest.MonkeyPatch, name: str, turn: int, error: BaseException) -> None:
    """Let the function of os do its work but for one call, counted from 1."""
    real, calls = getattr(os, name), 0

    def call(*args: object, **kwargs: object) -> object:
        nonlocal calls
        calls += 1
        if calls == turn:
            raise error
        return real(*args, **kwargs)

    monkeypatch.setattr(os, name, call)


FULL = OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize("before", [False, True])
@pytest.mark.parametrize(
    ("function", "turn", "error"),
    [
        *(("replace", turn, OSError(errno.EIO, "Input/output error")) for turn in (1, 2, 3, 4)),
        *(("fsync", turn, FULL) for turn in (1, 3, 5)),
        ("open", 2, OSError(errno.EACCES, "Permission denied")),
        ("replace", 3, KeyboardInterrupt()),
    ],
)
def test_a_failure_leaves_the_folder_as_it_was(
    machine_plan: Plan,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    before: bool,
    function: str,
    turn: int,
    error: BaseException,
) -> None:
    if before:
        files.write(make_plan(machine=True, program="The one before"), tmp_path, "wing")
    old = contents(tmp_path)
    fail_at(monkeypatch, function, turn, error)
    with pytest.raises(type(error)):
        files.write(machine_plan, tmp_path, "wing")
    monkeypatch.undo()
    assert contents(tmp_path) == old


def test_an_old_stream_comes_back_if_the_change_to_a_person_fails(
    machine_plan: Plan, person_plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files.write(machine_plan, tmp_path, "wing")
    old = contents(tmp_path)
    fail_at(monkeypatch, "fsync", 4, FULL)  # three files, then the folder: after the stream is gone
    with pytest.raises(OSError, match="No space"):
        files.write(person_plan, tmp_path, "wing")
    assert contents(tmp_path) == old


def test_without_hard_links_copies_do(machine_plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*args: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    files.write(make_plan(machine=True, program="The one before"), tmp_path, "wing")
    old = contents(tmp_path)
    monkeypatch.setattr(os, "link", refuse)
    with monkeypatch.context() as inner:
        fail_at(inner, "replace", 3, FULL)
        with pytest.raises(OSError, match="No space"):
            files.write(machine_plan, tmp_path, "wing")
    assert contents(tmp_path) == old
    files.write(machine_plan, tmp_path, "wing")
    assert contents(tmp_path).keys() == old.keys() and contents(tmp_path) != old


def test_a_folder_in_the_way_or_none_at_all(machine_plan: Plan, tmp_path: Path) -> None:
    (tmp_path / "wing.table.txt").mkdir()
    with pytest.raises(OSError):
        files.write(machine_plan, tmp_path, "wing")
    assert [path.name for path in tmp_path.iterdir()] == ["wing.table.txt"]
    with pytest.raises(FileNotFoundError):
        files.write(machine_plan, tmp_path / "nowhere", "wing")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_an_unwritable_folder(machine_plan: Plan, tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(PermissionError):
            files.write(machine_plan, tmp_path, "wing")
        assert contents(tmp_path) == {}
    finally:
        tmp_path.chmod(0o700)


@pytest.mark.skipif(sys.platform != "linux", reason="/proc takes no files, from root neither")
def test_a_folder_that_takes_no_files(machine_plan: Plan) -> None:
    with pytest.raises(OSError):
        files.write(machine_plan, Path("/proc"), "wing")


@pytest.mark.parametrize("name", ["", ".", "..", "../up", "a/b", "a\\b", ".hidden", "a\0b", "a:b", "x" * 121])
def test_a_name_that_leaves_the_folder_is_refused(machine_plan: Plan, tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="cannot be the name of a file"):
        files.write(machine_plan, tmp_path, name)
    assert contents(tmp_path) == {}


def test_nothing_is_written_from_a_plan_that_was_changed(machine_plan: Plan, tmp_path: Path) -> None:
    for plan in (machine_plan.model_copy(update={"program": "Other"}), machine_plan.model_copy(update={"digest": ""})):
        with pytest.raises(ValueError, match="digest"):
            files.write(plan, tmp_path, "wing")
    assert contents(tmp_path) == {}


def test_the_same_plan_gives_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    """Another hash seed, another time zone and another day change nothing."""
    plan = make_plan(machine=True)
    (tmp_path / "plan").write_bytes(TARGETS["plan"].render(plan))
    code = (
        "import sys; from feedwright.targets import TARGETS; from feedwright.targets.document import read;"
        "plan = read(open(sys.argv[1], 'rb').read());"
        "[open(f'{sys.argv[1]}.{name}', 'wb').write(TARGETS[name].render(plan)) for name in TARGETS]"
    )
    environment = {**os.environ, "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"}
    subprocess.run([sys.executable, "-c", code, str(tmp_path / "plan")], env=environment, check=True)
    for name in TARGETS:
        assert (tmp_path / f"plan.{name}").read_bytes() == TARGETS[name].render(plan), name


def test_importing_targets_loads_nothing_heavy() -> None:
    code = "import sys, feedwright.targets; print(sorted({'pydantic', 'numpy', 'lark'} & sys.modules.keys()))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    assert done.stdout.strip() == "[]"
