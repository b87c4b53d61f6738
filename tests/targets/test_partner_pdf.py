"""The page for two players without a feeder, as it leaves the printer: measured from the PDF."""

import pytest

from feedwright.targets.outputs.sheet import partner, pdf

from . import measure
from .more_plans import ladder, ten_rows
from .plans import make_plan

pytest.importorskip("typst", reason="the extra pdf is not installed")


def test_the_partner_form_gives_both_a_variation_and_changes_over_half_way() -> None:
    plan = make_plan(machine=False)
    seen = "".join(measure.text(page) for page in measure.pages(pdf.render(partner.document(plan))))
    assert "0:36to0:49:player1steady,player2changing." in seen  # 26 s of the mix, then the clock stands at 1:02
    assert "0:49to1:02:changeover.Player2steady," in seen
    assert "wheel" not in seen and "feedfrom" not in seen.lower()


def test_the_partner_form_says_rests_and_collects_by_the_clock() -> None:
    pages = partner.document(make_plan(machine=False)).pages
    said = [(i.data["clock"], i.data["text"].replace("\u00a0", " ")) for p in pages for i in p if i.kind == "step"]
    assert [step for step in said if step[1]] == [("0:16", "Rest 20 s"), ("1:02", "Collect 1 min")]


@pytest.mark.parametrize("words", [3, 150])
def test_the_partner_form_explains_each_variation_where_it_comes_first(words: int) -> None:
    plan = ten_rows(False)
    notes = {v.id: (" ".join([f"{v.id}-note"] * words),) for v in plan.variations}
    told = tuple(v.model_copy(update={"when": f"{v.id}-when", "notes": notes[v.id]}) for v in plan.variations)
    form = partner.document(plan.model_copy(update={"variations": told}), large=True)
    items = [item for page in form.pages for item in page]
    texts = " ".join(text for item in items for panel in item.data.get("panels", ()) for text in panel["texts"])
    texts += " ".join(item.data["text"] for item in items if item.kind == "text")  # too long to stand at a picture
    for variation in told:
        assert f"when {variation.when}" in texts and notes[variation.id][0] in texts
    room = form.height / form.scale - 8 - 13  # top and foot
    assert all(sum(item.height_mm for item in page) <= room for page in form.pages)


def test_the_partner_form_refuses_balls_that_cross_no_net() -> None:
    plan = make_plan(machine=False)
    own = plan.model_copy(update={"feeder": plan.feeder.model_copy(update={"players_side": True})})
    with pytest.raises(partner.NoRally, match="over the net"):
        partner.document(own)


def test_each_letter_of_a_partner_block_is_in_its_strip() -> None:
    plan = make_plan(machine=False)  # its rounds are three of A, then two of B
    items = [item for page in partner.document(plan).pages for item in page]
    third = next(n for n, i in enumerate(items) if i.kind == "head" and i.data["text"].startswith("Block 3"))
    steps = [item for item in items[third:] if item.kind == "step"]
    strip = [letter for i in steps for s in i.data["strips"] for g in s for letter in g["letters"]]
    assert "".join(strip) == "AAABB"


def test_a_ladder_s_rungs_are_the_changing_player_s_letters() -> None:
    items = [item for page in partner.document(ladder(machine=False)).pages for item in page]
    strip = [letter for i in items if i.kind == "step" for s in i.data["strips"] for g in s for letter in g["letters"]]
    assert strip == ["A1", "A2", "A3", "A4", "A5"]


def test_the_partner_form_keeps_the_notes_and_names_no_screen() -> None:
    plan = make_plan(machine=False)
    screened = plan.model_copy(update={"feeder": plan.feeder.model_copy(update={"screen": True})})
    seen = "".join(measure.text(page) for page in measure.pages(pdf.render(partner.document(screened))))
    assert "screen" not in seen
    assert "Turntheshouldersearly." in seen  # the variation's
    assert "Calltheletterlate." in seen  # the block's


def test_the_steady_player_stands_where_the_balls_are_met() -> None:
    plan = make_plan(machine=False)
    volleys = tuple(shot.model_copy(update={"stance_y_m": y}) for shot, y in zip(plan.shots, (2.5, 3.0), strict=True))
    for used, said in ((plan.shots, "1mbehindbaseline."), (volleys, "2.5–3mfromnet.")):
        items = [i for page in partner.document(plan.model_copy(update={"shots": used})).pages for i in page]
        lines = [measure.bare(item.data["text"]) for item in items if item.kind == "line"]
        assert f"Thesteadyplayerstands{said}" in lines
