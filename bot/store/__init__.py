"""The disk: pages of the knowledge base, index, journal, clock, folders."""
