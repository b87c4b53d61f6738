"""Each fault of a line, alone: the runs with random faults show something only if their lines have these."""

from random import Random

import pytest

from feedwright.targets.machine.replay.line import LineFaults, SerialLine

SENT = b"feed 12 100\n"
LATER = 10.0
"""When all has arrived, in s."""


def line(seed: int = 1, **faults: float) -> SerialLine:
    return SerialLine(LineFaults(**faults), Random(seed))


@pytest.mark.parametrize("seed", range(5))
def test_a_flipped_line_differs_in_one_bit(seed: int) -> None:
    one = line(seed, flipped=1.0)
    one.write(0.0, SENT)
    came = one.read(LATER)
    assert len(came) == len(SENT)
    assert sum((a ^ b).bit_count() for a, b in zip(came, SENT, strict=True)) == 1


@pytest.mark.parametrize(
    ("fault", "comes"),
    [("lost", b""), ("doubled", SENT * 2), ("merged", SENT[:-1])],
)
def test_a_line_that_is_lost_doubled_or_merged(fault: str, comes: bytes) -> None:
    one = line(**{fault: 1.0})
    one.write(0.0, SENT)
    assert one.read(LATER) == comes and one.seen == {fault: 1}


def test_a_line_takes_its_time_and_a_delayed_one_holds_up_the_next() -> None:
    one = line(takes_s=0.5)
    one.write(1.0, SENT)
    assert (one.due(), one.read(1.4), one.read(1.5)) == (1.5, b"", SENT)
    late = line(takes_s=0.5, delayed=1.0)
    late.write(1.0, SENT)
    due = late.due()
    assert due is not None and 1.5 < due <= 1.9
    late.faults = LineFaults(takes_s=0.5)
    late.write(1.0, b"stop\n")
    assert late.read(due) == SENT + b"stop\n"
