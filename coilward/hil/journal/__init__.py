"""The journal of a stove: every tick in one SQLite file, and what is read from it again."""
