"""PDF of engraved pages, by typst: vector drawings, the music font of the pages themselves, the same bytes each time.

Needs the extra "pdf" (typst, fonttools), which comes as wheels.
"""

from __future__ import annotations

import base64
import re
import tempfile
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path

from autoorch.errors import OutputError
from autoorch.write.engrave import Engraving

PACKAGES = ("typst", "fontTools", "brotli")
_FONT = re.compile(r"@font-face\s*\{[^}]*base64,([A-Za-z0-9+/=]+)[^}]*\}")
_TEXT = "Times, serif"
TEXT = "Libertinus Serif"
"""The serif that typst carries."""


def ready() -> None:
    """Nothing, where the extra is installed.

    Raises:
        OutputError: what to install.
    """
    for name in PACKAGES:
        if find_spec(name) is None:
            raise OutputError(f"--pdf needs {name}: pip install 'autoorch[pdf]'")


def pdf(engraving: Engraving, title: str = "") -> bytes:
    """The pages as one PDF.

    Raises:
        OutputError: where the extra is not installed.
    """
    ready()
    import typst

    width, height = engraving.size.width, engraving.size.height
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        lines = [f"#set document(title: {_quoted(title)}, date: none)"] if title else ["#set document(date: none)"]
        lines.append(f"#set page(width: {width:g}mm, height: {height:g}mm, margin: 0pt)")
        for number, page in enumerate(engraving.pages, 1):
            for font in _FONT.findall(page):
                if not (folder / "music.ttf").exists():
                    (folder / "music.ttf").write_bytes(_plain_font(base64.b64decode(font)))
            drawing = _FONT.sub("", page).replace(_TEXT, TEXT)
            (folder / f"{number}.svg").write_text(drawing, encoding="utf-8")
            lines.append(f'#image("{number}.svg", width: 100%, height: 100%)')
        source = folder / "pages.typ"
        source.write_text("\n".join(lines), encoding="utf-8")
        made: bytes = typst.compile(str(source), font_paths=[str(folder)], ignore_system_fonts=True, timestamp=0)
    return made


def _plain_font(compressed: bytes) -> bytes:
    """WOFF2 to TrueType."""
    from fontTools.ttLib import TTFont

    font = TTFont(BytesIO(compressed), recalcTimestamp=False)
    font.flavor = None
    found = BytesIO()
    font.save(found)
    return found.getvalue()


def _quoted(text: str) -> str:
    """A typst string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ")
    return f'"{escaped}"'
