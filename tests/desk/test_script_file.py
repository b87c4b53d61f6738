"""The one file that a desk writes: whole or not at all, over nothing that another program wrote, through no link."""

import os
from pathlib import Path

import pytest

from feedwright.compiler import scripts
from feedwright.compiler.scripts import Refusal
from feedwright.targets.desk.script_file import ScriptFile, free_name


def test_a_new_script_is_there_once_it_is_saved(tmp_path: Path) -> None:
    file = ScriptFile(tmp_path, "a.feed")
    assert file.read() is None and not file.changed() and os.listdir(tmp_path) == []
    assert file.save("one\n")
    assert (tmp_path / "a.feed").read_bytes() == b"one\n" and os.listdir(tmp_path) == ["a.feed"]
    assert file.save("two\n") and not file.changed()


def test_what_another_program_wrote_stays(tmp_path: Path) -> None:
    file = ScriptFile(tmp_path, "a.feed")
    (tmp_path / "a.feed").write_text("one\n")
    assert file.read() == "one\n"
    (tmp_path / "a.feed").write_text("other\n")
    assert file.changed() and not file.save("mine\n")
    assert (tmp_path / "a.feed").read_text() == "other\n"
    file.keep()
    assert file.save("mine\n") and (tmp_path / "a.feed").read_text() == "mine\n"


def test_a_file_that_came_or_went_is_told_too(tmp_path: Path) -> None:
    file = ScriptFile(tmp_path, "a.feed")
    file.read()
    (tmp_path / "a.feed").write_text("other\n")
    assert file.changed() and not file.save("mine\n")
    file.keep()
    (tmp_path / "a.feed").unlink()
    assert file.changed() and not file.save("mine\n") and os.listdir(tmp_path) == []


def test_a_save_that_fails_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = ScriptFile(tmp_path, "a.feed")
    (tmp_path / "a.feed").write_text("one\n")
    file.read()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(scripts.os, "fsync", full)
    with pytest.raises(Refusal, match="No space left"):
        file.save("two\n")
    assert (tmp_path / "a.feed").read_text() == "one\n" and os.listdir(tmp_path) == ["a.feed"]
    with pytest.raises(Refusal, match="larger"):
        file.save("a" * 300_000)


@pytest.mark.parametrize("dangling", [False, True])
def test_no_link_is_followed(tmp_path: Path, dangling: bool) -> None:
    folder, outside = tmp_path / "in", tmp_path / "secret"
    folder.mkdir()
    if not dangling:
        outside.write_text("secret\n")
    file = ScriptFile(folder, "a.feed")
    file.read()
    for name in ("a.feed", ".a.feed.draft"):
        (folder / name).symlink_to(outside)
    with pytest.raises(Refusal, match="link"):
        file.read()
    assert file.draft() is None
    file.remember("mine\n")
    assert not file.save("mine\n")
    assert outside.read_text() == "secret\n" if not dangling else not outside.exists()


def test_a_draft_lives_until_the_script_is_saved(tmp_path: Path) -> None:
    file = ScriptFile(tmp_path, "a.feed")
    file.read()
    file.remember("typed\n")
    again = ScriptFile(tmp_path, "a.feed")
    assert again.read() is None and again.draft() == "typed\n"
    assert again.save("typed\n") and again.draft() is None and os.listdir(tmp_path) == ["a.feed"]


def test_a_first_practice_takes_no_name_that_is_taken(tmp_path: Path) -> None:
    assert free_name(tmp_path) == "practice.feed"
    (tmp_path / "practice.feed").symlink_to("nowhere")
    assert free_name(tmp_path) == "practice-2.feed"


def test_half_a_sign_keeps_nothing_from_being_saved(tmp_path: Path) -> None:
    """A page counts in UTF-16, and can cut a sign of two units in the middle."""
    file = ScriptFile(tmp_path, "a.feed")
    file.read()
    assert file.save("# \ud83c here\n") and file.path.read_bytes() == b"# ? here\n"


@pytest.mark.parametrize(
    "name", ["../b.feed", "/b.feed", "sub/b.feed", ".b.feed", "b.feed.txt", "b\n.feed", "b", "", "é.feed", "a.feed"]
)
def test_a_page_names_a_file_of_its_folder_alone(tmp_path: Path, name: str) -> None:
    (tmp_path / "a.feed").write_text("other", "utf-8")
    file = ScriptFile(tmp_path, "practice.feed", unnamed=True)
    file.remember("mine")
    with pytest.raises(Refusal):
        file.call(name)
    assert file.draft() == "mine" and {one.name for one in tmp_path.iterdir()} == {"a.feed", ".practice.feed.draft"}
    file.call("Tuesday_2.feed")
    assert file.draft() == "mine" and file.save("mine")
    assert {one.name for one in tmp_path.iterdir()} == {"a.feed", "Tuesday_2.feed"}
