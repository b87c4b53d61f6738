"""The script of the page is built from its modules and the locked packages, small enough, and tells their licences."""

import gzip
import json
import re
import shutil
import subprocess
from hashlib import sha256
from pathlib import Path

import pytest

from ..whole import WHOLE

PAGE = Path(__file__).parents[2] / "targets" / "desk" / "page"
SMALL = 500 * 1024
MODULES = sorted(path for path in PAGE.glob("*.js") if path.name not in ("desk.min.js", "build.js"))


def test_the_bundle_is_small() -> None:
    page = sum(len(gzip.compress((PAGE / name).read_bytes())) for name in ("desk.min.js", "desk.css", "desk.html"))
    assert page <= SMALL


def test_every_package_is_locked_and_its_licence_told() -> None:
    wanted = json.loads((PAGE / "package.json").read_text())
    locked = json.loads((PAGE / "package-lock.json").read_text())["packages"]
    for name, version in {**wanted["dependencies"], **wanted["devDependencies"]}.items():
        assert locked[f"node_modules/{name}"]["version"] == version, "a version of package.json is exact"
    assert all("integrity" in entry for name, entry in locked.items() if name)
    told = re.findall(r"^(@?[\w/-]+) (\d+\.\d+\.\d+)$", (PAGE / "LICENCES.txt").read_text("utf-8"), re.M)
    assert {name for name, _ in told} >= set(wanted["dependencies"])
    for name, version in told:
        assert locked[f"node_modules/{name}"]["version"] == version
        assert locked[f"node_modules/{name}"]["license"] in {"MIT", "BSD-2-Clause", "BSD-3-Clause", "ISC", "Apache-2.0"}


def test_the_bundle_loads_nothing_and_runs_no_text() -> None:
    bundle = (PAGE / "desk.min.js").read_text("utf-8")
    hosts = set(re.findall(r"https?://([\w.-]+)", bundle))
    assert hosts <= {"www.w3.org", "github.com"}, hosts  # the namespace of SVG, and where to tell faults of marked
    assert "eval(" not in bundle and "new Function" not in bundle
    for path in MODULES:
        text = path.read_text("utf-8")
        assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(|\bfetch\(", text), (
            path.name
        )


def test_the_bundle_was_built_from_the_modules_as_they_are() -> None:
    digest = sha256()
    for path in [*sorted([*MODULES, PAGE / "build.js"]), PAGE / "package-lock.json"]:
        digest.update(path.read_bytes())
    first = (PAGE / "desk.min.js").read_text("utf-8").partition("\n")[0]
    assert first == f"// built from {digest.hexdigest()}", "npm ci && npm run build makes it anew"


@pytest.mark.skipif(not WHOLE, reason="the line above says what it was built from; FEEDWRIGHT_WHOLE=1 builds it again")
def test_the_bundle_is_what_its_modules_give(tmp_path: Path) -> None:
    """Skipped without npm or its registry; the packages come from npm's own store if they were fetched before."""
    npm = shutil.which("npm")
    if not npm:
        pytest.skip("no npm here (Debian: apt-get install npm)")
    for path in [*MODULES, *(PAGE / name for name in ("build.js", "package.json", "package-lock.json"))]:
        shutil.copy(path, tmp_path / path.name)
    fetch = [npm, "ci", "--prefer-offline", "--no-audit", "--no-fund"]
    fetched = subprocess.run(fetch, cwd=tmp_path, capture_output=True, text=True, timeout=180, check=False)
    if fetched.returncode:
        pytest.skip(f"npm cannot fetch the packages: {fetched.stderr[-300:]}")
    subprocess.run([npm, "run", "build"], cwd=tmp_path, capture_output=True, timeout=60, check=True)
    for name in ("desk.min.js", "LICENCES.txt"):
        assert (tmp_path / name).read_bytes() == (PAGE / name).read_bytes(), (
            f"npm ci && npm run build makes {name} anew"
        )
