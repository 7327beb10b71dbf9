"""Puts true-scale pieces of drawing on pages: small ones together, those larger than a page as tiles."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from render.pages.drawing import Drawing, Item
from render.pages.paper import Layout, Page
from render.pages.shapes import Box, bounds
from render.pages.tile_sheets import tile_pages

GAP_MM = 4.0
"""Clear paper between two pieces on a page."""
_OPEN_PAGES = 12
"""How many pages are kept open for small pieces, so that time a page stays the same in a long pack."""
_MANY_BLOCKS = 60
"""From more blocks than this on, one order of placing is tried."""
_FEW_BLOCKS, _SHUFFLES = 24, 120
"""Up to so many blocks, so many other orders of placing are tried where a page might be saved."""
_TOUCH_MM = 1e-6


@dataclass(frozen=True)
class Block:
    """A piece of drawing at true scale, in its own coordinates.

    box: the room it takes.  may_turn: it may lie on its side where that saves paper.
    seams_x_mm, seams_y_mm: where tiles had best meet when it is larger than a page.
    """

    section: str
    title: str
    drawing: Drawing
    box: Box
    marks: tuple[str, ...] = ()
    may_turn: bool = True
    seams_x_mm: tuple[float, ...] = field(default=())
    seams_y_mm: tuple[float, ...] = field(default=())


def block_of(section: str, title: str, items: Iterable[Item], marks: tuple[str, ...] = ()) -> Block:
    """A block of the given items, its box their bounds."""
    drawing = Drawing(tuple(items))
    return Block(section, title, drawing, bounds(drawing), marks)


def block_pages(blocks: Sequence[Block], layout: Layout) -> tuple[Page, ...]:
    """Pages of a list of blocks: section by section, first those that fit a page, then the tiled ones."""
    pages: list[Page] = []
    for _, group in groupby(blocks, key=lambda block: block.section):
        members = list(group)
        small = [block for block in members if fits(block, layout)]
        pages += nest(small, layout)
        for block in members:
            if not fits(block, layout):
                pages += tile_pages(
                    block.section,
                    block.title,
                    block.drawing,
                    block.box,
                    layout,
                    block.marks,
                    block.may_turn,
                    block.seams_x_mm,
                    block.seams_y_mm,
                )
    return tuple(pages)


def fits(block: Block, layout: Layout) -> bool:
    """Whether a block fits one page, turned if it may be."""
    sizes = [(block.box.width, block.box.height)]
    if block.may_turn:
        sizes.append((block.box.height, block.box.width))
    return any(
        width <= layout.width_mm + _TOUCH_MM and height <= layout.height_mm + _TOUCH_MM
        for width, height in sizes
    )


@dataclass(frozen=True)
class _Placed:
    """A block with its room on a page, x from the left and y from the top [mm]."""

    order: int
    block: Block
    room: Box
    turned: bool


@dataclass(frozen=True)
class _Rule:
    """One way of packing.

    size: larger blocks are placed first.  snug: a block goes where it leaves the narrowest strip beside
    it, otherwise where it ends highest.  upright: it is turned only where it fits no other way.
    """

    size: Callable[[Block], float]
    snug: bool
    upright: bool


class _Bin:
    """A page being filled: the rooms placed and the largest free rectangles left, y down from the top.

    Maximal rectangles after Jylänki, *A thousand ways to pack the bin*, 2010.  Each block takes a gap at
    its right and below it, and the page has as much room more.
    """

    def __init__(self, layout: Layout, rule: _Rule) -> None:
        self.free = [Box(0.0, 0.0, layout.width_mm + GAP_MM, layout.height_mm + GAP_MM)]
        self.placed: list[_Placed] = []
        self.rule = rule

    def place(self, order: int, block: Block) -> bool:
        """Put the block in the best of the free rectangles; False when it fits none."""
        spot = min(self._spots(block), default=None)
        if spot is None:
            return False
        turned, top, left, width, height = spot[1:]
        self.placed.append(_Placed(order, block, Box(left, top, left + width, top + height), turned))
        taken = Box(left, top, left + width + GAP_MM, top + height + GAP_MM)
        rests = [rest for box in self.free for rest in _without(box, taken)]
        self.free = [rest for i, rest in enumerate(rests) if not _inside_another(i, rests)]
        return True

    def _spots(self, block: Block) -> Iterator[tuple[tuple[bool, float], bool, float, float, float, float]]:
        """Badness, turned, top, left, width and height of each place for the block."""
        width, height = block.box.width, block.box.height
        for turned in (False, True) if block.may_turn else (False,):
            w, h = (height, width) if turned else (width, height)
            for box in self.free:
                spare = min(box.right - box.left - w, box.top - box.bottom - h) - GAP_MM
                if spare >= -_TOUCH_MM:
                    bad = spare if self.rule.snug else box.bottom + h
                    yield ((turned and self.rule.upright, bad), turned, box.bottom, box.left, w, h)


def _without(box: Box, taken: Box) -> list[Box]:
    """The largest rectangles of a free box that keep clear of a taken one."""
    if not box.meets(taken):
        return [box]
    rests = (
        Box(box.left, box.bottom, taken.left, box.top),
        Box(taken.right, box.bottom, box.right, box.top),
        Box(box.left, box.bottom, box.right, taken.bottom),
        Box(box.left, taken.top, box.right, box.top),
    )
    return [rest for rest in rests if rest.width > _TOUCH_MM and rest.height > _TOUCH_MM]


def _inside_another(index: int, boxes: list[Box]) -> bool:
    mine = boxes[index]
    return any(
        other.holds(mine) and (other != mine or index > i) for i, other in enumerate(boxes) if i != index
    )


def nest(blocks: Sequence[Block], layout: Layout) -> tuple[Page, ...]:
    """Pages with the blocks packed densely, none overlapping, ``GAP_MM`` apart.

    Of a few orders of placing, the one that takes the fewest pages and leaves most of the last one free.
    Each block must fit a page (``fits``).  Pages and the marks on them follow the order of the blocks.
    """
    if not blocks:
        return ()
    few = len(blocks) <= _MANY_BLOCKS
    listed = list(enumerate(blocks))
    rules = [
        _Rule(size, snug, upright)
        for size in (_long_side, _area, _height)
        for snug in ((False,) if layout.paper.roll else (False, True))
        for upright in (False, True)
    ]
    ways = [
        _packed(sorted(listed, key=lambda pair: -rule.size(pair[1])), layout, rule)
        for rule in rules[: None if few else 1]
    ]
    best = min(ways, key=lambda bins: (len(bins), max(one.room.top for one in bins[-1].placed)))
    if len(blocks) <= _FEW_BLOCKS and not layout.paper.roll:
        best = _shuffled(listed, layout, best)
    best.sort(key=lambda page: min(placed.order for placed in page.placed))
    return tuple(_page_of(page.placed, layout) for page in best)


def _shuffled(listed: list[tuple[int, Block]], layout: Layout, best: list[_Bin]) -> list[_Bin]:
    """The best packing, or one of fewer pages that some other orders give; always the same orders."""
    room = (layout.width_mm + GAP_MM) * (layout.height_mm + GAP_MM)
    least = math.ceil(sum((b.box.width + GAP_MM) * (b.box.height + GAP_MM) for _, b in listed) / room)
    orders, mixed = random.Random(0), list(listed)
    for _ in range(_SHUFFLES):
        if len(best) <= least:
            break
        orders.shuffle(mixed)
        best = _packed(mixed, layout, _Rule(_area, snug=False, upright=True), len(best) - 1) or best
    return best


def _packed(
    ordered: Sequence[tuple[int, Block]], layout: Layout, rule: _Rule, most: float = math.inf
) -> list[_Bin]:
    """Pages filled with the blocks, given with their places in the pack, in the order they are given in.

    No page at all where it would take more than ``most``.
    """
    bins: list[_Bin] = []
    for order, block in ordered:
        if any(page.place(order, block) for page in bins[-_OPEN_PAGES:]):
            continue
        if len(bins) >= most:
            return []
        bins.append(_Bin(layout, rule))
        if not bins[-1].place(order, block):
            raise ValueError(f"{block.title} is larger than a page")
    return bins


def _long_side(block: Block) -> float:
    return max(block.box.width, block.box.height)


def _area(block: Block) -> float:
    return block.box.width * block.box.height


def _height(block: Block) -> float:
    return block.box.height


def _page_of(placed: list[_Placed], layout: Layout) -> Page:
    ordered = sorted(placed, key=lambda one: one.order)
    layout = layout.cut_for(max(one.room.top for one in ordered))
    items = tuple(item for one in ordered for item in _on_page(one, layout.height_mm))
    titles = tuple(dict.fromkeys(one.block.title for one in ordered))
    marks = tuple(dict.fromkeys(mark for one in ordered for mark in one.block.marks))
    return Page(ordered[0].block.section, "; ".join(titles), layout, Drawing(items), marks)


def _on_page(placed: _Placed, height_mm: float) -> Drawing:
    """The block's drawing, turned if need be and moved to its room, y up again."""
    box, room = placed.block.box, placed.room
    foot = height_mm - room.top
    if placed.turned:
        return placed.block.drawing.moved(room.left + box.top, foot - box.left, math.pi / 2.0)
    return placed.block.drawing.moved(room.left - box.left, foot - box.bottom)
