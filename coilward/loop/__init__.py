"""What was built: the loop file, units, water, sums, forbidden layouts."""
