"""What is measured: the valve loop's answer over its whole range, and settings that fit it."""
