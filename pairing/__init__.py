"""Class plans, arcs of effort and sets of music."""
