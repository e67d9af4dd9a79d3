"""A logged night decided again: by the same logic, bit for bit, or by another beside it."""
