"""The printed page: one self-contained file, one side of paper."""
