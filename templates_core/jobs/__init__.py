"""The job: what its file may say, how it is read, and what was measured."""
