"""Commands and exit codes; no decisions."""
