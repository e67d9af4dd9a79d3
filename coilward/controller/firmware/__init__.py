"""The same decisions in C99, translated from the controller: what was rehearsed is what runs."""
