"""Proving runs: what is asked of the person in which order, what is noted of what comes, and what is said of it."""
