"""A page to print: the test balls with their settings, and boxes for where they land."""

from collections.abc import Sequence
from html import escape

from ...compiler.model.plan import Plan
from ...compiler.printable import visible
from .sheet.words import setting, turned

STYLE = (
    "body{font:17pt sans-serif;margin:12mm}table{border-collapse:collapse;width:100%}"
    "td,th{border:2px solid #000;padding:2mm;text-align:left}td.box{width:32mm;height:11mm}"
    "li{font-size:14pt}tr{break-inside:avoid}@page{size:A4;margin:10mm}"
)


def render(plan: Plan, cautions: Sequence[str]) -> bytes:
    """HTML: the cautions, how to measure, a row for each test ball in the order of the plan."""
    units = plan.feeder.setting_units
    rows = []
    for shot in plan.shots:
        told = ", ".join(
            f"{setting(name)} {value:g} {units[name]}{turned(name, value)}"
            for name, value in shot.settings.items()
            if name in units
        )
        rows.append(f"<tr><th>{_plain(shot.id)}</th><td>{_plain(told)}</td>" + '<td class="box"></td>' * 3 + "</tr>")
    warned = "".join(f"<li>{_plain(line)}</li>" for line in cautions)
    page = (
        '<!doctype html><html lang="en"><meta charset="utf-8">'
        f"<title>{_plain(plan.program)}</title><style>{STYLE}</style><h1>{_plain(plan.program)}</h1><ul>{warned}</ul>"
        "<p>The net is 0, and the chalk line from the middle of the net to the middle of the baseline is 0. Right and "
        "left are seen from behind the machine. Leave a ball that nobody saw empty. By: tape, paces or eye.</p>"
        "<table><tr><th>ball</th><th>set to</th><th>past the net, m</th><th>right + or left -, m</th><th>by</th></tr>"
        f"{''.join(rows)}</table><p>Plan {plan.digest[:16]}, profile {_plain(plan.feeder.name)}.</p></html>\n"
    )
    return page.encode()


def _plain(text: str) -> str:
    return escape(visible(text))
