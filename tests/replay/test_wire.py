"""Frames against vectors that were computed outside this code, and against anything at all."""

import re
from pathlib import Path
from string import ascii_lowercase, digits

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedwright.compiler.model.feeder import Feeder
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.machine.replay.events import Nonsense, answer
from feedwright.targets.machine.wire import rules
from feedwright.targets.machine.wire.frames import LONGEST, Frame, Kind, Splitter, crc, decode, encode

from ..whole import share

STREAM = Path(__file__).parents[2] / "targets" / "machine" / "wire"
VECTORS = [line.split("\t") for line in (STREAM / "vectors.txt").read_text("utf-8").splitlines() if line[0] != "#"]
GOOD = [(kind.split()[1], name, text) for kind, name, text in VECTORS if kind.startswith("good")]
BAD = [(kind.split()[1], name, bytes.fromhex(text)) for kind, name, text in VECTORS if kind.startswith("bad")]
MARKS = {"host": "@", "device": ":"}


@pytest.mark.parametrize("piece", [1, 40, 200])
@pytest.mark.parametrize(("mark", "most"), [("@", 96), (":", 200)])
def test_the_longest_line_is_read_and_a_longer_one_is_not(mark: str, most: int, piece: int) -> None:
    """Its end counted, and in whatever pieces it comes."""
    body = encode(mark, "89abcdef", 1, "hi", {"n": "0badf00d"}).decode().rpartition(" ~")[0]
    for longer, kind in ((0, Kind.LINE), (1, Kind.SWALLOWED), (30, Kind.SWALLOWED)):
        padded, room = body, most + longer - len(" ~89abcdef\n")
        for key in "abcdefghijkl":  # a value has at most 24 characters
            left = room - len(padded)
            padded += f" {key}={'7' * ((left if left < 28 else 20) - 3)}" if left else ""
        line = f"{padded} ~{crc(f'{padded} '.encode())}\n".encode()
        assert len(line) == most + longer
        splitter = Splitter(LONGEST[mark])
        found = [one for at in range(0, len(line), piece) for one in splitter.feed(line[at : at + piece])]
        assert [one for one, _ in found] == [kind]
        assert (decode(mark, line[:-1]) is not None) is (longer == 0)


def test_the_check_value_of_the_catalogue() -> None:
    # CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms (G. Cook): check = 0xcbf43926.
    assert crc(b"123456789") == "cbf43926"


@pytest.mark.parametrize(("end", "name", "text"), GOOD, ids=[name for _, name, _ in GOOD])
def test_a_vector_decodes_and_encodes(end: str, name: str, text: str) -> None:
    frame = decode(MARKS[end], text.encode())
    assert frame is not None
    parts = text.split(" ")
    assert (frame.session, str(frame.number), frame.word) == (parts[0][1:], parts[1], parts[2])
    assert [f"{k}={v}" for k, v in frame.values.items()] == parts[3:-1]
    assert encode(MARKS[end], *frame) == text.encode() + b"\n"
    assert decode(MARKS["device" if end == "host" else "host"], text.encode()) is None


@pytest.mark.parametrize(("why", "name", "data"), BAD, ids=[name for _, name, _ in BAD])
def test_a_bad_vector_is_no_message(why: str, name: str, data: bytes) -> None:
    assert decode("@", data) is None
    ((kind, line),) = Splitter(LONGEST["@"]).feed(data + b"\n")
    assert (kind is Kind.SWALLOWED) == (why == "swallowed") and (why == "swallowed" or line == data)


def test_every_verb_and_event_has_a_vector() -> None:
    assert {decode("@", text.encode()).word for end, _, text in GOOD if end == "host"} == set(rules.VERBS)  # type: ignore[union-attr]
    heard = {decode(":", text.encode()).word for end, _, text in GOOD if end == "device"}  # type: ignore[union-attr]
    assert heard == {*rules.EVENTS, "hi", "tock", "ok", "no"}


@given(st.binary(max_size=300))
@settings(max_examples=share(300))
def test_the_decoder_takes_anything_and_never_more_than_is_said(data: bytes) -> None:
    for mark in "@:":
        for kind, line in Splitter(LONGEST[mark]).feed(data + b"\n"):
            if kind is Kind.LINE and (frame := decode(mark, line)):
                assert encode(mark, *frame) == line + b"\n"


@given(st.data())
@settings(max_examples=share(300))
def test_no_changed_byte_goes_unseen(data: st.DataObject) -> None:
    # Certain for a single byte: a CRC-32 finds every burst of up to 32 bits.
    end, _, text = data.draw(st.sampled_from(GOOD))
    line = bytearray(text.encode())
    place = data.draw(st.integers(0, len(line) - 1))
    line[place] = data.draw(st.integers(0, 255).filter(lambda b: b != line[place]))
    assert decode(MARKS[end], bytes(line)) is None


