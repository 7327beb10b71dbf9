"""Tables of standard sizes and the commented job file, as package data."""
