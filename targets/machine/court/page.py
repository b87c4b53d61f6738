"""The page that phones open: one document, its style and its script, each from here and from nowhere else."""

from collections.abc import Mapping
from pathlib import Path

from . import words

FOLDER = Path(__file__).parent


def joining(may: str, caution: str) -> str:
    """The form of the way in: what a phone may do then, and what it may not be taken for."""
    return f"""<form id="join" hidden>
<h1>On court</h1>
<p>{may}</p>
<p><label for="word">One-time word</label><input id="word" autocomplete="off" autocapitalize="none"></p>
<p><label for="name">Your name</label><input id="name" maxlength="24" autocomplete="off"></p>
<p><button>Join</button></p>
<p id="refused" role="alert"></p>
<p>{caution}</p>
</form>"""


JOIN_REPLAY = joining(
    "This phone will be able to stop, pause and mark, or only to watch, as its word says. It can never start anything.",
    words.OWN_SWITCH,
)
DOCUMENT = f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>On court</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="/icon.svg">
<link rel="stylesheet" href="/court.css">
<script src="/link.js" defer></script>
<script src="/court.js" defer></script>
</head>
<body>
<noscript><p>This page needs JavaScript. Use the machine's own switch.</p></noscript>
{JOIN_REPLAY}
<main id="court" hidden>
<p id="link" role="alert"></p>
<header><h1 id="headline" role="status"></h1><p id="title"></p></header>
<section id="ball">
<p id="giant"></p>
<p id="seconds" aria-hidden="true"></p>
<p id="lines"></p>
</section>
<p id="why" role="status"></p>
<p id="counts"></p>
<p id="streak"></p>
<ul id="afterwards"></ul>
<section id="asks">
<p id="marks"><button id="hit" type="button">hit</button><button id="miss" type="button">miss</button></p>
<p id="meant"></p>
<p id="less"><button id="undo" type="button">undo</button><button id="pause" type="button">pause</button></p>
<p id="became" role="status"></p>
<button id="stop" type="button" aria-label="Stop the machine">STOP</button>
</section>
<footer>
<p>{words.OWN_SWITCH} One ball may still come after STOP. This page cannot start anything.</p>
<p><label for="sound">Sound</label><select id="sound"><option value="none">none</option>
<option value="tones">tones</option>
<option value="voice">tones and voice</option></select>
<label><input id="shake" type="checkbox">vibrate</label></p>
</footer>
</main>
</body>
</html>
"""
ICON = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16"><circle cx="8" cy="8" r="7" fill="#c8d94a"/>'
    '<path d="M3 3a8 8 0 0 1 0 10M13 3a8 8 0 0 0 0 10" fill="none" stroke="#fff"/></svg>'
)
Files = Mapping[str, tuple[bytes, str]]
"""What a server gives out: bytes and their kind, by path."""
SHARED: Files = {
    "/link.js": ((FOLDER / "link.js").read_bytes(), "text/javascript"),
    "/icon.svg": (ICON.encode(), "image/svg+xml"),
}
FILES: Files = {
    **SHARED,
    "/": (DOCUMENT.encode(), "text/html"),
    "/court.css": ((FOLDER / "court.css").read_bytes(), "text/css"),
    "/court.js": ((FOLDER / "court.js").read_bytes(), "text/javascript"),
}
