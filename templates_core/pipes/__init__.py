"""Straight pipes: those of a rail's runs, posts, mid rails and loose members."""
