"""A class and a library of tracks into the solver's arrays, and its answer into exact times."""
