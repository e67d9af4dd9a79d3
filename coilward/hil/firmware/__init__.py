"""The wire in C: the table of messages written out, and the line protocol that reads it."""
