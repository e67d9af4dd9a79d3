"""The replay: a logged night decided again, and held against what was decided then."""
