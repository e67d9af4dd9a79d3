"""The firmware on a processor that is emulated: built for a loop, run in lockstep with the bench."""
