"""Whatever a session is made of, a sheet, a page, a table and a stream can be written of it."""

from hypothesis import given, settings
from hypothesis import strategies as st

from feedwright.compiler.pipeline import compile_source
from feedwright.grammar.source import Source
from feedwright.programs import ScriptShelf
from feedwright.targets.machine.feeders import ProfileShelf
from feedwright.targets.outputs import stream, table
from feedwright.targets.outputs.sheet import html, partner, phone
from feedwright.targets.outputs.sheet.layout import document

from ..whole import WHOLE

HEAD = """\
program "Any"
    surface   hard
    player    right-handed, 1.72 m tall
    feeder    machine academy, on centre, on baseline, behind a screen
variation go "deep"
    reply     0 to 6 m inside baseline
feed easy aims go
    side      backhand wing
    depth     1 to 3.5 m inside baseline
    stance    2.5 m behind baseline
    height    waist, falling
    spin      topspin 900 rpm
    interval  4 s
feed other, like easy
    height    hip, falling
point two
    plays easy, then other
session "s"
"""
BLOCKS = st.sampled_from([
    ["4 balls easy"], ["6 balls mix easy, other"], ["8 balls cycle easy, other", "    goal 3 of 8"], ["20 s easy"],
    ["4 points two", "    goal 2 of 4"], ["9 balls easy, until 3 in a row"], ["8 balls easy, until 3 of every 4"],
    ["8 balls easy", "    rest 20 s after every 4 balls"], ["5 points two, first to 3"],
    ["ladder easy, up to 9 balls, pace 80, 85, 90 km/h", "    up 2 in a row"],
])  # fmt: skip
PAUSES = st.sampled_from([["rest 20 s"], ["collect 1 min"], ["rest 1 min"]])
BETWEEN = st.sampled_from([[], ["rest 30 s between rounds"], ["rest 30 s"], ["collect 1 min between rounds"]])


@st.composite
def rounds(draw: st.DrawFn, inner: st.SearchStrategy[list[list[str]]]) -> list[str]:
    goal = draw(st.sampled_from([[], ["goal 3 of 40 in all"]]))
    lines = [line for item in draw(inner) for line in item] + draw(BETWEEN)
    return [f"{draw(st.integers(2, 4))} rounds", *(f"    {line}" for line in goal + lines)]


def items(longest: int) -> st.SearchStrategy[list[list[str]]]:
    one = st.recursive(BLOCKS | PAUSES, lambda inner: rounds(st.lists(inner, min_size=1, max_size=3)), max_leaves=4)
    return st.lists(one, min_size=1, max_size=longest)


@settings(deadline=None, max_examples=300 if WHOLE else 12)
@given(items(4))
def test_each_target_takes_whatever_session_there_is(session: list[list[str]]) -> None:
    text = HEAD + "".join(f"    {line}\n" for item in session for line in item)
    found = compile_source(Source("any.feed", text), ProfileShelf(), ScriptShelf(None), plan=True, remedies=False)
    plan = found.plan
    if plan is None:
        return
    for large in (False, True):
        html.render(document(plan, large=large))
    html.render(partner.document(plan))
    for target in (phone, stream, table):
        assert target.render(plan)
