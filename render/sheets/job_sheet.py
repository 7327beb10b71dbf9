"""The job sheet: each rail drawn, what its corners and pipes are, what is doubtful, and cautions."""

from __future__ import annotations

from render.figures.figure_tables import corners_table, pipes_table, rail_title
from render.pages.flow import Element, Figure, Heading, Paragraph, Steps, columns_of, flow_pages, stack
from render.pages.paper import Layout, Page
from render.sheets.rail_drawing import rail_figures
from templates_core.model import Model, Rail
from templates_core.units import INCH, format_angle, format_length

SECTION = "Job"
_TEXT_PT = 9.0
_KEPT_MM = 22.0
"""Height of the heading and the caption that stay with a drawing."""
CAUTIONS = (
    "Check the fitting against Measure first before anything is cut from it.",
    "Keep the guard on the grinder. Eye and face protection, gloves and hearing protection, also for those "
    "who stand near.",
    "Clamp the work. A short piece of elbow that is held by hand can be thrown by the wheel.",
    "Hot work: clear away paper, solvent and whatever can burn, have an extinguisher at hand, and keep a "
    "fire watch while welding and after it.",
    "Fume: zinc (galvanised) and stainless give off harmful fume. Strip coatings well back, ventilate, and "
    "wear the protection that the local rules ask for.",
    "Rail heights, loads, clearances and the qualification of welders belong to the local code and to "
    "licensed practice. This pack certifies nothing.",
    "Nothing in this pack has been proved on metal yet: cut one corner, check it, and only then the rest.",
)


def job_pages(model: Model, layout: Layout) -> tuple[Page, ...]:
    """The job sheets: sizes, every rail with its drawing and tables, warnings and cautions."""
    _, width_mm, height_mm = columns_of(layout)
    elements: list[Element] = [
        Heading(model.job.title, 13.0),
        *(Paragraph(line, _TEXT_PT) for line in _sizes(model)),
    ]
    for rail in model.rails:
        elements += _rail_elements(rail, model.job.units, width_mm, height_mm)
    elements.append(Heading("Warnings"))
    elements.append(Steps(model.warnings, "!", _TEXT_PT) if model.warnings else Paragraph("None.", _TEXT_PT))
    elements += [Heading("Cautions"), Steps(CAUTIONS, "•", _TEXT_PT)]
    marks = tuple(corner.mark for rail in model.rails for corner in rail.corners)
    return flow_pages(SECTION, "Job sheet", elements, layout, marks)


def _sizes(model: Model) -> tuple[str, ...]:
    job, shop = model.job, model.job.shop

    def fine(length_mm: float) -> str:
        return format_length(length_mm, job.units, fine=True)

    rails = ", ".join(rail_title(rail) for rail in model.rails) + "." * bool(model.rails)
    return (
        f"Pipe {job.pipe.name}: {fine(job.pipe.od_mm)} OD × {fine(job.pipe.wall_mm)} wall. {rails}".strip(),
        f"Root gap {fine(shop.root_gap_mm)}, kerf {fine(shop.kerf_mm)}, dressing {fine(shop.dressing_mm)}. "
        f"Lengths are in {'inches' if job.units == INCH else 'millimetres'}, angles in degrees.",
        "Runs go from work point to work point, where the centrelines of two pipes meet. A pipe is its run "
        "less the take-outs and the gaps at its ends. A piece of elbow with scrap beyond its line is cut "
        "clear and ground to it, and loses nothing; a line between two pieces is cut down its middle, and "
        "the take-outs allow for what blade and dressing take of both.",
    )


def _rail_elements(rail: Rail, units: str, width_mm: float, height_mm: float) -> list[Element]:
    elements: list[Element] = []
    title = rail_title(rail) + (", a closed frame" if rail.path.closed else "")
    for number, drawn in enumerate(rail_figures(rail, units, width_mm, height_mm - _KEPT_MM)):
        heading = Heading(title if number == 0 else f"{title}, continued", 12.0)
        caption = Paragraph(drawn.caption, _TEXT_PT)
        picture, box = stack([heading, caption, drawn.figure], width_mm)
        elements.append(Figure(picture, box))
    elements.append(corners_table(rail, units))
    if not rail.path.is_flat:
        elements.append(Paragraph(_ROLL, _TEXT_PT))
    elements.append(pipes_table(rail, units))
    return [*elements, *_closing(rail, units)]


_ROLL = (
    "Roll turns a corner's plane about the run before it, from the plane of the corner before; + is "
    "clockwise looking forward along the run, 0° keeps turning the same way, 180° is an S. At the first "
    "corner of an open rail it is from up: 90° turns right, −90° left."
)


def _closing(rail: Rail, units: str) -> list[Element]:
    missed = rail.path.misclosure
    if missed is None:
        return []
    words = (
        f"Closed: by its figures the frame comes back to its start within "
        f"{format_length(missed.position_mm, units)}, {format_angle(missed.direction_rad, 2)} in direction "
        f"and {format_angle(abs(missed.twist_rad), 2)} in twist."
    )
    return [Paragraph(words, _TEXT_PT)]
