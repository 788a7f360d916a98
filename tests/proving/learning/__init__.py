"""Learning the order, held against clumsy players of random permutations."""
