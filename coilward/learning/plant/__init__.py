"""The simulator's own parts, driven by what a log says in the place of controller and fire."""
