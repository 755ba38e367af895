"""How well a reading accounts for what was typed: whether a line is sure, and if not, why.

Whatever reader a line went through, its tokens are held against the parts they became. What was left over, what was
used for something weak, and what a reader had to suppose are signs (`signs`), each with a weight; a line whose signs
weigh `UNSURE` or more (`weights`) is asked about.
"""
