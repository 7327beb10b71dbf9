"""The integer programming library, behind what the planning of stock needs of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from templates_core.errors import WrapwrightError

Array = NDArray[np.float64]

LEAST_STEPS = 100
"""What a solution counts for besides its own steps."""
ROW_WORK = 50
"""What a row adds to the work of a step, against one number of the program."""
PRIMAL = 4
"""Simplex method that goes on from the last solution when columns are added."""


class Program:
    """A linear program built row by row and column by column; variables are 0 or more."""

    def __init__(self) -> None:
        from highspy import _core  # noqa: PLC0415 - a tenth of a second that only planning needs

        self._library: Any = _core
        # The public class does the same, and prints the library's name and licence whenever it is made.
        self._highs: Any = self._library._Highs()
        self.work = 0
        """Steps of the simplex method times what they work on: it grows as the time does, but is the same
        whenever the same is solved."""
        options = {"output_flag": False, "threads": 1, "random_seed": 1, "simplex_strategy": PRIMAL}
        for name, value in options.items():
            self._highs.setOptionValue(name, value)

    def row(self, low: float, high: float) -> None:
        """Add a row that must come out from low to high."""
        self._highs.addRow(low, high, 0, np.empty(0, np.int32), np.empty(0))

    def column(self, cost: float, most: float, entries: Sequence[tuple[int, int]]) -> None:
        """Add a variable; entries: (row, coefficient)."""
        rows = np.array([row for row, _ in entries], dtype=np.int32)
        self._highs.addCol(cost, 0.0, most, len(rows), rows, np.array([float(value) for _, value in entries]))

    def solve_relaxed(self) -> Array:
        """Solve with fractions allowed; gives the dual value of each row."""
        self._run()
        return np.array(self._highs.getSolution().row_dual)

    def values(self) -> Array:
        """The variables as last solved."""
        return np.array(self._highs.getSolution().col_value)

    def bound_row(self, row: int, low: float, high: float) -> None:
        """Change what a row must come out as."""
        self._highs.changeRowBounds(row, low, high)

    def solve_whole(
        self, most_nodes: int, target: float = -math.inf, start: Sequence[float] | None = None
    ) -> tuple[Array, float]:
        """Solve in whole numbers; gives the variables and the proven bound.

        Stops at the best plan found after so many nodes, or at one that costs no more than the target.
        start: variables of a plan to better.
        """
        self._make_whole()
        if start is not None:
            self._start_from(start)
        options = {"mip_rel_gap": 0.0, "mip_abs_gap": 1e-7, "mip_max_nodes": most_nodes}
        for name, value in (options | {"objective_target": target}).items():
            self._highs.setOptionValue(name, value)
        self._run()
        return self.values(), float(self._highs.getInfo().mip_dual_bound)

    def solve_tidier(self, values: Array, priced: int, troubles: Array, most_nodes: int) -> Array:
        """Solve for least trouble at the cost of the values given; priced: how many columns cost anything."""
        costs = np.array(self._highs.getLp().col_cost_)
        rows = np.arange(priced, dtype=np.int32)
        spent = float(costs @ np.round(values))
        self._highs.addRow(-math.inf, spent + 1e-7, priced, rows, costs[:priced])
        numbers = np.arange(len(values), dtype=np.int32)
        self._highs.changeColsCost(len(values), numbers, troubles)
        self._highs.setOptionValue("mip_max_nodes", most_nodes)
        self._highs.setOptionValue("objective_target", -math.inf)
        self._start_from(np.round(values).tolist())
        self._run()
        return self.values()

    def _make_whole(self) -> None:
        count = self._highs.getNumCol()
        kinds = np.full(count, self._library.HighsVarType.kInteger)
        self._highs.changeColsIntegrality(count, np.arange(count, dtype=np.int32), kinds)

    def _start_from(self, values: Sequence[float]) -> None:
        start = self._library.HighsSolution()
        start.col_value = [float(value) for value in values]
        self._highs.setSolution(start)

    def _run(self) -> None:
        status = self._library.HighsModelStatus
        self._highs.run()
        steps = max(0, self._highs.getInfo().simplex_iteration_count)
        each = self._highs.getNumNz() + ROW_WORK * self._highs.getNumRow()
        self.work += (steps + LEAST_STEPS) * each
        found = self._highs.getModelStatus()
        stopped_early = found in (status.kSolutionLimit, status.kObjectiveTarget, status.kInterrupt)
        feasible = self._highs.getInfo().primal_solution_status == 2
        if found != status.kOptimal and not (stopped_early and feasible):
            raise WrapwrightError(f"the plan of the stock could not be solved ({found})")
