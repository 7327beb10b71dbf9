"""Geometry and job logic: millimetres and radians, no drawing, no paper."""

__version__ = "0.1.0"
