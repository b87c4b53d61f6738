"""What is installed: a wheel, made from a source archive of the repository, holds every file of the four folders, and
works where there is nothing else."""

import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

from feedwright.programs import shipped

from .whole import WHOLE

ROOT = Path(__file__).parent.parent
BUILD = "import sys; from setuptools import build_meta; getattr(build_meta, sys.argv[1])(sys.argv[2])"
KINDS = {
    ".css",
    ".feed",
    ".html",
    ".js",
    ".json",
    ".lark",
    ".md",
    ".png",
    ".py",
    ".svg",
    ".toml",
    ".txt",
    ".typ",
    ".typed",
}


def tracked() -> set[str]:
    """Every file of the repository, by its path."""
    done = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    return {name for name in done.stdout.splitlines() if (ROOT / name).is_file()}


def built(kind: str, source: Path, into: Path) -> Path:
    into.mkdir()
    done = subprocess.run(
        [sys.executable, "-c", BUILD, kind, str(into)], cwd=source, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]
    (made,) = into.iterdir()
    return made


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("built")
    for name in tracked():
        (folder / "copy" / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / name, folder / "copy" / name)
    with tarfile.open(built("build_sdist", folder / "copy", folder / "sdist")) as archive:
        archive.extractall(folder / "unpacked", filter="data")
    (unpacked,) = (folder / "unpacked").iterdir()
    return built("build_wheel", unpacked, folder / "wheel")


def test_the_wheel_holds_every_file_and_no_other(wheel: Path) -> None:
    """A file of the repository stands in the wheel as its folder is installed; tests and the top level stay behind."""
    ours = {name for name in tracked() if name.split("/")[0] in ("compiler", "grammar", "programs", "targets")}
    assert {Path(name).suffix for name in ours} <= KINDS
    expected = {f"feedwright/{name.removeprefix('targets/api/')}" for name in ours}
    names = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    assert names == expected


@pytest.mark.skipif(not WHOLE, reason=".ci/run installs the wheel and does the same there")
def test_an_installed_copy_works_by_itself(wheel: Path, tmp_path: Path) -> None:
    site, away = tmp_path / "site", tmp_path / "away"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)  # which is what installing does with a wheel that is pure Python
    away.mkdir()
    done = subprocess.run(
        [sys.executable, ROOT / "tests" / "away.py", site], cwd=away, capture_output=True, text=True, timeout=120,
        env={**os.environ, "PYTHONPATH": str(site)}, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "all.feed: no problems" in done.stdout and "own.feed: no problems" in done.stdout
    assert (away / "mine.feed").read_text("utf-8") == shipped()["01-after-the-serve.feed"]
