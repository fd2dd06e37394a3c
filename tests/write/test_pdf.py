"""PDF: a page of its size for each drawn one, fonts inside, the same bytes, refusals."""

from __future__ import annotations

import contextlib
import re
import zlib

import pytest

from autoorch.errors import OutputError
from autoorch.write import pdf as pdf_module
from autoorch.write.pdf import pdf
from tests.write.test_engrave import engraved


def inside(data: bytes) -> bytes:
    """The file with its compressed streams unpacked."""
    found = [data]
    for match in re.finditer(rb"stream\r?\n", data):
        with contextlib.suppress(zlib.error):
            found.append(zlib.decompressobj().decompress(data[match.end() :]))
    return b"\n".join(found)


def test_a_page_of_the_right_size_for_each_page_of_music() -> None:
    made, _ = engraved("chamber")
    data = pdf(made, 'A "waltz" \\ #1')
    assert data.startswith(b"%PDF-")
    boxes = re.findall(rb"/MediaBox\s*\[0 0 ([\d.]+) ([\d.]+)\]", inside(data))
    points = [(round(float(w) / 72 * 25.4), round(float(h) / 72 * 25.4)) for w, h in boxes]
    assert points == [(round(made.size.width), round(made.size.height))] * len(made.pages)


def test_the_music_font_is_embedded_for_the_signs_inside_texts() -> None:
    made, _ = engraved("string quartet")
    assert re.search("[\ue000-\uf8ff]", made.pages[0]), "the metronome mark's note (SMuFL)"
    assert b"Leipzig" in inside(pdf(made))


def test_the_same_pages_give_the_same_bytes() -> None:
    made, _ = engraved("string quartet")
    assert pdf(made) == pdf(made)


def test_a_missing_extra_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf_module, "PACKAGES", ("no_such_package",))
    with pytest.raises(OutputError, match=r"pip install 'autoorch\[pdf\]'"):
        pdf_module.ready()
