"""What a rail is fitted up by."""
