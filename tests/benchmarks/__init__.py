"""Evidence that is too slow or too broad for the tests, and the tools that measure it."""
