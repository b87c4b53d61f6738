"""Names: where they are made and used, over the scripts that a script uses; and a new name for one."""

from feedwright.compiler.pipeline import compile_source
from feedwright.compiler.service.script import NameKind, Script, edited, opened, renamed
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf

from ..shipped import OF_A_KIND

SHELF = ScriptShelf(None)
TEXT = """\
program "P"
    given rhythm 5 s
zone corner
    depth deep
variation past "past"
    reply into corner
feed a aims past
    into corner
    interval given rhythm
feed b aims past, like a
session "S"
    mix-up
    2 min mix 2 a, b, at most 1 a in a row
    3 min a
    ladder a, up to 9 balls, pace 80, 90 km/h
"""


def at(script: Script, words: str, offset: int = 0) -> int:
    return script.source.text.index(words) + offset


def test_every_place_of_a_name_is_known() -> None:
    script = opened(Source("p.feed", TEXT), None)
    for words, offset, kind, count in (
        ("a aims", 0, NameKind.FEED, 6), ("past \"", 4, NameKind.VARIATION, 3),
        ("corner\n    depth", 2, NameKind.ZONE, 3),
        ("given rhythm\n", 8, NameKind.AMOUNT, 2),
    ):  # fmt: skip
        name = script.name_at(at(script, words, offset))
        assert name and name.kind is kind and len(script.same(name)) == count, words
        made = script.made(name)
        assert made and made.made and made.span.start <= name.span.start
    assert script.name_at(at(script, "depth")) is None


def test_a_new_name_stands_everywhere_and_nothing_else_changes() -> None:
    script = opened(Source("p.feed", TEXT), None)
    edits = renamed(script, at(script, "a aims"), "wide")
    assert edits and len(edits) == 6
    assert edited(script.source, edits) == (
        TEXT.replace("feed a ", "feed wide ").replace("like a", "like wide").replace("2 a,", "2 wide,")
        .replace("1 a in", "1 wide in").replace("ladder a", "ladder wide").replace("3 min a", "3 min wide")
    )  # fmt: skip


def test_a_score_names_feeds_points_and_variations() -> None:
    text = TEXT + "    4 points rush\n        score rush 2\n    9 balls a\n        score a 2, past 3, hit 1, miss -1\n"
    text = text.replace('session "S"\n', 'point rush\n    plays a, then b\nsession "S"\n')
    script = opened(Source("p.feed", text), None)
    for words, name, score, renamed_ in (
        ("past \"", "long", "past 3", "long 3"), ("a aims", "wide", "score a 2", "score wide 2"),
        ("rush\n    plays", "dash", "rush 2", "dash 2"),
    ):  # fmt: skip
        edits = renamed(script, at(script, words), name)
        assert edits and renamed_ in edited(script.source, edits) and score not in edited(script.source, edits)


def test_a_name_that_is_taken_or_is_no_name_is_not_given() -> None:
    script = opened(Source("p.feed", TEXT), None)
    place = at(script, "a aims")
    for name in ("b", "a", "2nd", "two words", "", "mix", "é", "a-"):
        assert renamed(script, place, name) is None, name
    assert renamed(script, at(script, "depth"), "x") is None


def test_a_program_with_every_name_changed_says_the_same() -> None:
    """In turn: the plan of it, but for names and the script's digest, is that of the program itself."""
    path = next(path for path in OF_A_KIND if path.stem.startswith("02"))
    source = Source(path.name, path.read_text("utf-8"))
    script, changed = opened(source, SHELF), 0
    for name in [name.name for name in script.names if name.made]:
        place = next(n.span.start for n in script.names if n.made and n.name == name)
        edits = renamed(script, place, f"other-{name}")
        assert edits, name
        script = opened(Source(path.name, edited(script.source, edits)), SHELF)
        changed += 1
    assert changed >= 3
    before, after = (compile_source(s, ProfileShelf(None), SHELF).plan for s in (source, script.source))
    assert before and after
    assert [shot.launch for shot in before.shots] == [shot.launch for shot in after.shots]
    assert [b.at_s for b in before.launches] == [b.at_s for b in after.launches]


def test_a_name_of_a_used_script_is_changed_there_too() -> None:
    class Shelf:
        def names(self) -> list[str]:
            return ["other.feed"]

        def load(self, name: str) -> Source | None:
            return OTHER if name == "other.feed" else None

    OTHER = Source("other.feed", 'feed slow\n    depth deep\nsession "S"\n    3 balls slow\n')
    script = opened(Source("p.feed", 'use "other.feed"\nfeed fast, like slow\n'), Shelf())
    edits = renamed(script, at(script, "slow"), "easy")
    assert edits and sorted(edit.span.source.name for edit in edits) == ["other.feed", "other.feed", "p.feed"]
    assert edited(OTHER, edits) == OTHER.text.replace("slow", "easy")
