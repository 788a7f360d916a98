"""Proving runs, from single steps to whole runs of made consoles."""
