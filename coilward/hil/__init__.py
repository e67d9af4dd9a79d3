"""What touches wires: frames, boards, the bench, the journal, and the replay of a logged night."""
