"""Wraps, laid flat."""
