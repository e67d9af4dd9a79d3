"""Control logic for a wood-fired water loop, and the bench that tests it."""

__version__ = "0.1.0"
