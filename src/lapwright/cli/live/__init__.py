"""`lapwright live`: how this lap is going, on a screen, as JSON and on a page."""
