"""From the Python that the controller is written in to C99, line by line and name by name."""
