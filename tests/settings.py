"""Hypothesis settings that draw the same cases each run."""

from __future__ import annotations

from hypothesis import settings


def seeded(examples: int) -> settings:
    """So many cases, the same ones each run, with no deadline on a busy machine."""
    return settings(max_examples=examples, derandomize=True, deadline=None, database=None)
