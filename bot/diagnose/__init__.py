"""Beliefs over causes, the next step worth its minutes, proof, learning."""
