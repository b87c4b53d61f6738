"""The shape of the house: which folder may import which, file lengths, the package list, what a start loads."""

import ast
import subprocess
import sys
import tomllib
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
FOLDERS = ("compiler", "grammar", "programs", "targets")
FILES = sorted(p for folder in FOLDERS for p in (ROOT / folder).rglob("*.py"))

# Part of the house: what it may import of the house beside itself. Longest prefix counts.
MAY_IMPORT = {
    "grammar": (),
    "compiler.printable": (),
    "compiler.physics": ("grammar.frozen",),
    "compiler.model": ("grammar", "compiler.physics"),
    "compiler.findings": ("grammar",),
    "compiler.report": ("grammar", "compiler.printable", "compiler.findings"),
    "compiler": ("compiler", "grammar"),
    "programs": ("grammar.source", "compiler.model"),
    "targets": ("grammar", "compiler.model", "compiler.printable", "compiler.trace", "targets.outputs"),
    "targets.outputs": ("grammar", "compiler.model", "compiler.printable"),
    "targets.log": (
        "grammar", "compiler.model", "compiler.printable", "targets.outputs", "targets.document", "targets.folders",
    ),
    "targets.machine.feeders": ("compiler.model",),
    "targets.machine.wire": ("compiler.model",),
    "targets.machine": (
        "grammar", "compiler.model", "compiler.printable", "targets.outputs", "targets.log", "targets.document",
        "targets.folders",
    ),
    "targets.editor": ("grammar", "compiler", "programs", "targets.machine.feeders"),
    "targets.desk": ("grammar", "compiler", "programs", "targets"),
    "targets.api": ("grammar", "compiler", "programs", "targets"),
    "targets.command": ("grammar", "compiler", "programs", "targets"),
}  # fmt: skip
ROOMS = ("grammar", "compiler", "programs", "targets")
"""Each imports from those before it alone."""


API = "targets.api"
"""The folder that is installed as the package `feedwright` itself: its relative imports start at the top."""


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def parsed(path: Path) -> tuple[list[ast.Import | ast.ImportFrom], list[str]]:
    """What a file imports, and the classes that it defines."""
    tree = ast.parse(path.read_text("utf-8"))
    imports = [node for node in ast.walk(tree) if isinstance(node, ast.Import | ast.ImportFrom)]
    return imports, [node.name for node in tree.body if isinstance(node, ast.ClassDef)]


@cache
def imports_of(path: Path) -> set[str]:
    package = module_of(path) if path.name == "__init__.py" else module_of(path).rpartition(".")[0]
    found = set()
    for node in parsed(path)[0]:
        if isinstance(node, ast.ImportFrom) and node.level:
            base = [] if package == API else package.split(".")
            base = base[: len(base) - node.level + 1]
            target = ".".join([*base, *(node.module or "").split(".")]).strip(".")
            names = [f"{target}.{alias.name}".strip(".") for alias in node.names]
            found |= {_placed(name) if _placed(name) in MODULES else _placed(target) for name in names}
        else:
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names]
            assert not any(name.startswith("feedwright") for name in names), (
                f"{path}: relative imports inside the house"
            )
    return found


MODULES = {module_of(path) for path in FILES}


def _placed(name: str) -> str:
    """The module in the folders, from its name under `feedwright`."""
    inside_api = f"{API}.{name}".strip(".")
    return inside_api if inside_api in MODULES else name


def inside(name: str, part: str) -> bool:
    return name == part or name.startswith(part + ".")


def arrows() -> list[tuple[str, str]]:
    """Which module imports which."""
    return [(module_of(path), target) for path in FILES for target in sorted(imports_of(path))]


def may_import(module: str, target: str) -> bool:
    part = max((p for p in MAY_IMPORT if inside(module, p)), key=len)
    return any(inside(target, allowed) for allowed in (part, *MAY_IMPORT[part]))


def test_imports_keep_to_the_table() -> None:
    assert [f"{module} imports {target}" for module, target in arrows() if not may_import(module, target)] == []


