"""The project's own promises: layout, floors, start-up, lint reasons, and what the README says."""
