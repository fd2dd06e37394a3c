"""One file for a page: nothing fetched, text of a file stays text, the same values give the same bytes."""

from __future__ import annotations

import base64
import gzip
import json
import re

from autoorch.write.page.shell import page

EVIL = "</script><script>alert(1)</script><img src=x onerror=alert(2)>&amp;\u2028"


def made(**data: object) -> str:
    return page(EVIL, "report.html", ["page.css"], ["parts.js"], data, {"one": b"<svg/>"}).decode()


def test_what_comes_from_a_file_is_only_text() -> None:
    text = made(value={"title": EVIL, EVIL: [EVIL]})
    assert "alert(1)</script>" not in text and "<img" not in text
    (stored,) = re.findall(r'<script type="application/json" id="value">(.*?)</script>', text, re.DOTALL)
    assert json.loads(stored) == {"title": EVIL, EVIL: [EVIL]}, "and comes back as it was"
    assert "<title>&lt;/script&gt;" in text


def test_nothing_is_fetched() -> None:
    text = made()
    assert "default-src 'none'" in text
    addresses = re.findall(r"""(?:src|href)\s*=\s*["']([^"']*)""", text) + re.findall(r"url\(([^)]*)\)", text)
    assert [address for address in addresses if not address.startswith(("#", "data:"))] == []
    assert not re.search(r"@import|fetch\(|XMLHttpRequest|WebSocket|importScripts|sendBeacon", text)


def test_packed_bytes_come_back() -> None:
    (stored,) = re.findall(r'<script type="application/octet-stream" id="one">(.*?)</script>', made())
    assert gzip.decompress(base64.b64decode(stored)) == b"<svg/>"


def test_the_same_values_give_the_same_bytes() -> None:
    assert made(value=[1]) == made(value=[1])
