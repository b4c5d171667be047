"""A weekend on one page: what its sessions showed, side by side, and a card for the next visit."""
