"""Trials, in the module and through the command."""

from __future__ import annotations

import math
import re

import pytest
from click.testing import CliRunner, Result

import cli
from templates_core.errors import InputError
from templates_core.welding.free_shape import Kink, free_shape
from templates_core.welding.weld_trial import TrialAsked, to_hold, trial_of


def test_a_kink_put_into_a_pipe_comes_back_out_of_its_bow() -> None:
    shape = free_shape([Kink(600.0, 1.0, 0.0083)], 1200.0)
    found = trial_of(TrialAsked(f"{shape.bow_mm:.9f}", "1200"))
    assert found.kink_rad == pytest.approx(0.0083)
    assert found.kink_error_rad == pytest.approx(4 * 0.5 / 1200)
    assert found.kept is None


@pytest.mark.parametrize("kept", [0.0, 0.25, 0.8, 1.0])
def test_the_share_kept_comes_back_from_what_was_left(kept: float) -> None:
    bow, preset = 4.0, 7.0
    found = trial_of(TrialAsked("4", "1000", "7", f"{bow - kept * preset:.9f}"))
    assert found.kept == pytest.approx(kept, abs=1e-12)
    if kept:
        assert bow - kept * to_hold(kept) * bow == pytest.approx(0)
    else:
        assert to_hold(kept) == math.inf


@pytest.mark.parametrize(
    ("asked", "faults"),
    [
        (TrialAsked("3", "0"), ["--span: it is 0"]),
        (TrialAsked("-3", "x"), ["--bow: '-3' is negative", "--span: 'x' can't be read"]),
        (TrialAsked("300", "1200"), ["--bow: a bow of 300.0 mm over that is 57.3°"]),
        (TrialAsked("3", "1200", "6"), ["--preset: the second trial needs what was left"]),
        (TrialAsked("3", "1200", None, "1"), ["--left: what was left is told without the preset"]),
        (TrialAsked("3", "1200", "0", "1"), ["--preset: it is 0"]),
        (TrialAsked("3", "1200", "6", "-8"), ["--left: a bow of 3.0 mm without and −8.0 mm with"]),
        (TrialAsked("3", "1200", "6", "4"), ["--left: a bow of 3.0 mm without and 4.0 mm with"]),
        (TrialAsked("3", "1200", units="cm"), ["--units: 'cm' is no unit"]),
    ],
)
def test_nonsense_is_refused_at_its_option(asked: TrialAsked, faults: list[str]) -> None:
    with pytest.raises(InputError) as refused:
        trial_of(asked)
    found = [str(fault) for fault in refused.value.faults]
    assert len(found) == len(faults)
    for one, start in zip(found, faults, strict=True):
        assert one.startswith(start)


def run(*arguments: str) -> Result:
    return CliRunner().invoke(cli.main, ["trial", *arguments])


def test_the_command_prints_the_lines_to_enter() -> None:
    first = run("--bow", "3", "--span", "1200")
    assert first.exit_code == 0
    assert "0.573° (10.0 mrad), 10.00 mm in each metre" in first.stdout
    assert re.findall(r"^ +(\w+ = .*)$", first.stdout, re.MULTILINE) == ["kink = 0.573"]
    second = run("--bow", "3", "--span", "1200", "--preset", "6", "--left", "0.8")
    assert re.findall(r"^ +(\w+ = .*)$", second.stdout, re.MULTILINE) == ["kink = 0.573", "kept = 0.37"]
    assert "hold 2.7 times" in second.stdout


def test_the_command_in_inches_and_where_nothing_stays() -> None:
    inches = run("--bow", "1/8", "--span", "4 ft", "--units", "in")
    assert "kink = 0.597" in inches.stdout and "0.12 in in each foot" in inches.stdout
    none = run("--bow", "3", "--span", "1200", "--preset", "6", "--left", "3")
    assert "Clamps do nothing" in none.stdout and "kept =" not in none.stdout


def test_the_command_refuses_a_share_over_one() -> None:
    refused = run("--bow", "3", "--span", "1200", "--preset", "6", "--left", "-8")
    assert refused.exit_code == 2
    assert "makes the share kept 1.83" in refused.stderr
