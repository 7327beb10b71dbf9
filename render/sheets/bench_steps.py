"""How a wrap is used at the bench, step by step."""

from __future__ import annotations

from render.pages.flow import Element, Heading, Paragraph, Steps
from templates_core.model import Model
from templates_core.units import format_length

ELBOW_STEPS = (
    "Check the fitting against Measure first: size, sweep, faces, bevel. Degrease it, and strip any coating"
    " well back from where it will be welded. Let it cool before paper touches it.",
    "Find the heel, both sides and the throat: elbow flat on the table, a square stood against the outside "
    "of the bend for the heel and in the hollow for the throat, a block set to mid-height for the sides. "
    "Carry each mark from face to face.",
    "Cut the wrap out: along the outline, along the wide trace edge, and every slit. Fold each tab back on "
    "its dashed line. The thin line past it is where the stay ends when the elbow stands on a flat plate.",
    "Wrap printed side out. Hook the tabs over the edge of the face, heel stay on the heel mark, throat "
    "stay on the throat mark. Line up heel and throat; let the ends of the collar fall where they will on "
    "the seam tab.",
    "Read the seam: the end of the collar shows the girth. Past the readings given on the wrap, stop: enter"
    " the girth in the job file and print again.",
    "Press the throat stay and the collar down into the hollow and tape them before marking. A stay that "
    "bridges the hollow puts the line short. Tape the seam, then the side stays, then the heel.",
    "Trace along the wide edge with a fine point held against it. The true line is the edge of the mark "
    "that touched the paper.",
    "Tick heel, sides and throat across the line. Write the piece number on the side that is kept, with the"
    " hand.",
    "Paper off before cutting. Check the line at heel and throat with a tape and straight across with "
    "calipers, against the figures on the wrap.",
    "Cut clear of the line on the scrap side and grind to it; where the wrap says that the line is shared, "
    "centre the blade on it instead. Check heel and throat again after dressing.",
)
MITRE_STEPS = (
    "Mark the work point, and the long point line along the pipe: the outside of the turn, or where the wrap "
    "says it lies.",
    "Wrap the pipe printed side out, LONG POINT on its line, the square edge meeting itself. Tape the seam.",
    "Trace the wide edge. Write the joint number on the pipe. Paper off, cut clear of the line, grind to it.",
)
CAUTIONS = (
    "Keep the guard on the grinder and the piece clamped; eye and face protection. A short piece of elbow "
    "can be thrown by the wheel.",
    "Hot work: clear the bench of paper and solvent, keep a fire watch. Galvanised and stainless give off "
    "harmful fume: strip, ventilate, wear what the local rules ask for.",
)


def wrap_steps(model: Model) -> tuple[Element, ...]:
    """Steps for the kinds of wrap that the job has."""
    elements: list[Element] = []
    if model.cut_groups or model.leaning_groups:
        elements += [Heading("An elbow wrap at the bench"), Steps(ELBOW_STEPS, size_pt=9.5)]
    if model.mitre_groups:
        elements += [Heading("A mitre wrap at the bench"), Steps(MITRE_STEPS, size_pt=9.5)]
    thickness = format_length(model.job.shop.wrap_thickness_mm, "mm", fine=True)
    elements += [
        Heading("Care"),
        Steps(CAUTIONS, sign="•", size_pt=9.5),
        Paragraph(
            f"Wraps are drawn for paper {thickness} thick. Nothing here has been proved on metal yet.", 9.5
        ),
    ]
    return tuple(elements)
