"""The proof: compiled firmware on an emulated controller, its contacts bouncing, its bytes compared with the plan."""
