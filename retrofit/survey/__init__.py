"""Floor 0: the job file, what was found and what is wanted."""
