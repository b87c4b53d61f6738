"""A page of one file: nothing is fetched, and nothing runs but the style and the scripts written here.

Text of a plan is escaped where it enters the page; data is JSON without a "<".
"""

import json
from base64 import b64encode
from collections.abc import Sequence
from hashlib import sha256
from html import escape

from ...compiler.printable import visible


def document(
    title: str, body: str, style: str, scripts: Sequence[str] = (), connects: bool = False, state: str = ""
) -> bytes:
    """UTF-8. The policy allows style and scripts by their digests; `connects` lets the page ask its own server, and
    `state` is attributes of its body."""
    allowed = " ".join(f"'sha256-{_digest(text)}'" for text in scripts) or "'none'"
    policy = f"default-src 'none'; style-src 'sha256-{_digest(style)}'; script-src {allowed}"
    if connects:
        policy += "; connect-src 'self'"
    text = (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(visible(title))}</title><style>{style}</style></head><body{state}>{body}"
        f"{''.join(f'<script>{text}</script>' for text in scripts)}</body></html>\n"
    )
    return text.encode()


def _digest(text: str) -> str:
    return b64encode(sha256(text.encode()).digest()).decode()


def plain(text: str) -> str:
    """Text of the plan, kept from turning the direction of what stands around it."""
    return f"<bdi>{escape(visible(text), quote=True)}</bdi>" if text else ""


def data(value: object) -> str:
    """An element `data` for the page's script."""
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")
    return f'<script type="application/json" id="data">{text}</script>'