def runs_back(module: str, target: str) -> bool:
    """The package itself is the front door: it is asked for its version, and for that alone."""
    one, other = (ROOMS.index(name.split(".")[0]) for name in (module, target))
    return target != API and other > one


def test_no_arrow_runs_back_between_the_rooms() -> None:
    assert [f"{module} imports {target}" for module, target in arrows() if runs_back(module, target)] == []


def test_a_class_name_means_one_thing() -> None:
    """The tree of a script has a class for each construct, always said with its package: `syntax.Feed`, `s.Feed`."""
    homes: dict[str, list[str]] = {}
    for path in FILES:
        if not inside(module_of(path), "grammar.syntax"):
            for name in parsed(path)[1]:
                homes.setdefault(name, []).append(module_of(path))
    assert {name: found for name, found in homes.items() if len(found) > 1} == {}


def test_there_are_no_circles() -> None:
    arrows = {module_of(path): imports_of(path) - {module_of(path)} for path in FILES}
    done: set[str] = set()

    def walk(module: str, way: tuple[str, ...]) -> None:
        assert module not in way, " -> ".join([*way, module])
        if module not in done:
            for target in arrows.get(module, ()):
                walk(target, (*way, module))
            done.add(module)

    for module in arrows:
        walk(module, ())


def test_no_file_is_long_and_none_is_called_utils() -> None:
    for path in [*FILES, *(ROOT / "tests").rglob("*.py")]:
        assert len(path.read_text("utf-8").splitlines()) <= 400, path
        assert path.stem not in {"utils", "util", "helpers", "misc", "common"}


def test_every_package_is_installed() -> None:
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    found = {f"feedwright.{module_of(path)}" for path in FILES if path.name == "__init__.py"} - {f"feedwright.{API}"}
    found.add("feedwright")
    assert set(listed) == found


def test_the_top_level_is_the_agreed_one() -> None:
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split(
        "\n"
    )
    top = {name.split("/")[0] for name in tracked if name and not name.startswith(".")}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "compiler", "grammar", "targets", "tests", "programs"}
    assert top <= allowed


@pytest.mark.parametrize(
    ("commands", "absent"),
    [
        (
            [
                ["--version"], ["--help"], ["why", "net-hit"], ["completion", "bash"], ["list"],
                ["list", "--for", "high ball"],
            ],
            {"numpy", "lark", "pydantic", "rich", "serial", "scipy"},
        ),
        (
            [["format", "--check", str(ROOT / "programs" / "02-first-script.feed")]],
            {"numpy", "lark", "pydantic", "rich", "serial"},
        ),
        (
            [["check", str(ROOT / "programs" / name)] for name in ("02-first-script.feed", "01-after-the-serve.feed")],
            {
                "lark", "rich", "serial", "scipy", "sqlite3", "http", "numpy.ma", "numpy.polynomial", "pydantic",
                "annotated_types", "importlib.metadata", "statistics", "difflib", "decimal", "json", "asyncio",
                "email", "feedwright.compiler.best",
                "feedwright.compiler.model.plan", "feedwright.compiler.assemble", "feedwright.compiler.verify",
                "feedwright.targets.outputs", "feedwright.compiler.report.sarif",
            },
        ),
        (
            [["build", str(ROOT / "programs" / "02-first-script.feed"), "-o", "OUT"]],
            {"lark", "rich", "serial", "pydantic", "annotated_types", "asyncio", "feedwright.compiler.trace"},
        ),
    ],
)  # fmt: skip
def test_a_command_loads_only_what_it_needs(commands: list[list[str]], absent: set[str], tmp_path: Path) -> None:
    """Commands that need none of the same things are run by one process."""
    script = (
        "import sys; from feedwright.targets.command.cli import main\n"
        f"for words in {commands!r}:\n    try: main(words)\n    except SystemExit: pass\n"
        "print('loaded', *sorted(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=tmp_path)
    loaded = set(done.stderr.rpartition("loaded")[2].split())
    assert not loaded & absent
