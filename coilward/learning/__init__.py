"""What a log tells: the loop's numbers from a logged run, with their uncertainties."""
