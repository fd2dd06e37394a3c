"""Where tables are found, which folder wins, and what a rule gets."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from autoorch import tables as module
from autoorch.errors import TableError
from autoorch.tables import load_tables, shipped, spoken


def test_the_shipped_tables_load() -> None:
    tables = load_tables()
    assert tables is load_tables()
    assert tables.folders == (shipped(),)
    assert [each.order for each in tables.instruments.values()] == list(range(len(tables.instruments)))


def test_the_package_s_own_folder_comes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "autoorch"
    (tmp_path / "constraints").mkdir()
    package.mkdir()
    monkeypatch.setattr(module, "__file__", str(package / "tables.py"))
    assert shipped() == tmp_path / "constraints"
    (package / "constraints").mkdir()
    assert shipped() == package / "constraints"


def test_no_tables_at_all_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "__file__", str(tmp_path / "autoorch" / "tables.py"))
    with pytest.raises(TableError, match="the tables are missing"):
        shipped()


def test_a_folder_of_one_s_own_replaces_file_by_file(tmp_path: Path) -> None:
    text = (shipped() / "instruments.toml").read_text("utf-8")
    old = 'name = "Horn in F"'
    assert text.count(old) == 1
    (tmp_path / "instruments.toml").write_text(text.replace(old, 'name = "Cor in F"'), "utf-8")
    own = load_tables(tmp_path)
    assert own.instruments["horn"].name == "Cor in F"
    assert own.find("instruments") == tmp_path / "instruments.toml"
    assert own.find("balance") == shipped() / "balance.toml"
    assert own.rule("balance") == load_tables().rule("balance")


def test_a_preset_of_one_s_own_is_found(tmp_path: Path) -> None:
    (tmp_path / "lineups").mkdir()
    shutil.copy(shipped() / "lineups" / "chamber.toml", tmp_path / "lineups" / "my-band.toml")
    names = load_tables(tmp_path).names("lineups")
    assert "my-band" in names
    assert "romantic" in names
    assert list(names) == sorted(set(names))


def test_a_file_that_replaces_nothing_is_refused(tmp_path: Path) -> None:
    (tmp_path / "balanse.toml").write_text("", "utf-8")
    with pytest.raises(TableError, match=r"^balanse\.toml: replaces no table; the tables are balance, "):
        load_tables(tmp_path)


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TableError, match="no such folder of tables"):
        load_tables(tmp_path / "none")


def test_an_unknown_table_is_refused() -> None:
    with pytest.raises(TableError, match=r"^harmonies\.toml: no such table"):
        load_tables().rule("harmonies")


def test_a_rule_s_table_is_checked_where_it_brings_a_schema() -> None:
    tables = load_tables()
    assert tables.rule("balance")["power"]["horn"][5] == 200
    with pytest.raises(TypeError):
        tables.rule("balance")["power"]["horn"] = ()  # type: ignore[index]
    with pytest.raises(TableError, match=r"^balance\.toml, \w+: unknown key; known: power"):
        tables.rule("balance", {"power": object})


def test_every_alias_means_one_instrument() -> None:
    tables = load_tables()
    assert tables.by_alias["cbn"].id == "contrabassoon"
    assert tables.by_alias["english horn"].id == "cor_anglais"
    assert all(word == spoken(word) for word in tables.by_alias)


def test_names_compare_without_case_dots_hyphens_and_signs() -> None:
    assert spoken(" B. Cl. ") == spoken("b-cl") == "b cl"
    assert spoken("E♭ Clarinet") == "eb clarinet"
