"""Corners of a rail and the pieces of elbow that make them."""
