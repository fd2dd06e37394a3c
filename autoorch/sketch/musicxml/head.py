"""What stands above the music of a MusicXML file: title, composer, other texts of the page, names of the parts."""

from __future__ import annotations

from lxml import etree

from autoorch.sketch.guard import plain

HEAD_TAGS = ("work", "movement-title", "identification", "credit", "part-list")
NAME_LENGTH = 80

# What a text of the first page is by its place, where the file does not say (common practice of title pages).
_KIND_BY_PLACE = {"center": "title", "right": "composer"}


class Head:
    """Filled by `read` from each of HEAD_TAGS.

    Attributes:
        names: part id -> its printed name, or that of its instrument where it has none.
    """

    def __init__(self) -> None:
        self.names: dict[str, str] = {}
        self._work = ""
        self._movement = ""
        self._composer = ""
        self._credits: list[tuple[str, str]] = []
        self._people: list[str] = []

    @property
    def title(self) -> str:
        if self._work and self._movement and self._movement != self._work:
            return f"{self._work}: {self._movement}"
        return self._work or self._movement or self._credit("title")

    @property
    def composer(self) -> str:
        return self._composer or self._credit("composer")

    def other_texts(self) -> list[str]:
        """Texts that are neither title nor composer nor page numbers."""
        known = {self.title, self._work, self._movement, self.composer}
        free = [text for kind, text in self._credits if kind != "page number" and not text.isdigit()]
        return [text for text in dict.fromkeys([*self._people, *free]) if text not in known]

    def read(self, element: etree._Element, most: int) -> None:
        """One element of HEAD_TAGS; texts are cut to `most` characters."""
        match element.tag:
            case "work":
                self._work = plain(element.findtext("work-title"), most)
            case "movement-title":
                self._movement = plain(element.text, most)
            case "part-list":
                self.names = {part.get("id") or "": _name(part) for part in element.iterfind("score-part")}
            case "credit":
                self._read_credit(element, most)
            case "identification":
                self._read_people(element, most)

    def _credit(self, kind: str) -> str:
        return next((text for found, text in self._credits if found == kind), "")

    def _read_credit(self, element: etree._Element, most: int) -> None:
        words = element.findall("credit-words")
        text = plain(" ".join(word.text or "" for word in words), most)
        if text:
            kind = plain(element.findtext("credit-type"), NAME_LENGTH)
            if not kind and (element.get("page") or "1") == "1":
                kind = _KIND_BY_PLACE.get(words[0].get("justify") or "", "")
            self._credits.append((kind, text))

    def _read_people(self, element: etree._Element, most: int) -> None:
        for child in element.iterchildren("creator", "rights"):
            kind = child.get("type") or str(child.tag)
            text = plain(child.text, most)
            if kind == "composer" and not self._composer:
                self._composer = text
            elif text:
                self._people.append(f"{plain(kind, NAME_LENGTH)}: {text}")


def _name(part: etree._Element) -> str:
    names = (plain(part.findtext(path), NAME_LENGTH) for path in ("part-name", "score-instrument/instrument-name"))
    return next((name for name in names if name), "")
