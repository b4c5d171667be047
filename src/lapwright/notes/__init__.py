"""`weekend.toml`: what people note beside the logs, read and written with everything else kept."""
