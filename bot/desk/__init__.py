"""Where the pure rooms and the store meet: lint, asking, the walk of a job."""
