"""What pretends: plant, thermometers and meters, faults, nights."""
