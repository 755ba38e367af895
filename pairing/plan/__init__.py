"""A teacher's note to a Plan and back."""
