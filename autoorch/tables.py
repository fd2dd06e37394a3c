"""The trade's knowledge: constraints/*.toml, found and read strictly (an unknown, missing or absurd key: TableError).

The tables stand in the package (an installed autoorch) or beside it (a checkout); a folder of one's own replaces them
file by file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import Any

from autoorch.errors import TableError
from autoorch.instruments import DYNAMICS, Fluency, Instrument, Register, read_instruments, spoken
from autoorch.toml import Schema, check, read

__all__ = ["DYNAMICS", "Fluency", "Instrument", "Register", "Schema", "Tables", "load_tables", "shipped", "spoken"]


@dataclass(frozen=True, eq=False)
class Tables:
    """All tables of one folder (or of a folder of one's own over the shipped one).

    Attributes:
        instruments: id -> instrument, in score order.
        folders: where a table is looked for, first one first.
    """

    instruments: Mapping[str, Instrument]
    folders: tuple[Path, ...] = field(default=())

    @cached_property
    def by_alias(self) -> Mapping[str, Instrument]:
        """Words that mean exactly one instrument (id, name, abbreviations, as `spoken` writes them) -> instrument."""
        return MappingProxyType({word: found for found in self.instruments.values() for word in found.aliases})

    @cached_property
    def digest(self) -> str:
        """A fingerprint of every table in force, own ones included."""
        names = {path.relative_to(root).as_posix() for root in self.folders for path in root.rglob("*.toml")}
        found = sha256()
        for name in sorted(names):
            found.update(name.encode() + b"\0" + self.find(name.removesuffix(".toml")).read_bytes() + b"\0")
        return found.hexdigest()

    def find(self, name: str) -> Path:
        """The file of a table, such as "doubling" or "lineups/romantic".

        Raises:
            TableError: where there is none.
        """
        return _find(self.folders, name)

    def rule(self, name: str, schema: Schema | None = None) -> Mapping[str, Any]:
        """A whole table as nested read-only mappings and tuples; checked where a schema (see autoorch.toml) is given.

        Raises:
            TableError: file and key of the first thing that is wrong.
        """
        path = self.find(name)
        data = _parsed(path)
        if schema is not None:
            check(data, schema, path.name)
        return data

    def names(self, folder: str) -> tuple[str, ...]:
        """Sorted stems of the tables in a sub-folder, such as "lineups"."""
        return tuple(sorted({path.stem for root in self.folders for path in (root / folder).glob("*.toml")}))


def shipped() -> Path:
    """The folder of tables that came with this autoorch: inside the package, or beside it in a checkout.

    Raises:
        TableError: where neither is there.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "constraints", package.parent / "constraints"):
        if folder.is_dir():
            return folder
    raise TableError("the tables are missing: install autoorch again", "constraints")


@lru_cache(maxsize=8)
def load_tables(folder: Path | None = None) -> Tables:
    """The tables; those that stand in `folder` replace the shipped ones, file by file.

    Raises:
        TableError: for a folder that is not there, a file in it that replaces nothing, or a wrong table.
    """
    folders: tuple[Path, ...] = (shipped(),)
    if folder is not None:
        if not folder.is_dir():
            raise TableError("no such folder of tables", str(folder))
        for path in sorted(folder.glob("*.toml")):
            if not (folders[0] / path.name).is_file():
                known = ", ".join(sorted(table.stem for table in folders[0].glob("*.toml")))
                raise TableError(f"replaces no table; the tables are {known}", path.name)
        folders = (folder, *folders)
    return Tables(MappingProxyType(read_instruments(_find(folders, "instruments"))), folders)


@lru_cache(maxsize=512)
def _find(folders: tuple[Path, ...], name: str) -> Path:
    for folder in folders:
        if (path := folder / f"{name}.toml").is_file():
            return path
    raise TableError("no such table", f"{name}.toml")


@lru_cache(maxsize=256)
def _parsed(path: Path) -> Mapping[str, Any]:
    return read(path)
