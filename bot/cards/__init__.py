"""Card text to Card and back, with every fault by its line."""
