"""Every table of a job in the order of the work, as the terminal shows them."""

from __future__ import annotations

from render.figures.cut_length_table import length_sums_table
from render.figures.cut_tables import cut_list_tables, offcuts_table
from render.figures.drain_tables import drain_table
from render.figures.elbow_tables import buy_tables, elbows_table
from render.figures.figure_tables import corners_table, cuts_table, mitres_table, ordinates_table, pipes_table
from render.figures.fit_up_tables import fit_up_tables
from render.figures.leaning_tables import leaning_ordinates_table, leaning_table
from render.figures.post_size_tables import post_sizes_table
from render.figures.stock_tables import elbows_cut_table, sticks_table
from render.figures.straightness_tables import straightness_tables
from render.pages.tables import Table
from templates_core.model import Model


def figure_tables(model: Model) -> tuple[Table, ...]:
    """Every table of a job, in the order of the work; one that would be empty is left out."""
    units = model.job.units
    tables = [elbows_table(model)]
    for rail in model.rails:
        tables += [corners_table(rail, units), pipes_table(rail, units)]
    tables += [cuts_table(model), ordinates_table(model), leaning_table(model)]
    tables += [leaning_ordinates_table(model), mitres_table(model), *buy_tables(model)]
    tables += [*cut_list_tables(model), length_sums_table(model), sticks_table(model)]
    tables += [elbows_cut_table(model), offcuts_table(model), drain_table(model)]
    for rail in model.rails:
        tables += [*fit_up_tables(rail, units), post_sizes_table(rail, units)]
    tables += straightness_tables(model)
    return tuple(table for table in tables if table.rows)
