"""One HTML file out of data, styles and scripts: nothing is fetched, and whatever comes from a file can only be text.

Data stand as JSON in a script element of a type that browsers don't run; the scripts put them on the page as text. A policy
in the page's head forbids every address but the page's own parts.
"""

from __future__ import annotations

import base64
import gzip
import html
import json
from collections.abc import Mapping, Sequence
from importlib.resources import files
from typing import Any

_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; "
    "img-src blob: data:; media-src data: blob:; font-src data:"
)


def page(
    title: str,
    body: str,
    styles: Sequence[str],
    scripts: Sequence[str],
    data: Mapping[str, Any],
    packed: Mapping[str, bytes],
) -> bytes:
    """The whole file.

    Args:
        body: name of an HTML fragment of this folder; styles, scripts: names of its files, in order.
        data: id -> value for JSON.
        packed: id -> bytes that are carried compressed, for `unpack` of parts.js.
    """
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<link rel="icon" href="data:,">',
        f"<title>{html.escape(title)}</title>",
        *(f"<style>\n{_file(name)}</style>" for name in styles),
        "</head>",
        "<body>",
        _file(body),
        *(f'<script type="application/json" id="{key}">{_json(value)}</script>' for key, value in data.items()),
        *(_packed(key, value) for key, value in packed.items()),
        *(f"<script>\n{_file(name)}</script>" for name in scripts),
        "</body>",
        "</html>",
        "",
    ]
    return "\n".join(lines).encode()


def _file(name: str) -> str:
    return files("autoorch.write.page").joinpath(name).read_text(encoding="utf-8")


def _packed(key: str, value: bytes) -> str:
    text = base64.b64encode(gzip.compress(value, 6, mtime=0)).decode()
    return f'<script type="application/octet-stream" id="{key}">{text}</script>'


def _json(value: Any) -> str:
    """JSON that can't end its script element."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026").replace("\u2028", "\\u2028")
