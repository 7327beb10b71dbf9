"""The elbow or pipe that paper is laid on, in the frame of `paper_placement`."""

from dataclasses import dataclass

import numpy as np

from tests.benchmarks.paper_mesh import Floats


@dataclass(frozen=True)
class Tube:
    """The elbow (or, with an infinite bend radius, the pipe) that the paper is laid on.

    `shoulder_mm` is how far behind the face plane the edge lies that tabs hook over. The paper lies printed
    side out with the face down: left to right is -phi seen so from face A, +phi from face B.
    """

    bend_radius_mm: float
    tube_radius_mm: float
    shoulder_mm: float = 0.0
    face: str = "A"

    @property
    def straight(self) -> bool:
        """Whether this is a straight pipe."""
        return bool(np.isinf(self.bend_radius_mm))

    @property
    def x_sign(self) -> int:
        """+1 where phi grows to the right on the paper, -1 where it grows to the left."""
        return {"A": -1, "B": 1}[self.face]

    def rho(self, phi: Floats) -> Floats:
        """Millimetres along the girth line per unit of psi."""
        if self.straight:
            return np.ones_like(phi)
        return np.asarray(self.bend_radius_mm + self.tube_radius_mm * np.cos(phi))

    def rho_slope(self, phi: Floats) -> Floats:
        """d rho / d phi."""
        return np.zeros_like(phi) if self.straight else np.asarray(-self.tube_radius_mm * np.sin(phi))

    def shoulder_psi(self, phi: Floats) -> Floats:
        """Psi of the shoulder circle: the section by the plane at `shoulder_mm` behind the face."""
        if self.straight:
            return np.full_like(phi, self.shoulder_mm)
        return np.asarray(np.arcsin(self.shoulder_mm / self.rho(phi)))

    def shoulder_slope(self, phi: Floats) -> Floats:
        """d shoulder_psi / d phi."""
        if self.straight:
            return np.zeros_like(phi)
        rho, b = self.rho(phi), self.shoulder_mm
        return np.asarray(-b * self.rho_slope(phi) / (rho * np.sqrt(rho**2 - b**2)))

    def in_space(self, phi: Floats, psi: Floats) -> Floats:
        """Points in space, shape (n, 3)."""
        r = self.tube_radius_mm
        if self.straight:
            return np.column_stack([r * np.cos(phi), psi, r * np.sin(phi)])
        rho = self.rho(phi)
        return np.column_stack([rho * np.cos(psi), rho * np.sin(psi), r * np.sin(phi)])
