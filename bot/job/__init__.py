"""One fault worked from first words to recorded outcome: stages, events, moves."""
