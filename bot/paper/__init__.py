"""Pages for paper: the same text laid out for a reader without a screen."""
