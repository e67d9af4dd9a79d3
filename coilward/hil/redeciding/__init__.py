"""One function that is compiled, in a folder of its own: only its edits compile it anew."""
