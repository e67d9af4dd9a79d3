"""The sums of a loop before anything is bought: where it ends, what it needs, what helps."""
