"""Imports point one way, from the command to render to core; each outside library stays in its place."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
OWN = {"templates_core", "render", "cli"}
MAY_IMPORT = {"templates_core": {"templates_core"}, "render": {"templates_core", "render"}, "cli": OWN}
SOURCES = sorted(
    [*ROOT.glob("templates_core/**/*.py"), *ROOT.glob("render/**/*.py"), ROOT / "cli.py"],
    key=lambda path: path.as_posix(),
)


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(tree: ast.Module) -> Iterator[str]:
    """Full names of the modules that a module imports anywhere in it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute, so that this test can follow them"
            assert node.module is not None
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def top(name: str) -> str:
    return name.partition(".")[0]


def part_of(path: Path) -> str:
    return top(".".join(path.relative_to(ROOT).with_suffix("").parts))


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_arrow_points_backward(path: Path) -> None:
    own = {top(name) for name in imported(tree_of(path))} & (OWN | {"tests"})
    assert own <= MAY_IMPORT[part_of(path)]


def test_the_pdf_library_is_imported_in_one_module() -> None:
    users = [path.name for path in SOURCES if "reportlab" in {top(name) for name in imported(tree_of(path))}]
    assert users == ["pdf.py"]


def calls(tree: ast.Module) -> Iterator[str]:
    """Names of what is called, with what they are looked up in: ``print``, ``sys.exit``."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield ast.unparse(node.func)


@pytest.mark.parametrize(
    "path",
    [path for path in SOURCES if path.name != "cli.py"],
    ids=lambda path: path.relative_to(ROOT).as_posix(),
)
def test_only_the_command_prints_or_exits(path: Path) -> None:
    tree = tree_of(path)
    banned = {"print", "exit", "quit", "input", "breakpoint"}
    assert not banned & set(calls(tree))
    assert not {"sys", "click", "warnings", "logging"} & {top(name) for name in imported(tree)}


def test_core_knows_no_paper_and_draws_nothing() -> None:
    for path in ROOT.glob("templates_core/**/*.py"):
        assert not {"reportlab", "click"} & {top(name) for name in imported(tree_of(path))}


def test_every_library_imported_is_declared_and_every_one_declared_is_imported() -> None:
    used = {top(name) for path in SOURCES for name in imported(tree_of(path))} - OWN
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[<>=~! ]", one)[0] for one in project["dependencies"]}
    shipped_with = {"pydantic_core": "pydantic"}
    assert {shipped_with.get(name, name) for name in used - sys.stdlib_module_names} == declared


def test_no_import_runs_in_a_ring() -> None:
    names = {".".join(path.relative_to(ROOT).with_suffix("").parts): path for path in SOURCES}
    ahead = {
        name: {one for one in imported(tree_of(path)) if one in names and one != name}
        for name, path in names.items()
    }
    while ahead:
        leaves = {name for name, others in ahead.items() if not others & ahead.keys()}
        assert leaves, f"these import each other: {sorted(ahead)}"
        ahead = {name: others for name, others in ahead.items() if name not in leaves}
