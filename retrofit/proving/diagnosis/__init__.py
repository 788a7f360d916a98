"""From what was heard of a group to the fault in its wiring that explains it."""
