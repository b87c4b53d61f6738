"""A device written from PROTOCOL.md alone, held against every vector: page and vectors agree, or this fails."""

import re
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

import pytest

from .stranger import Stranger, checksum

STREAM = Path(__file__).parents[2] / "targets" / "machine" / "wire"
ROWS = [line.split("\t") for line in (STREAM / "vectors.txt").read_text("ascii").splitlines() if line[0] != "#"]
TALK = [(kind.split()[1], int(ms), text) for kind, ms, text in ROWS if kind.startswith("talk")]
GOOD = [(kind.split()[1], name, text) for kind, name, text in ROWS if kind.startswith("good")]
BAD = [(kind.split()[1], name, bytes.fromhex(text)) for kind, name, text in ROWS if kind.startswith("bad")]
PAGE = (STREAM / "PROTOCOL.md").read_text("utf-8")


class OfTheVectors(Stranger):
    """The machine of the page's example, and it draws what the conversation says that was drawn."""

    def __init__(self) -> None:
        ranges = {"s": (8333, 30556), "e": (0, 45000), "a": (-12000, 12000), "t": (-12000, 18000), "k": (0, 0)}
        super().__init__(ranges, 31000, 1900, "club-two-wheel")
        said = " ".join(text for who, _, text in TALK if who == "device")
        self._words: Iterator[str] = iter(re.findall(r" k=([0-9a-f]{8}) ", said))

    def draw(self) -> str:
        return next(self._words)

    def draw_session(self) -> str:
        return "5e551011"

    def draw_code(self) -> str:
        return "k7wd"


def test_the_examples_limits_have_the_fit_that_the_page_says() -> None:
    assert OfTheVectors().checksum() == "b82a2a2c" and checksum(b"123456789") == "cbf43926"


def test_it_says_word_for_word_what_the_conversation_says() -> None:
    device = OfTheVectors()
    for ms, rows in groupby(TALK, key=lambda row: row[1]):
        spoken = list(rows)
        for who, _, text in spoken:
            if who == "host":
                device.take(ms, b"\x07" if text == "stop" else text.encode() + b"\n")
        device.pass_time(ms)
        said, device.out = device.out.decode().splitlines(), b""
        assert said == [text for who, _, text in spoken if who == "device"], ms
    assert device.thrown == [(1, 4610)]


@pytest.mark.parametrize(("why", "name", "data"), BAD, ids=[name for _, name, _ in BAD])
def test_a_bad_line_meets_its_refusal(why: str, name: str, data: bytes) -> None:
    device = OfTheVectors()
    device.take(0, data + b"\n")
    said = device.out.decode()
    assert said == "" if why == "swallowed" else said.startswith(f":00000000 0 no why={why} ~")


@pytest.mark.parametrize(("name", "text"), [(name, text) for who, name, text in GOOD if who == "host"])
def test_a_good_line_is_no_garbled_one(name: str, text: str) -> None:
    device = OfTheVectors()
    device.take(0, text.encode() + b"\n")
    assert "garbled" not in device.out.decode() and device.out


@pytest.mark.parametrize(("name", "text"), [(name, text) for who, name, text in GOOD if who == "device"])
def test_what_a_device_says_has_the_form_and_checksum_of_the_page(name: str, text: str) -> None:
    head, _, sum_ = text.rpartition("~")
    assert checksum(head.encode()) == sum_ and head.endswith(" ") and len(text) < 200
    form = r":[0-9a-f]{8} (0|[1-9][0-9]{0,8}) [a-z]{2,8}( [a-z][a-z-]{0,11}=[a-z0-9.+-]{1,24})* "
    assert re.fullmatch(form, head)


def test_it_shares_no_line_with_the_rest() -> None:
    code = (Path(__file__).parent / "stranger.py").read_text("utf-8")
    assert set(re.findall(r"^(?:from|import) (\w+)", code, re.M)) == {"itertools", "re", "dataclasses"}


def test_what_the_page_says_of_a_yes_gives_the_vectors_number() -> None:
    assert re.search(r"taken in ms 1600 with `w=3000` it is 4601", PAGE)
    assert ("device", 1600, ":5e551011 4 ok not-before=4601 ~7278b896") in TALK
