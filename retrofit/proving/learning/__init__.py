"""Learning the order: wire in any order, play one slow run, and the keys' places are worked out from what was heard."""
