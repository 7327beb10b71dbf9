"""Surfaces, plane sections, developments, solids: shapes alone, whatever they are for."""
