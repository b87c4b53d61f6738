"""The feed sheet as PDF, set by typst (the extra `pdf`): text goes in as JSON, fonts are embedded, bytes repeat."""

import json
from importlib.resources import as_file, files
from typing import Any

from .layout import Document


class NoTypesetter(Exception):
    """The extra `pdf` is not installed; the text says what to do."""


def render(document: Document) -> bytes:
    """PDF bytes, the same for the same document. Letters beyond the sheet's own font (Latin, Greek, Cyrillic) are
    taken from the fonts of the computer, where it has them."""
    try:
        import font_roboto
        import typst
    except ImportError as missing:
        raise NoTypesetter(
            'a PDF needs the extra "pdf" (pip install "feedwright[pdf]"); the HTML prints the same pages'
        ) from missing
    data, pictures = _data(document)
    text = json.dumps(data, ensure_ascii=False, sort_keys=True)
    with as_file(files(__package__) / "sheet.typ") as template:
        source = template.read_bytes()
    return bytes(
        typst.compile(
            {"main.typ": source, "data.json": text.encode(), **pictures},
            font_paths=[font_roboto.font_directory],
            ignore_system_fonts=all(ord(c) < 0x530 or 0x1E00 <= ord(c) < 0x2600 for c in text),
            format="pdf",
            timestamp=0,
        )
    )


def _data(document: Document) -> tuple[dict[str, Any], dict[str, bytes]]:
    pictures: dict[str, bytes] = {}
    pages = []
    for page in document.pages:
        items = []
        for item in page:
            entry = {**item.data, "kind": item.kind, "height_mm": item.height_mm}
            if "svg" in entry:
                entry["file"] = f"court-{len(pictures)}.svg"
                pictures[entry["file"]] = entry.pop("svg").encode()
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
