"""Sheets: a drawing is recorded first and written to a format last."""
