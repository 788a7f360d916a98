"""Floor 2: settling, loading and logic margins at the tolerance corners."""
