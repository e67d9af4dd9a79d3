"""What a person touches: commands and printed pages."""
