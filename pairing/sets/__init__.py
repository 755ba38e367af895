"""From an answer of the solver to a set of music, and its later life."""
