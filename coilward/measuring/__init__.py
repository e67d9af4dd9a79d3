"""What instruments show against something that is known: calibrations, with their doubt."""
