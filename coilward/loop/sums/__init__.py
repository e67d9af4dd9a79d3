"""The published sums: numbers in, numbers out."""
