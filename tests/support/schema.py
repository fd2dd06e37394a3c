"""The MusicXML 4.0 schema: from the `musicxml` package, its two imports from the copies that `xmlschema` carries."""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path

import xmlschema
from lxml import etree

XSD = "{http://www.w3.org/2001/XMLSchema}"


@cache
def musicxml_schema() -> etree.XMLSchema:
    """The schema, ready to validate with."""
    package = find_spec("musicxml")
    assert package is not None and package.submodule_search_locations
    document = etree.parse(Path(package.submodule_search_locations[0], "generate_classes", "musicxml_4_0.xsd"))
    copies = Path(xmlschema.__file__).parent / "schemas"
    for element in document.getroot().iter(f"{XSD}import"):
        copy = "XLINK/xlink.xsd" if "xlink" in element.get("namespace", "") else "XML/xml.xsd"
        element.set("schemaLocation", str(copies / copy))
    return etree.XMLSchema(document)


def schema_errors(path: Path) -> list[str]:
    """What the schema finds wrong with a file, one line each; [] where it is valid."""
    schema = musicxml_schema()
    schema.validate(etree.parse(path))
    return [f"{path.name}:{error.line}: {error.message}" for error in schema.error_log]
