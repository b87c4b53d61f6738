"""What is asked of a sheet that was filled in by hand: in the words of the paper itself."""

import re

from feedwright.targets.log.typed import units
from feedwright.targets.outputs.sheet.page import sheet

from .plans import climbing


def test_each_block_is_asked_by_the_number_the_letters_and_the_order_of_the_paper() -> None:
    asked = [re.fullmatch(r'Block ([0-9]+)(?:, round [0-9]+)?, (.+) "(.*)"', unit.sheet) for unit in units(climbing())]
    told = list(dict.fromkeys((int(m[1]), m[2], m[3]) for m in asked if m))
    assert all(asked)
    *parts, ladder = sheet(climbing()).parts
    paper = [(part.number, " ".join(one.letters), one.title) for part in parts for one in part.variations]
    assert told == paper + [(ladder.number, *rung) for rung in ladder.rungs[0].rungs]
