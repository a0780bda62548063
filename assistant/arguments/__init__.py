"""What each call takes, and its help; `calls` has the calls of the same names."""
