"""The trade's sums: each bounded, sourced, and usable beside the truck."""
