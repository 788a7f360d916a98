"""The board link, from the computer's side."""
