"""Vetting, sharing, merging: text in, text out."""
