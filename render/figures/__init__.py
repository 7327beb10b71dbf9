"""The figures of a job in words: tables that sheets and terminal share, JSON and CSV."""
