"""What holds for the whole project: who may import whom, where knowledge stands, who prints, what the wheel carries."""

from __future__ import annotations

import ast
import importlib
import re
import sys
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from hatchling.builders.wheel import WheelBuilder

import autoorch
from autoorch import cli
from autoorch.brief.model import INTENTS, LAYERS, LEADING, UNDER
from autoorch.level import LEVELS
from autoorch.orders import Order
from autoorch.sketch.midi.metre import METRES
from autoorch.solver.solve import Limits

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "autoorch"
MODULES = sorted(PACKAGE.rglob("*.py"))

# From left to right: a unit (module or package) imports only from units of earlier groups, and from itself.
ORDER = (
    ("errors", "pitch"),
    ("toml", "plain", "cpsat"),
    ("instruments",),
    ("tables",),
    ("level", "power", "shorthand"),
    ("lineup",),
    ("brief",),
    ("sketch",),
    ("roles",),
    ("layers",),
    ("problem",),
    ("rules",),
    ("solver",),
    ("interrupt",),
    ("score",),
    ("check", "write"),
    ("edits", "lost"),
    ("answered",),
    ("pipeline",),
    ("delivery", "several"),
    ("exhibits", "told", "revise"),
    ("ask", "compare"),
    ("jobs",),
    ("orders",),
    ("switches",),
    ("cli",),
    ("__main__",),
)
LEVEL = {unit: level for level, units in enumerate(ORDER) for unit in units}

# Tables that are no rule family of the solver.
TABLES = (
    "beats counterline cues drafts finish harmony instruments levels limits melody moments names "
    "notation palette patterns playing proposals reading shorthand voices voicing weights"
)
NO_RULE = frozenset(TABLES.split())
# Modules of autoorch/rules that are no rule family.
RULE_HELPERS = {"__init__", "unary"}

LONGEST = 400
DISTRIBUTION_OF = {"ortools": "ortools", "lxml": "lxml", "google": "protobuf", "fontTools": "fonttools"}
# Distributions whose data are used without an import.
CARRIERS = {"pretty_midi"}


def unit_of(path: Path) -> str:
    """ "autoorch/sketch/midi.py" -> "sketch"; "autoorch/cli.py" -> "cli"."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[str]:
    """Dotted names that a module imports, wherever in the file; `from autoorch import x` counts as "autoorch.x"."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            if node.module == "autoorch":
                yield from (f"autoorch.{alias.name}" for alias in node.names)
            else:
                yield node.module or ""


def test_a_module_imports_only_from_modules_to_its_left() -> None:
    wrong = []
    for path in MODULES:
        unit = unit_of(path)
        if unit == "__init__":
            continue
        assert unit in LEVEL, f"{unit} has no place in the import order"
        for name in imports(path):
            parts = name.split(".")
            if parts[0] == "autoorch" and parts[1] != unit and LEVEL[parts[1]] >= LEVEL[unit]:
                wrong.append(f"{path.relative_to(ROOT)} imports {name}")
    assert wrong == []


def test_the_import_order_names_only_what_exists() -> None:
    assert {unit_of(path) for path in MODULES} - {"__init__"} == set(LEVEL)


def test_every_module_says_what_it_knows() -> None:
    silent = [
        str(path.relative_to(ROOT))
        for path in MODULES
        if not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert silent == []


def test_no_module_is_long() -> None:
    files = MODULES + sorted((ROOT / "tests").rglob("*.py"))
    lengths = {str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines()) for path in files}
    assert {name: length for name, length in lengths.items() if length > LONGEST} == {}


def test_each_rule_has_its_table_and_its_test() -> None:
    rules = {path.stem for path in (PACKAGE / "rules").glob("*.py")} - RULE_HELPERS
    tables = {path.stem for path in (ROOT / "constraints").glob("*.toml")} - NO_RULE
    tests = {path.stem.removeprefix("test_") for path in (ROOT / "tests" / "rules").glob("test_*.py")} - {"report"}
    assert tables == rules
    assert tests == rules


def test_each_rule_is_in_the_registry() -> None:
    registry = importlib.import_module("autoorch.rules").RULES
    assert {rule.NAME for rule in registry} == {path.stem for path in (PACKAGE / "rules").glob("*.py")} - RULE_HELPERS
    assert len(registry) == len({rule.NAME for rule in registry})


