"""The journal: every tick of a run in one file, written beside the control and never in its way."""
