"""The page of the desk says what each of its buttons does, and has each button that the list names."""

import re

from ..shipped import FOLDER

DESK = FOLDER.parent / "targets" / "desk"
SOURCES = {path.name: path.read_text("utf-8") for path in (DESK / "page").glob("*") if path.suffix in (".js", ".html")}
LISTED = re.findall(
    r"^\| (.*?) \| .* \|$", (DESK / "DESK.md").read_text("utf-8").split("| button |")[1].split("\n\n")[0], re.M
)
NAMES = {name.partition(":")[0] for row in LISTED for name in re.split(r", (?=[A-Z])", row.partition("|")[0])}


def test_each_button_is_in_the_list_and_each_of_the_list_is_a_button() -> None:
    on_page = set(re.findall(r"<button[^>]*>([^<]+)</button>", SOURCES["desk.html"]))
    made = {
        name[0] or name[1]
        for file, text in SOURCES.items()
        if not file.endswith((".min.js", ".html"))
        for name in re.findall(
            r'plain\("button", \{[^\n]*?\}, "([^"]+)"\)|\["([A-Z][^"]+)", (?:\(\) =>|copied|keep)', text
        )
    }
    assert len(on_page) > 15 and len(made) > 4
    assert on_page | made <= NAMES, (on_page | made) - NAMES
    everything = "".join(text for file, text in SOURCES.items() if not file.endswith(".min.js"))
    assert [
        name for name in NAMES if name not in everything and name not in ("button", "---", "2 warnings", "Write")
    ] == []
