"""Which files of tests one process takes together, and in which order, so that several processes end together.

pytest-xdist hands out first what has most tests, which says little of how long it takes: what came last was long, and
one process worked on it alone. What takes longest comes first here, and what is short fills up the rest.
"""

TOGETHER = {
    "a browser at the desk": (
        "desk/test_page.py", "desk/test_first_minutes.py", "desk/test_forms.py", "desk/test_ball_form_choices.py",
    ),
    "a browser for paper and phones": (
        "targets/test_browser.py", "targets/test_phone.py", "targets/test_phone_counts.py", "court/test_phone.py",
        "court/test_feeding.py",
    ),
    "forked from one process": (
        "replay/test_terminal.py", "replay/test_rig.py", "replay/test_records_rig.py", "replay/test_outside.py",
        "replay/test_raw_bytes.py", "replay/test_key_to_line.py", "replay/test_processes.py", "court/test_command.py",
    ),
    "scipy.stats": (
        "physics/test_spread.py", "log/test_chance.py", "log/test_corrections.py", "calibration/test_person.py",
        "test_goals.py", "test_until.py",
    ),
}  # fmt: skip
"""What takes seconds to start or to load, and the files that use it."""
LONGEST = (
    "a browser for paper and phones", "forked from one process", "a browser at the desk", "test_cases.py",
    "test_library.py", "targets/test_sheet_pdf.py",
)  # fmt: skip


def part(test: str) -> str:
    """What one process takes whole, from a test's name: some files together, or a file."""
    file = test.partition("::")[0].removeprefix("tests/")
    return next((name for name, files in TOGETHER.items() if file in files), file)


def rank(test: str) -> int:
    """What comes before what: of what is as long, nothing."""
    return LONGEST.index(part(test)) if part(test) in LONGEST else len(LONGEST)
