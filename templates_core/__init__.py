"""Geometry and job logic: millimetres and radians, no drawing, no paper."""
