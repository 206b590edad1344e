"""The motor on a supply that is not as it should be: unbalanced, a line open, dipped, interrupted."""
