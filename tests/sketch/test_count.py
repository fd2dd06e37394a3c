"""Nothing is lost in silence: every tag that MusicXML 4.0 knows is layout, kept, or listed."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from lxml import etree

from autoorch.sketch.musicxml.count import LAYOUT, Count
from tests.support.schema import XSD
from tests.support.xml import COMMON, bar, note, read, score

FOUR = f"<divisions>4</divisions>{COMMON}"


def test_what_is_seen_and_not_kept_is_listed_in_plain_words() -> None:
    count = Count()
    count.see(etree.fromstring("<measure><note><pitch/></note><slur/><slur/><slur/><figured-bass/><my-own/></measure>"))
    count.keep("slur", 2)
    count.give_up("microtone, taken as a semitone", "microtones, taken as semitones")
    assert count.lost() == (
        "1 figured-bass sign",
        "1 microtone, taken as a semitone",
        "1 my own sign",
        "1 slur end without its partner",
    )


def test_the_layout_tags_are_tags_of_the_standard() -> None:
    package = find_spec("musicxml")
    assert package is not None and package.submodule_search_locations
    schema = etree.parse(Path(package.submodule_search_locations[0], "generate_classes", "musicxml_4_0.xsd"))
    names = {element.get("name") for element in schema.iter(f"{XSD}element")}
    assert sorted(LAYOUT - names) == []


def test_a_sketch_lists_what_it_gives_up() -> None:
    fingered = note("C4", 8, "half", signs="<technical><fingering>1</fingering><up-bow/></technical>")
    bass = "<figured-bass><figure><figure-number>6</figure-number></figure></figured-bass>"
    sung = note("D4", 8, "half", after="".join(f'<lyric number="{k}"><text>la</text></lyric>' for k in (1, 2)))
    sketch = read(score([bar(fingered + bass + sung, attributes=FOUR)]))
    assert sketch.notes[0].marks == ("up-bow",)
    assert sketch.lost == ("1 figured-bass sign", "1 fingering", "1 lyric syllable of a further verse")
