"""The tests to run while working: `pytest --fast`. Files in which little time goes, some for each stage."""

from pathlib import Path

FAST = {
    "parse": ("test_grammar_tables.py", "test_every_construct.py", "test_cases.py"),
    "include": ("test_cases.py",),
    "resolve": ("test_cases.py", "test_settings.py"),
    "expand": ("test_golden.py",),
    "solve": ("test_golden.py", "physics/test_air.py", "physics/test_ball.py", "physics/test_bounce.py"),
    "schedule": ("test_golden.py",),
    "evaluate": ("test_golden.py", "physics/test_flight_moments.py", "physics/test_wheels.py"),
    "check": ("test_cases.py",),
    "assemble": ("test_golden.py", "test_api.py", "targets/test_document.py"),
    "target": (
        "targets/test_cues.py", "targets/test_lines.py", "targets/test_profiles.py", "targets/test_sheet_words.py",
        "targets/test_show.py", "replay/test_device_rules.py", "replay/test_talk_vectors.py", "log/test_store.py",
        "test_search.py",
    ),
}  # fmt: skip
"""Stage, as DEVELOPERS.md names it, to files under tests/."""
MANY, EACH = 12, 16
"""Of a test with more cases than MANY every EACH-th is run."""
THROUGH_ALL = (
    "test_what_is_proposed_lies_within_what_is_told_to_be_possible",
    "test_each_code_is_given_by_a_case_and_its_numbers_have_a_kind",
    "test_they_compile_without_a_finding",
)
"""Tests that compile every case, which takes most of a minute, or look for the best balls of program 99, which takes a
third as long as all others: whatever their number, none of them is run."""

FOLDER = Path(__file__).parent
FILES = {FOLDER / name for names in FAST.values() for name in names}


def left_out(path: Path) -> bool:
    return path.is_file() and path.name.startswith("test_") and path not in FILES


def kept(tests: list[str]) -> list[bool]:
    """Which items are run, from the name of each one's test."""
    seen: dict[str, int] = {}
    chosen = []
    for test in tests:
        seen[test] = seen.get(test, -1) + 1
        few = tests.count(test) <= MANY or seen[test] % EACH == 0
        chosen.append(few and test.rpartition(":")[2] not in THROUGH_ALL)
    return chosen
