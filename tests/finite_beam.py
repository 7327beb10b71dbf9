"""A pipe as many short stiff pieces: least bending energy, by sparse algebra; knows no beam formula."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import bmat, csr_matrix, diags
from scipy.sparse.linalg import spsolve

Array = NDArray[np.float64]


@dataclass(frozen=True)
class FiniteBeam:
    """Nodes every step_mm over length_mm.  stiffness: E·I [N·mm²]."""

    length_mm: float
    stiffness: float
    step_mm: float

    @property
    def x(self) -> Array:
        return np.linspace(0.0, self.length_mm, round(self.length_mm / self.step_mm) + 1)

    def bends(self) -> csr_matrix:
        """Second differences: curvature at the inner nodes from the heights of all."""
        count = len(self.x)
        return csr_matrix(diags([1.0, -2.0, 1.0], [0, 1, 2], shape=(count - 2, count)) / self.step_mm**2)

    def solve(
        self, at_mm: Sequence[float], heights_mm: Sequence[float], shrunk: Array | None = None
    ) -> tuple[Array, Array, Array]:
        """Heights of all nodes, moments at the inner ones and forces of the supports.

        shrunk: curvature at the inner nodes that the pipe has of itself, free of stress.  The least of
        ½·EI·Σ(y'' - shrunk)²·dx with y given at the supports; its multipliers are their forces.
        """
        bends = self.bends()
        own = np.zeros(bends.shape[0]) if shrunk is None else shrunk
        weight = self.stiffness * self.step_mm
        picks = [round(at / self.step_mm) for at in at_mm]
        hold = csr_matrix((np.ones(len(picks)), (range(len(picks)), picks)), shape=(len(picks), len(self.x)))
        system = bmat([[weight * bends.T @ bends, hold.T], [hold, None]]).tocsc()
        found = spsolve(system, np.concatenate([weight * bends.T @ own, np.asarray(heights_mm, dtype=float)]))
        heights, pushes = found[: len(self.x)], -found[len(self.x) :]
        return heights, self.stiffness * (bends @ heights - own), pushes
