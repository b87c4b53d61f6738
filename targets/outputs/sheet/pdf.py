"""The feed sheet as PDF, set by typst (the extra `pdf`): text goes in as JSON, fonts are embedded, bytes repeat."""

import json
from importlib.resources import as_file, files
from typing import Any, Literal

from .layout import Document

SUSPECTS = b"/Suspects false>>"


class NoTypesetter(Exception):
    """The extra `pdf` is not installed; the text says what to do."""


def render(document: Document) -> bytes:
    """PDF bytes, the same for the same document. Letters beyond the sheet's own font (Latin, Greek, Cyrillic) come
    from the fonts of the computer, if it has them."""
    found = bytes(_set(document, "pdf"))
    # False is the default of Suspects (ISO 32000-1, table 321), and some readers take the entry for a fault. Spaces in
    # its place keep the offsets of the file.
    return found.replace(SUSPECTS, b">>".rjust(len(SUSPECTS)))


def drawings(document: Document) -> list[bytes]:
    """Each page as an SVG with its letters drawn as outlines, so it looks the same without the font."""
    found = _set(document, "svg")
    return [bytes(page) for page in found] if isinstance(found, list) else [bytes(found)]


def _set(document: Document, form: Literal["pdf", "svg"]) -> Any:
    try:
        import font_roboto
        import typst
    except ImportError as missing:
        raise NoTypesetter(
            'a PDF needs the extra "pdf" (pip install "feedwright[pdf]"); the HTML prints the same pages'
        ) from missing
    given = inputs(document)
    text = given["data.json"].decode()
    return typst.compile(
        given,
        font_paths=[font_roboto.font_directory],
        ignore_system_fonts=all(ord(c) < 0x530 or 0x1E00 <= ord(c) < 0x2600 for c in text),
        format=form,
        timestamp=0,
    )


def inputs(document: Document) -> dict[str, bytes]:
    """The files for typst: the template, the text and the pictures."""
    data, pictures = _data(document)
    text = json.dumps(data, ensure_ascii=False, sort_keys=True)
    with as_file(files(__package__) / "sheet.typ") as template:
        return {"main.typ": template.read_bytes(), "data.json": text.encode(), **pictures}


def _data(document: Document) -> tuple[dict[str, Any], dict[str, bytes]]:
    pictures: dict[str, bytes] = {}
    pages = []
    for page in document.pages:
        items = []
        for item in page:
            entry = {**item.data, "kind": item.kind, "height_mm": item.height_mm}
            if "panels" in entry:
                entry["panels"] = [{**panel, "file": _kept(pictures, panel["svg"])} for panel in entry["panels"]]
                for panel in entry["panels"]:
                    del panel["svg"]
            items.append(entry)
        pages.append(items)
    return {
        "title": document.title,
        "digest": document.digest,
        "date": document.date,
        "scale": document.scale,
        "width": document.width,
        "height": document.height,
        "columns": document.columns,
        "dials": document.dials,
        "pages": pages,
    }, pictures


def _kept(pictures: dict[str, bytes], svg: str) -> str:
    """The name of its file."""
    name = f"court-{len(pictures)}.svg"
    pictures[name] = svg.encode()
    return name
