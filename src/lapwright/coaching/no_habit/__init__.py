"""What runs show where no habit does: how they vary, the quicker ones, what would settle it."""
