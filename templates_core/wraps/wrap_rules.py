"""Widths that let the paper of an elbow wrap lie true: how wide a strip may be, and what is allowed for it.

Paper buckles freely but hardly stretches, so a strip that comes up short anywhere across its width drags the
cut line with it. Strips are narrow, the collar is slit into teeth, and what still pulls is allowed for:

* The bridge, the unslit edge of the collar of height h, lies along a geodesic of a surface of curvature K.
  Its fibre at depth d must be 1 - K d²/2 times as long as the trace edge. Flat, with the trace edge bent to
  a curvature of -K h/2, that fibre is 1 - K h d/2 times as long: both edges of the bridge fit exactly.
* A stay is lengthened by what its shorter edge lacks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.geometry.surfaces import Tube

_THROAT_SHORTFALL_MM = 0.12
_LEAST_STAY_MM = 4.0
_LEAST_BRIDGE_MM = 2.0
_COLLAR_SHARE = 0.6


@dataclass(frozen=True)
class WrapRules:
    """Sizes of one elbow wrap.

    collar_mm: width of the collar, at most collar_share of the local arc and never under the bridge.
    bridge_mm: paper left between the end of a slit and the trace edge.  tooth_mm: between slits, about.
    stay_mm, throat_stay_mm: widths of the stays.  tab_mm: length beyond the fold.  lap_mm, lap_depth_mm:
    length and width of the seam tab.
    """

    collar_mm: float
    collar_share: float
    bridge_mm: float
    tooth_mm: float
    stay_mm: float
    throat_stay_mm: float
    tab_mm: float
    lap_mm: float
    lap_depth_mm: float

    def stay_width(self, name: str) -> float:
        """Width [mm] of the heel, side or throat stay."""
        return self.throat_stay_mm if name == "throat" else self.stay_mm


def rules_for(tube: Tube, angle_rad: float, shoulder_mm: float) -> WrapRules:
    """The sizes for a cut at about that sweep angle from the hooked face; widths are shares of the girth.

    shoulder_mm: axial distance from the face to the edge that the tabs fold over.  On a short piece the
    bridge keeps to the collar's share of the throat, so that the fold is clear of it.
    """
    girth = 2 * math.pi * tube.radius_mm
    throat = (tube.bend_radius_mm - tube.radius_mm) * angle_rad + tube.arc_start_mm - shoulder_mm
    stay = max(_LEAST_STAY_MM, girth / 25)
    bridge = max(_LEAST_BRIDGE_MM, min(girth / 50, _COLLAR_SHARE * throat))
    return WrapRules(
        collar_mm=max(5.0, girth / 15),
        collar_share=_COLLAR_SHARE,
        bridge_mm=bridge,
        tooth_mm=girth / 25,
        stay_mm=stay,
        throat_stay_mm=min(stay, _throat_stay_mm(tube, angle_rad)),
        tab_mm=min(14.0, max(8.0, girth / 15)),
        lap_mm=min(20.0, max(12.0, girth / 11)),
        lap_depth_mm=max(5.5, bridge),
    )


def _throat_stay_mm(tube: Tube, angle_rad: float) -> float:
    """As wide as keeps the edges' shortfall r (1 - cos(w/2r)) theta within its bound."""
    cosine = 1 - _THROAT_SHORTFALL_MM / (tube.radius_mm * angle_rad)
    width = 2 * tube.radius_mm * math.acos(max(cosine, -1.0))
    return max(_LEAST_STAY_MM, width)


def stay_shortfall_mm(tube: Tube, girth_rad: float, width_mm: float, sweep_rad: float) -> float:
    """How much shorter the edge of a stay is, flat, than the girth line that it has to lie along [mm].

    [rho(phi + delta) - rho(phi) + r delta sin phi]·theta, delta = ± w/2r, the worse edge; 0 where both
    edges have length to spare.  sweep_rad: theta, the sweep from the fold to the cut.
    """
    delta = np.array([0.5, -0.5]) * width_mm / tube.radius_mm
    short = tube.rho_mm(girth_rad + delta) - tube.rho_mm(girth_rad)
    short = short + tube.radius_mm * delta * math.sin(girth_rad)
    return max(0.0, float(np.max(short)) * sweep_rad)
