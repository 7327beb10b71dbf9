"""Pieces shared out to elbows, and pipes to sticks."""
