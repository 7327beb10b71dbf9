"""The README is true: it names every command and option, and its command lines run."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

import cli
from render.pack import SECTIONS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
SHELL = [line for kind, text in BLOCKS if kind == "sh" for line in text.splitlines()]


def test_every_command_and_option_is_named() -> None:
    for name, command in cli.main.commands.items():
        assert f"`wrapwright {name}" in README
        for param in command.params:
            if isinstance(param, click.Option):
                for flag in param.opts:
                    assert f"`{flag}`" in README, f"{name} {flag}"
    assert "--help" in README
    assert "--version" in README


def test_no_option_is_named_that_there_is_not() -> None:
    known = {
        flag for command in cli.main.commands.values() for param in command.params for flag in param.opts
    }
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", README)) <= known | {"--help", "--version"}


def test_every_section_is_named_in_the_readme_and_in_the_help() -> None:
    only = next(param for param in cli.main.commands["sheets"].params if param.name == "only")
    assert isinstance(only, click.Option)
    assert only.help is not None
    for name in SECTIONS:
        assert f"`{name}`" in README
        assert re.search(rf"\b{name}\b", only.help)


def test_its_command_lines_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All of them in turn, since later ones use what earlier ones write."""
    lines = [line for line in SHELL if line.startswith("wrapwright ")]
    assert len(lines) >= 8
    shutil.copytree(ROOT / "sample_jobs", tmp_path / "sample_jobs")
    monkeypatch.chdir(tmp_path)
    for line in lines:
        arguments = shlex.split(line)[1:]
        result = CliRunner().invoke(cli.main, arguments)
        assert result.exit_code == 0, f"{line}\n{result.output}"
        if "-o" in arguments:
            written = tmp_path / arguments[arguments.index("-o") + 1]
            assert written.read_bytes().startswith(b"%PDF-"), line


def test_its_set_up_uses_files_that_exist(tmp_path: Path) -> None:
    """The two lines that set up and test; the rest of what they do is in test_install."""
    setup, tests = (line for line in SHELL if not line.startswith("wrapwright "))
    command = setup.split("&&")[-1].split()
    assert command[0] == ".venv/bin/wrapwright"
    out = str(tmp_path / "pack.pdf")
    arguments = [str(ROOT / part) if part.startswith("sample_jobs") else part for part in command[1:]]
    arguments[arguments.index("-o") + 1] = out
    assert CliRunner().invoke(cli.main, arguments).exit_code == 0
    assert tests.split("&&")[-1].split() == [".venv/bin/pytest"]
    assert (ROOT / ".ci" / "run").read_text(encoding="utf-8").rstrip().endswith("\npytest")


def test_its_job_file_makes_a_pack(tmp_path: Path) -> None:
    job = "\n".join(text for kind, text in BLOCKS if kind == "toml")
    (tmp_path / "job.toml").write_text(job, encoding="utf-8")
    arguments = ["sheets", str(tmp_path / "job.toml"), "-o", str(tmp_path / "job.pdf")]
    result = CliRunner().invoke(cli.main, arguments)
    assert result.exit_code == 0, result.output


def test_its_pictures_and_pages_exist() -> None:
    targets = re.findall(r"!?\[[^\]]*\]\(([^)]+)\)", README)
    assert targets
    for target in targets:
        assert (ROOT / target).exists(), target
    assert (ROOT / "DEVELOPERS.md").exists()


def keys_in(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for inner in value.values() for key in keys_in(inner)}
    if isinstance(value, list):
        return {key for inner in value for key in keys_in(inner)}
    return set()


@pytest.mark.parametrize("name", sorted(path.name for path in (ROOT / "sample_jobs").glob("*.toml")))
def test_every_key_of_the_json_is_described(name: str) -> None:
    result = CliRunner().invoke(cli.main, ["figures", str(ROOT / "sample_jobs" / name), "--json"])
    assert result.exit_code == 0, result.output
    prose = re.sub(r"^```.*?^```", "", README, flags=re.MULTILINE | re.DOTALL)
    described = set(re.findall(r"\w+", " ".join(re.findall(r"`([^`]+)`", prose))))
    assert keys_in(json.loads(result.stdout)) <= described
