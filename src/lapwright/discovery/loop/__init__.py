"""The loop a log drives: found, refined, averaged."""
