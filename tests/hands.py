"""The metal that saw, scriber and the paper of a written pack make of tubes on the rack.

Nothing here knows how a cut is worked out.  A sawn pipe lies in a frame of its own: z along it from its sawn
first end, x towards its scribed 0° line.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np

from tests.pdf_reader import Sheet
from tests.printed_paper import QUARTERS, Array, PaperWrap, paper_wraps
from tests.printed_words import LENGTH, Caption, captions, first_length_mm, length_mm


@dataclass(frozen=True)
class Tube:
    """What lies on the rack [mm]."""

    od_mm: float
    wall_mm: float

    @property
    def radius_mm(self) -> float:
        return self.od_mm / 2

    @property
    def bore_mm(self) -> float:
        return self.radius_mm - self.wall_mm


@dataclass(frozen=True)
class SawnPipe:
    """A pipe cut to its lines.  first, second: (n, 2) girth angle [rad] and z [mm] of each end's cut."""

    mark: str
    tube: Tube
    blank_mm: float
    first: Array
    second: Array
    captions: dict[str, Caption] = field(default_factory=dict)

    def wall(self, end: str, radii: int = 25) -> Array:
        """The cut of an end, bore to outside, (n, radii, 3): square through the wall, or flat if so said."""
        cut = self.first if end == "first end" else self.second
        r = np.linspace(self.tube.bore_mm, self.tube.radius_mm, radii)
        phi, z = cut[:, :1], np.broadcast_to(cut[:, 1:], (len(cut), radii))
        x, y = np.cos(phi) * r, np.sin(phi) * r
        if "Cut it flat" in self.said(end):
            plane = np.linalg.lstsq(
                np.column_stack([x[:, -1], y[:, -1], 0 * x[:, -1] + 1]), z[:, -1], rcond=None
            )[0]
            z = plane[0] * x + plane[1] * y + plane[2]
        return np.stack([x, y, z], axis=-1)

    def said(self, end: str) -> str:
        """What the captions say of one end."""
        text = " ".join(c.text for name, c in self.captions.items() if name in (end, "both ends"))
        if "both ends" in self.captions:
            begins = [text.find("First end:"), text.find("Second end:")]
            if end == "second end":
                text = text[begins[1] :] if begins[1] >= 0 else ""
            else:
                text = text[: begins[1] if begins[1] >= 0 else None] if begins[0] >= 0 else ""
        return text

    def cut_at(self, end: str, phi: float) -> float:
        """z of an end's cut on the line at a girth angle."""
        cut = self.first if end == "first end" else self.second
        turned = np.remainder(cut[:, 0] - phi, 2 * math.pi)
        order = np.argsort(turned)
        return float(np.interp(0.0, turned[order], cut[order, 1], period=2 * math.pi))

    def facing(self, end: str) -> tuple[str, float]:
        """What the words say faces where at an end, and its girth angle [rad] from the 0° line."""
        text = self.said(end)
        found = re.search(r"The ([\w ]+(?: \([\w ]+\))?) is (?:on|([\d.]+)° round from) the 0° line", text)
        assert found, text
        return found[1], math.radians(float(found[2] or 0))


@dataclass(frozen=True)
class Bench:
    """Sheets of wraps and the cut list, and the tubes on the rack by the words of their size."""

    wraps: list[Sheet]
    rows: list[list[str]]
    paper_mm: float

    @cached_property
    def captions(self) -> list[Caption]:
        return [caption for sheet in self.wraps for caption in captions(sheet)]

    def tip_to_tip_mm(self, mark: str, unit_mm: float) -> float:
        """As the cut list has it: the last figure of the pipe's row."""
        row = next(row for row in self.rows if row[0] == mark and len(row) >= 6)
        return length_mm(row[-1]) * unit_mm

    def make(self, mark: str, tube: Tube, unit_mm: float = 1.0) -> SawnPipe:
        """Saw a blank, strike its lines, wind its wraps on, cut."""
        said = {c.what: c for c in self.captions if mark in c.marks and not c.what.startswith("hole")}
        listed = self.tip_to_tip_mm(mark, unit_mm)
        blank = listed
        if said:
            blank = first_length_mm(rf"Blank {LENGTH}, sawn square", next(iter(said.values())).text)
            assert abs(blank - listed) < (0.06 if unit_mm == 1.0 else 0.9), (blank, listed)
        round_ = np.linspace(-math.pi, math.pi, 181)
        ends = {
            "first end": np.column_stack([round_, 0 * round_]),
            "second end": np.column_stack([round_, 0 * round_ + blank]),
        }
        for what, caption in said.items():
            wrap = self.wrap_of(caption)
            _check_quarters(wrap, tube)
            if what == "both ends":
                low, high = wrap.traces
                ends["first end"] = self.wound(low - np.array([0.0, low[:, 1].min()]), tube)
                ends["second end"] = self.wound(high + np.array([0.0, blank - high[:, 1].max()]), tube)
                assert np.isclose(high[:, 1].max() - low[:, 1].min(), blank, atol=0.03)
            else:
                ring = first_length_mm(rf"Ring line {LENGTH} from the sawn first end", caption.text)
                assert wrap.ring_mm in (None, ring) and wrap.square_mm is not None
                (trace,) = wrap.traces
                ends[what] = self.wound(trace + np.array([0.0, ring - wrap.square_mm]), tube)
        first, second = ends["first end"], ends["second end"]
        assert abs(first[:, 1].min()) < 0.05 and abs(second[:, 1].max() - blank) < 0.05, mark
        return SawnPipe(mark, tube, blank, first, second, said)

    def wrap_of(self, caption: Caption) -> PaperWrap:
        (one,) = [
            wrap
            for wrap in self.papers
            if wrap.what == caption.what and wrap.mark.split(" ")[0] == caption.marks[0]
        ]
        return one

    @cached_property
    def papers(self) -> list[PaperWrap]:
        return [wrap for sheet in self.wraps for wrap in paper_wraps(sheet)]

    def wound(self, line: Array, tube: Tube) -> Array:
        """Girth angles and heights of a line drawn on paper, by points at most half a millimetre apart."""
        steps = [np.linspace(a, b, max(2, int(math.dist(a, b) / 0.5) + 2))[:-1] for a, b in pairwise(line)]
        dense = np.vstack([*steps, line[-1:]])
        return np.column_stack([dense[:, 0] / (tube.radius_mm + self.paper_mm / 2), dense[:, 1]])


def _check_quarters(wrap: PaperWrap, tube: Tube) -> None:
    """The four lines stand a quarter of the girth apart, in order, on paper that lies on the pipe."""
    for name, phi in QUARTERS.items():
        off = wrap.quarters_mm[name] / tube.radius_mm - phi
        assert abs(math.remainder(off, 2 * math.pi)) < 0.02, (wrap.mark, name)