def prints(tree: ast.AST) -> Iterator[int]:
    """Lines that write to a standard stream."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        if called in ("print", "click.echo", "click.secho", "pprint", "pprint.pprint") or re.match(
            r"sys\.(stdout|stderr)\.", called
        ):
            yield node.lineno


def test_only_the_command_line_prints() -> None:
    talking = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in MODULES
        if unit_of(path) != "cli"
        for line in prints(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert talking == []
    assert list(prints(ast.parse((PACKAGE / "cli.py").read_text(encoding="utf-8"))))


def test_the_command_line_starts_without_heavy_imports() -> None:
    trees = [ast.parse((PACKAGE / name).read_text(encoding="utf-8")) for name in ("cli.py", "switches.py")]
    first = {
        name.name if isinstance(node, ast.Import) else node.module
        for tree in trees
        for node in tree.body
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in node.names
    }
    assert {name for name in first if name and name.split(".")[0] not in sys.stdlib_module_names} == {
        "click",
        "autoorch.errors",
        "autoorch.switches",
    }


def test_the_command_line_offers_what_a_brief_and_the_solver_know() -> None:
    """It writes their words again, because it may not import them before it is asked for something."""
    params = cli.main.commands["draft"].params
    offered = {param.name: tuple(param.type.choices) for param in params if isinstance(param.type, click.Choice)}
    assert offered == {
        "intents": INTENTS, "leads": tuple(LEADING), "under": UNDER, "level": LEVELS, "until": LAYERS, "without": LAYERS,
        "metre": METRES,
    }  # fmt: skip
    assert {param.default for param in params if param.name == "seconds"} == {Limits().seconds} == {Order().seconds}


def test_dependencies_are_those_that_are_imported() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[<>=\[ ]", line)[0] for line in project["dependencies"]}
    used = (
        {name.split(".")[0] for path in MODULES for name in imports(path)} - set(sys.stdlib_module_names) - {"autoorch"}
    )
    extras = {
        re.split(r"[<>=\[ ]", line)[0]
        for name, lines in project["optional-dependencies"].items()
        if name not in ("test", "lint")
        for line in lines
    }
    assert {DISTRIBUTION_OF.get(name, name) for name in used} == (declared | extras) - CARRIERS


def test_the_api_is_listed() -> None:
    assert {"read_sketch", "read_roles", "draft", "check"} <= set(autoorch.__all__)
    assert len(autoorch.__all__) == len(set(autoorch.__all__))
    assert all(getattr(autoorch, name).__doc__ for name in autoorch.__all__ if callable(getattr(autoorch, name)))


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Names inside the wheel."""
    folder = tmp_path_factory.mktemp("wheel")
    built = next(WheelBuilder(str(ROOT)).build(directory=str(folder), versions=["standard"]))
    return zipfile.ZipFile(built).namelist()


def test_the_wheel_carries_package_and_tables(wheel: list[str]) -> None:
    tables = {f"autoorch/{path.relative_to(ROOT).as_posix()}" for path in (ROOT / "constraints").rglob("*.toml")}
    assert tables <= set(wheel)
    assert {path.relative_to(ROOT).as_posix() for path in MODULES} <= set(wheel)


def test_the_wheel_carries_nothing_else(wheel: list[str]) -> None:
    assert {name.split("/")[0] for name in wheel if ".dist-info/" not in name} == {"autoorch"}
    assert {Path(name).suffix for name in wheel if name.startswith("autoorch/")} <= {
        ".py",
        ".toml",
        ".typed",
        ".html",
        ".css",
        ".js",
    }


def commands() -> list[str]:
    """The one-line commands of the README's first code blocks that make an environment."""
    return re.findall(r"^python3 -m venv .+$", (ROOT / "README.md").read_text(encoding="utf-8"), re.MULTILINE)


def test_the_readme_has_two_commands_for_a_bare_machine() -> None:
    job, tests = commands()
    assert "autoorch draft" in job
    assert "pytest" in tests


def test_the_readme_names_files_that_exist() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"\b(?:examples|constraints|tests|autoorch)/[\w./-]*\w", text))
    assert named
    assert [name for name in sorted(named) if not (ROOT / name).exists()] == []


def test_the_readme_offers_only_commands_and_options_that_exist() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    params = [param for command in cli.main.commands.values() for param in command.params]
    options = {option for param in params for option in param.opts + param.secondary_opts}
    assert set(re.findall(r"`autoorch ([a-z]+)", text)) <= set(cli.main.commands)
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", text)) <= options | {"--help"}
