"""Records of proving runs: what was heard and said, and how each point came out, in a file beside the job."""
