"""How far the usual flat sheet and four collars come to lie off the cut on an NPS 1-1/2 elbow.

Run from the checkout: python -m tests.benchmarks.flat_sheet_and_collars
"""

from dataclasses import replace

import numpy as np

from tests.benchmarks.paper_mesh import FlatPaper
from tests.benchmarks.paper_placement import Options, Tube, place
from tests.benchmarks.plain_outlines import CollarShape, collar_wrap, usual_flat_sheet

TUBE = Tube(bend_radius_mm=57.15, tube_radius_mm=24.13, face="B")
#: One of the net's directions along the stays, where most of the pull is.
OPTIONS = Options(grain_rad=np.pi / 6)


def collars(cut_rad: float) -> dict[str, CollarShape]:
    """The wraps to compare, by name."""
    side = np.pi / 2 if cut_rad < np.radians(50.0) else np.radians(75.0)

    def stays(wide: float, throat: float, extra: float = 0.0) -> tuple[tuple[str, float, float, float], ...]:
        pair = (("heel", 0.0, wide, 0.0), ("side+", side, wide, 0.0), ("side-", -side, wide, 0.0))
        return (*pair, ("throat", -np.pi, throat, extra)) if throat else pair

    throat = 6.0 if cut_rad < np.radians(50.0) else 4.0
    spare = throat**2 * cut_rad / (8 * TUBE.tube_radius_mm)
    whole = CollarShape(14.0, 14.0, 0.0, stays(12.0, 12.0))
    slit = CollarShape(10.0, 3.0, 6.0, stays(14.0, throat))
    return {
        "collar 14, stays 12, no slits": whole,
        "the same, slit every 12": replace(whole, bridge_mm=3.0, slit_every_mm=12.0),
        "collar 10, narrow throat stay, slit every 6": slit,
        "that without a throat stay": replace(slit, stays=stays(14.0, 0.0)),
        "narrow stays, slit at their flanks, allowance": replace(
            slit, stays=stays(6.0, throat, spare), with_allowance=True
        ),
    }


def main() -> None:
    """Print the joint error, and the trace edge's deviation along the girth, of each wrap."""
    print("wrap                                           cut  joint error  worst   heel-throat")
    for cut_deg in (32, 45, 55):
        _show("usual flat sheet", cut_deg, usual_flat_sheet(TUBE, np.radians(cut_deg)))
    for cut_deg in (32, 45, 60):
        for name, shape in collars(np.radians(cut_deg)).items():
            _show(name, cut_deg, collar_wrap(TUBE, np.radians(cut_deg), shape))


def _show(name: str, cut_deg: int, paper: FlatPaper) -> None:
    laid = place(paper, TUBE, np.radians(cut_deg), OPTIONS)
    print(
        f"{name:46s} {cut_deg:3d}° {np.degrees(laid.joint_error_rad):8.2f}° {laid.max_deviation_mm:9.2f} mm"
        f" {laid.heel_minus_throat_mm:8.2f} mm"
    )


if __name__ == "__main__":
    main()
