"""How every group is sensed: the circuit, the tap, what the organ feels, the isolation and our own supply."""
