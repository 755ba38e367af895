"""The invented music of the demo."""
