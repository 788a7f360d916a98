"""What the screens work on: the open job with its plan, edits, undo and what was typed; no textual in here."""
