"""Checks of wrapwright."""
