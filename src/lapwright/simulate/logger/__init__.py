"""What a logger makes of a drive: fixes, noise, channels, files."""