WORDS = st.text(ascii_lowercase, min_size=2, max_size=8)
VALUES = st.dictionaries(
    st.builds(str.__add__, st.sampled_from(ascii_lowercase), st.text(ascii_lowercase + "-", max_size=5)),
    st.text(ascii_lowercase + digits + ".+-", min_size=1, max_size=8),
    max_size=3,
)


@given(st.integers(0, 99999), WORDS, VALUES)
@settings(max_examples=share(300))
def test_encode_then_decode_is_identity(number: int, word: str, values: dict[str, str]) -> None:
    frame = decode("@", encode("@", "0badf00d", number, word, values)[:-1])
    assert frame is not None and (frame.number, frame.word, dict(frame.values)) == (number, word, values)


@pytest.mark.parametrize("value", ["", "a b", "A", "é", "a\n", "x" * 25, "1_0", "\x07"])
def test_nothing_ill_formed_is_sent(value: str) -> None:
    with pytest.raises(ValueError, match="cannot stand"):
        encode("@", "0badf00d", 1, "fate", {"b": value})


def test_a_line_that_is_too_long_is_not_sent() -> None:
    with pytest.raises(ValueError, match="at most 96 are allowed"):
        encode("@", "0badf00d", 1, "fate", {f"k{c}": "x" * 24 for c in "abcd"})


@pytest.mark.parametrize("text", ["１２", "1_000", " 7", "", "1e3", "0x1", "1234567890", "-1", "+1", "7\n"])
def test_a_natural_number_is_plain_digits(text: str) -> None:
    from feedwright.targets.machine.wire.frames import Frame

    assert Frame("0badf00d", 1, "fate", {"b": text}).natural("b") is None


@pytest.mark.parametrize("text", ["１２", "1_000", "--1", "", "1234567", "+", "nan"])
def test_a_signed_number_is_a_sign_and_digits(text: str) -> None:
    from feedwright.targets.machine.wire.frames import Frame

    assert Frame("0badf00d", 1, "go", {"e": text}).signed("e") is None


def test_stop_bytes_are_taken_out_of_lines() -> None:
    assert list(Splitter(96).feed(b"ab\x07c\n\x07")) == [(Kind.STOP, b""), (Kind.LINE, b"abc"), (Kind.STOP, b"")]


def profile(name: str) -> Feeder:
    found = ProfileShelf().load(name)
    assert found is not None
    return found


def test_fit_is_the_checksum_of_the_limits_in_their_stated_form() -> None:
    # 110 km/h = 30.5555 m/s, 30 km/h = 8.3333 m/s, in mm/s; the checksum was taken from gzip (see vectors.txt).
    limits = profile("club").limits
    assert limits is not None
    assert limits.text == "cap=31000 gap=1900 s=8333..30556 e=0..45000 a=-12000..12000 t=-12000..18000 k=0..0"
    assert limits.checksum == "b82a2a2c"


def test_each_gate_is_a_refusal() -> None:
    assert set(rules.GATES) <= set(rules.REFUSALS)


def test_the_protocol_page_names_every_word_and_number() -> None:
    page = (STREAM / "PROTOCOL.md").read_text("utf-8")
    for word in (*rules.VERBS, *rules.EVENTS, *rules.STATES, *rules.REFUSALS, *rules.FATES):
        assert re.search(rf"[`| ]{word}[`|,: ]", page), word
    numbers = {name: value for name, value in vars(rules).items() if name.endswith("_MS")}
    for name, value in numbers.items():
        for number in value if isinstance(value, tuple) else (value,):
            assert re.search(rf"\b{number:,} ms".replace(",", "[, ]?"), page), (name, number)


@pytest.mark.parametrize(("verb", "word"), [("arm", "hi"), ("hello", "ok"), ("stop", "hi"), ("go", "maybe")])
def test_an_answer_of_another_verb_is_no_answer(verb: str, word: str) -> None:
    hello = "n=0 v=1 id=shed boot=1 state=asleep k=0 t=0 cap=1 gap=1 limits=0 last=0 lfp=0 lrun=0"
    told = answer(verb, Frame("s", 1, word, dict(pair.split("=") for pair in hello.split())))
    assert told == Nonsense(f"{word}, which is no answer to {verb}")


def test_a_line_is_garbled_by_one_byte_wherever_it_arrives() -> None:
    for line in (b"@s 1 hel\x01lo\n", b"\x80@s 1 hello\n", b"@s 1 hello\r\n"):
        for cut in range(len(line)):
            splitter = Splitter(80)
            told = [*splitter.feed(line[:cut]), *splitter.feed(line[cut:]), *splitter.feed(b"@s 2 hello\n")]
            assert [kind for kind, _ in told] == [Kind.GARBLED, Kind.LINE]
