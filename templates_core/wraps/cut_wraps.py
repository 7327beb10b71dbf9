"""The wrap of each distinct cut: which face it hangs from, and its flat outline."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from templates_core.elbows.cuts import Cut
from templates_core.elbows.leaning_cuts import LeaningCut, tube_and_plane
from templates_core.geometry.section import radial_plane, section
from templates_core.geometry.surfaces import Tube, elbow_surface
from templates_core.wraps.wrap_rules import WrapRules, rules_for
from templates_core.wraps.wraps import Wrap, elbow_wrap

JOINT_ALLOWANCE_RAD = math.radians(0.25)
"""A girth further off than turns the joint by this wants a wrap made to it."""


@dataclass(frozen=True)
class CutWrap:
    """A wrap made for a cut, with what the sheet says of it.

    girth_from_mm, girth_to_mm: readings on the seam between which the wrap may be used as printed.
    """

    cut: Cut
    wrap: Wrap
    rules: WrapRules
    girth_from_mm: float
    girth_to_mm: float


def wrap_of_cut(cut: Cut, thickness_mm: float, seam_step_mm: float) -> CutWrap:
    """The wrap that carries a radial cut, hung from the face that the cut is measured from.

    Face A is the piece's own; a cut measured from the far face hangs from face B.  seam_step_mm: between
    the girths marked on the seam tab.  Raises GeometryError where the wrap can't be laid out.
    """
    from_a = cut.from_face == "own"
    tube = elbow_surface(cut.elbow)
    tube = tube if from_a else tube.seen_from_face_b()
    rules = rules_for(tube, cut.wrap_angle_rad, cut.elbow.shoulder_mm)
    near = tube.arc_start_mm + tube.bend_radius_mm * cut.wrap_angle_rad
    plane = radial_plane(tube, cut.wrap_angle_rad)
    wrap = elbow_wrap(tube, plane, near, cut.elbow.shoulder_mm, rules, thickness_mm, from_a, seam_step_mm)
    spread = wrap.girth_mm * JOINT_ALLOWANCE_RAD / cut.wrap_angle_rad
    return CutWrap(cut, wrap, rules, wrap.girth_mm - spread, wrap.girth_mm + spread)


@dataclass(frozen=True)
class LeaningWrap:
    """A wrap made for a leaning cut; the rest as of a `CutWrap`."""

    cut: LeaningCut
    wrap: Wrap
    rules: WrapRules
    girth_from_mm: float
    girth_to_mm: float


def wrap_of_leaning(cut: LeaningCut, thickness_mm: float, seam_step_mm: float) -> LeaningWrap:
    """The wrap that carries a leaning cut, hung from the face that the cut is measured from.

    Its widths are those of a cut as near to that face as this one is at the throat.  Raises GeometryError
    where the wrap can't be laid out.
    """
    tube, plane, near = tube_and_plane(cut)
    shoulder = cut.elbow.shoulder_mm
    _, at_throat, _, _ = section(tube, plane, near).at(np.array([math.pi]))
    swept = min(cut.wrap_angle_rad, float(tube.sweep_at(at_throat)[0]))
    rules = rules_for(tube, swept, shoulder)
    wrap = elbow_wrap(tube, plane, near, shoulder, rules, thickness_mm, cut.from_face == "own", seam_step_mm)
    spread = wrap.girth_mm * JOINT_ALLOWANCE_RAD / cut.wrap_angle_rad
    return LeaningWrap(cut, wrap, rules, wrap.girth_mm - spread, wrap.girth_mm + spread)


def turn_per_girth(tube: Tube, wrap_angle_rad: float) -> float:
    """How far the joint turns for each millimetre that the girth is over the nominal [rad/mm].

    A tube larger by dr has heel and throat radii of R ± (r + dr), while the stays keep their lengths: the
    line moves back by θ·dr at the heel and forward by as much at the throat, so it turns by θ·dr/r, which is
    θ a girth.
    """
    return wrap_angle_rad / (2 * math.pi * tube.radius_mm)
