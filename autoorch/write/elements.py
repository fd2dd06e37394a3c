"""Building XML elements with lxml, in short."""

from __future__ import annotations

from typing import Any

from lxml import etree

Element = etree._Element
Sub: Any = etree.SubElement


def text(parent: Element, tag: str, content: object, **attributes: str) -> Element:
    """A new last child that holds a text."""
    child: Element = Sub(parent, tag, **attributes)
    child.text = str(content)
    return child
