import pytest

from templates_core.errors import BadValueError
from templates_core.jobs.load_units import format_force, format_stress, parse_force_n, parse_stress_mpa


@pytest.mark.parametrize(
    ("given", "units", "newtons"),
    [
        (3, "mm", 3000),
        ("3 kN", "in", 3000),
        ("2500 N", "mm", 2500),
        (700, "in", 3113.755),
        ("700 lbf", "mm", 3113.755),
    ],
)
def test_forces(given: object, units: str, newtons: float) -> None:
    assert parse_force_n(given, units) == pytest.approx(newtons, abs=1e-3)


@pytest.mark.parametrize(
    ("given", "units", "mpa"),
    [(240, "mm", 240), ("240 N/mm²", "in", 240), (35, "in", 241.317), ("35000 psi", "mm", 241.317)],
)
def test_stresses(given: object, units: str, mpa: float) -> None:
    """35 ksi is 241 MPa (ASTM A53 Grade B, from memory)."""
    assert parse_stress_mpa(given, units) == pytest.approx(mpa, abs=1e-3)


@pytest.mark.parametrize("given", [0, -3, True, None, float("nan"), "", "x", "3 kg", "3,5 kN", "-3 kN", [1]])
def test_what_is_no_load(given: object) -> None:
    for parse in (parse_force_n, parse_stress_mpa):
        with pytest.raises(BadValueError):
            parse(given, "mm")


def test_printed() -> None:
    assert (format_force(243.7, "mm"), format_force(243.7, "in")) == ("0.24 kN", "55 lbf")
    assert (format_stress(64.2, "mm"), format_stress(64.2, "in")) == ("64 MPa", "9.3 ksi")
