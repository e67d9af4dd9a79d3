"""What each calibrated instrument puts on its certificate and into the loop file."""
