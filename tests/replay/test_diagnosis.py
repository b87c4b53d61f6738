"""What bytes on a port most likely are, where they are not the protocol; each as some end of a line would send them."""

from pathlib import Path
from random import Random

import pytest

from feedwright.targets.machine.replay.diagnosis import left, no_text, unspoken
from feedwright.targets.machine.wire.frames import encode

HI = encode(":", "89abcdef", 1, "hi", {"n": "0badf00d", "v": 1, "id": "bench-1"})
HELLO = encode("@", "00000000", 1, "hello", {"n": "0badf00d", "v": 1})
BAUD = 115_200


def at_another_speed(data: bytes, factor: float) -> bytes:
    """Bytes as a receiver reads them that takes `factor` times as long for a bit as their sender: start bit, eight data
    bits from the lowest on, stop bit; it waits for the next falling edge after each."""
    level = [1, 1, 1, 1]
    for byte in data:
        level += [0, *(byte >> bit & 1 for bit in range(8)), 1]
    level += [1] * 40
    out, at = bytearray(), 0.0
    while True:
        while at < len(level) - 11 * factor and level[int(at)]:
            at = int(at) + 1
        if at >= len(level) - 11 * factor:
            return bytes(out)
        out.append(sum(level[int(at + (bit + 1.5) * factor)] << bit for bit in range(8)))
        at += 9.5 * factor


@pytest.mark.parametrize(
    ("first", "said"),
    [
        (b"", "Nothing came from the port"),
        (HI.replace(b"\n", b"\r\n") * 3, "CR or CR LF, and LF alone"),
        (HI.replace(b"\n", b"\r") * 3, "CR or CR LF, and LF alone"),
        (HI.upper() * 3, "upper case"),
        (HI.upper().replace(b"\n", b"\r\n"), "upper case"),
        (HELLO * 3, "sends back what is written to it"),
        (HELLO.replace(b"\n", b"\r\n") * 3, "sends back what is written to it"),
        (b"login: \r\nPassword: ", "such as `Password: `"),
        (b"\x1b[2J> \r\n", "such as `\\x1b[2J> `"),
        (HI.replace(b"id=bench-1", b"id=bench-2"), "checksums do not fit"),
        (b"\xff\xfe\x80\x00" * 30, "not set to 115200 baud"),
        (bytes(100), "not set to 115200 baud"),
    ],
)
def test_what_came_is_told(first: bytes, said: str) -> None:
    assert said in unspoken(first, BAUD)


@pytest.mark.parametrize("factor", [0.125, 0.25, 0.5, 1.5, 2.0, 6.0, 12.0])
def test_a_line_at_another_speed_is_told_from_one_with_a_flipped_bit(factor: float) -> None:
    """Speeds from 1/12 to 8 times the port's, each bit sampled in its middle as receivers do (common practice)."""
    talk = b"".join(encode(":", "89abcdef", n, "ok", {"b": n * 37}) for n in range(1, 60))
    assert no_text(at_another_speed(talk, factor)[:400]), factor
    assert not no_text(talk)
    random = Random(1)
    flipped = bytes(byte ^ (1 << random.randrange(8)) * (random.random() < 0.1) for byte in talk)
    assert not no_text(flipped)


def test_the_guesses_of_the_page_are_those_that_are_made() -> None:
    page = (Path(__file__).parents[2] / "targets" / "machine" / "replay" / "REPLAY.md").read_text("utf-8")
    table = page[page.index("| it says | look at |") : page.index("The first five are guesses")]
    cells = [line.split(" | ")[0].removeprefix("| ") for line in table.splitlines()[2:] if line]
    said = [unspoken(first, BAUD) for first in (
        b"", bytes(99), HI.replace(b"\n", b"\r\n"), HI.upper(), HI.replace(b"h-1", b"h-2"), HELLO, b"hello\n")
    ]  # fmt: skip
    for phrase in (part for cell in cells[:5] for part in cell.split(", ")):
        assert any(phrase in sentence for sentence in said), phrase


@pytest.mark.parametrize("before", [b"", b"\x00\xff boot\r\n", HELLO])
def test_where_the_protocol_is_spoken_nothing_is_guessed(before: bytes) -> None:
    assert unspoken(before + HI, BAUD) == ""


def test_why_a_machine_is_in_our_session_no_more() -> None:
    def no(why: str) -> bytes:
        return encode(":", "00000000", 7, "no", {"why": why})

    assert "was reset" in left(HI + no("asleep")) and "Another program" in left(no("asleep") + no("old-session"))
    assert left(HI) == left(b"") == left(no("range")) == ""
