"""Forces and stresses as people write them, and as the sheets print them; newtons and megapascals inside.

In a job in millimetres bare numbers are kN and MPa, in one in inches lbf and ksi.
"""

from __future__ import annotations

import math
import re

from templates_core.errors import BadValueError
from templates_core.units import INCH, MM

N_PER_LBF = 4.4482216152605
MPA_PER_KSI = N_PER_LBF * 1000.0 / 25.4**2

_FORCES = {"n": 1.0, "kn": 1000.0, "lbf": N_PER_LBF, "lb": N_PER_LBF}
_STRESSES = {"mpa": 1.0, "n/mm2": 1.0, "ksi": MPA_PER_KSI, "psi": MPA_PER_KSI / 1000.0}
_USUAL_FORCE = {MM: "kN", INCH: "lbf"}
_USUAL_STRESS = {MM: "MPa", INCH: "ksi"}


def parse_force_n(value: object, units: str) -> float:
    """A force [N] from a number (kN or lbf by the job's units) or text: ``3 kN``, ``2500 N``, ``700 lbf``.

    Raises BadValueError, also for 0 and less.
    """
    return _parsed(value, _FORCES, _USUAL_FORCE[units], 'a force such as "3 kN" or "700 lbf"')


def parse_stress_mpa(value: object, units: str) -> float:
    """A stress [MPa] from a number (MPa or ksi by the job's units) or text: ``240 MPa``, ``35 ksi``.

    Raises BadValueError, also for 0 and less.
    """
    return _parsed(value, _STRESSES, _USUAL_STRESS[units], 'a strength such as "240 MPa" or "35 ksi"')


def format_force(force_n: float, units: str) -> str:
    """``0.24 kN``, or in an inch job whole pounds: ``54 lbf``."""
    if units == INCH:
        return f"{round(force_n / N_PER_LBF)} lbf"
    return f"{force_n / 1000.0:.2f} kN"


def format_stress(stress_mpa: float, units: str) -> str:
    """``64 MPa``, or in an inch job ``9.3 ksi``."""
    return f"{stress_mpa / MPA_PER_KSI:.1f} ksi" if units == INCH else f"{round(stress_mpa)} MPa"


def _parsed(value: object, known: dict[str, float], usual: str, wanted: str) -> float:
    number, unit = _parts(value, usual, wanted)
    if unit.lower() not in known:
        raise BadValueError(f"'{value}' is in no unit that is known here", f"give {wanted}")
    if not 0 < number < 1e9:
        raise BadValueError(f"{value} can't be", f"give {wanted}")
    return number * known[unit.lower()]


def _parts(value: object, usual: str, wanted: str) -> tuple[float, str]:
    if isinstance(value, str):
        found = re.fullmatch(r"([0-9]{1,9}(?:\.[0-9]{1,9})?) ?([A-Za-z/²2]+)?", value.strip())
        if not found:
            raise BadValueError(f"'{value}' can't be read", f"give {wanted}")
        return float(found[1]), (found[2] or usual).replace("²", "2")
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise BadValueError(f"{str(value).lower()} is not a number", f"give {wanted}")
    return float(value), usual
