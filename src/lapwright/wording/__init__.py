"""Words that a racer reads, said once: every page, screen and PDF takes them from here."""
