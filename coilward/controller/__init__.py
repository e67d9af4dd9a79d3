"""What decides: pure logic with no clock, no input or output, no randomness."""
