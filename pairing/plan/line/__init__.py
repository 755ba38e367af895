"""One freely typed line of a note -> what is done."""
