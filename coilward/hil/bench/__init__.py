"""Hardware in the loop: the plant is played to a board, and every answer held against ours."""
