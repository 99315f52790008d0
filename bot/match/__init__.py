"""Plain words to cards, with probabilities and reasons, or "nothing fits"."""
