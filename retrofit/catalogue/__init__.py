"""Floor 1: boards, registers, diodes, contacts and cable, each figure with its source."""
