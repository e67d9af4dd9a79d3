"""What tries everything: faults by the thousand, the search for the worst, the finite part."""
