"""Set-up, once: a wheel built from the sources alone gives a command that works outside the checkout."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

ROOT = Path(__file__).parent.parent
SOURCES = ("templates_core", "render", "cli.py", "pyproject.toml", "README.md", "LICENSE")


def run(*command: str | Path, cwd: Path) -> str:
    """What a command printed; it gets no path to the checkout."""
    env = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run([*map(str, command)], cwd=cwd, env=env, text=True, capture_output=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def build_wheel(folder: Path) -> Path:
    source = folder / "source"
    source.mkdir()
    for name in SOURCES:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, source / name)
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check")
    run(*pip, "wheel", "-q", "--no-deps", "--no-build-isolation", "-w", folder, source, cwd=folder)
    (wheel,) = folder.glob("wrapwright-*.whl")
    return wheel


def make_environment(folder: Path, wheel: Path) -> Path:
    """The scripts of a new environment with the wheel in it, and the libraries of this one lent to it."""
    venv.create(folder, with_pip=False)
    scripts = folder / ("Scripts" if os.name == "nt" else "bin")
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check", "--python", scripts / "python")
    run(*pip, "install", "-q", "--no-deps", "--no-index", wheel, cwd=folder)
    packages = Path(sysconfig.get_path("purelib", vars={"base": str(folder), "platbase": str(folder)}))
    (packages / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return scripts


def test_a_built_wheel_gives_a_command_that_writes_a_pack(tmp_path: Path) -> None:
    wheel = build_wheel(tmp_path)
    scripts = make_environment(tmp_path / "environment", wheel)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    command = scripts / "wrapwright"
    where = run(scripts / "python", "-c", "import cli; print(cli.__file__)", cwd=elsewhere)
    assert Path(where.strip()).is_relative_to(tmp_path / "environment")
    assert "0.1.0" in run(command, "--version", cwd=elsewhere)
    run(command, "start", "rail.toml", cwd=elsewhere)
    run(command, "sheets", "rail.toml", "-o", "rail.pdf", cwd=elsewhere)
    assert (elsewhere / "rail.pdf").read_bytes().startswith(b"%PDF-")
