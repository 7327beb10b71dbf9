"""A rail's centreline in space."""
