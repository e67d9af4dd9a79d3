"""The firmware on an emulated processor: built for a loop, run in lockstep with the bench."""
