"""Damaged logs for tests: lightly, as a card, a cable or an editor leaves them."""
