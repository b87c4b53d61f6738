"""DEVELOPERS.md knows every module of the compiler, and its import table is the one that is held."""

import re
from pathlib import Path

from .fast import FAST, FILES, THROUGH_ALL
from .test_shape import MAY_IMPORT

ROOT = Path(__file__).parent.parent
PAGE = (ROOT / "DEVELOPERS.md").read_text("utf-8")
EVERYTHING = {"compiler", "targets", "grammar", "programs"}


def test_every_module_of_the_compiler_has_its_place_on_the_page() -> None:
    for path in [*(ROOT / "compiler").glob("[a-z]*.py"), *(ROOT / "programs").glob("[a-z]*.py")]:
        name = path.relative_to(ROOT).as_posix()
        assert f"`{name}`" in PAGE or f"`{name.removesuffix('.py')}`" in PAGE, name


def test_every_module_the_page_names_is_there() -> None:
    for name in re.findall(r"`((?:compiler|grammar|programs|targets|tests)/[\w/.]*)`", PAGE):
        assert (ROOT / name).exists() or (ROOT / f"{name}.py").exists(), name


def test_the_import_table_is_the_one_that_is_held() -> None:
    table = PAGE[PAGE.index("| part | may import") : PAGE.index("`tests/test_shape.py` holds")]
    said = {}
    for parts, allowed in re.findall(r"^\| (`.*?) \| (.*?) \|$", table, re.M):
        for part in re.findall(r"`([\w/.]+)`", parts):
            said[part.removesuffix(".py").strip("/").replace("/", ".")] = allowed.partition("; never")[0]
    assert set(said) == set(MAY_IMPORT)
    before: set[str] = set()
    for part, allowed in said.items():
        if allowed in ("everything", "nothing but themselves"):
            named = EVERYTHING if allowed == "everything" else set()
        elif allowed.startswith("the same, and "):
            named = before | _parts(allowed)
        else:
            named = _parts(allowed)
        before = named
        # What a part holds itself it may import anyway.
        assert named - {part} == set(MAY_IMPORT[part]) - {part}, part


def _parts(words: str) -> set[str]:
    """`compiler/model` and grammar, and whose records: physics."""
    named = {name.replace("/", ".") for name in re.findall(r"`([a-z/]+)`", words)}
    bare = set(re.findall(r"\b(physics|compiler|grammar)\b", re.sub(r"`.*?`", "", words)))
    return named | {"compiler.physics" if word == "physics" else word for word in bare}


def test_every_variable_that_makes_tests_try_more_is_told() -> None:
    read = re.compile(r"""environ\.get\("(\w+)", "\d+"\)|"(\w+)" (?:not )?in os\.environ""")
    texts = (path.read_text("utf-8") for path in (ROOT / "tests").rglob("*.py"))
    found = {one or other for text in texts for one, other in read.findall(text)}
    assert found >= {"FEEDWRIGHT_WHOLE", "FEEDWRIGHT_RUNS", "FUZZ", "REMEDIES", "FEEDWRIGHT_BENCH"}
    told = set(re.findall(r"^\| `(\w+)=", PAGE, re.M))
    # A seed says where to begin; the benchmarks and the mutants say by themselves how many they take.
    own = {name for name in found if name.endswith("SEED") or name.startswith("MUTANTS")}
    assert found - own - told <= {"FEEDWRIGHT_STOPS", "FEEDWRIGHT_AT_ONCE"}


def test_every_stage_has_fast_tests_and_they_are_there() -> None:
    stages = re.findall(r"^\| (\w+) \| `", PAGE[: PAGE.index("## Who may import")], re.M)
    assert set(FAST) == set(stages)
    assert [str(path) for path in FILES if not path.is_file()] == []
    text = "".join(path.read_text("utf-8") for path in FILES)
    assert [name for name in THROUGH_ALL if f"def {name}(" not in text] == []


def test_every_file_and_command_that_a_recipe_names_is_there() -> None:
    recipes = PAGE[PAGE.index("### To add a construct") :]
    named = re.findall(r"(?<![\w/.])(?:compiler|grammar|programs|targets|tests)/[\w/.-]*\w", recipes)
    assert len(named) > 20
    for name in named:
        assert (ROOT / name).exists() or "NN-name" in name or "**" in name, name
    for package in re.findall(r"^dependencies = \[(.*)\]", (ROOT / "pyproject.toml").read_text("utf-8"), re.M):
        for name in re.findall(r'"([a-z]+)', package):
            assert re.search(rf"\b{name}\b", PAGE), name
