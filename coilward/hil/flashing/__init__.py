"""The folder that a maker's tools turn into a board's program: one loop, one board."""
