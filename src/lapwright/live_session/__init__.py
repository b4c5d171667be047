"""How this lap is going, while it is being driven; see `lapwright.live_session.live.live`."""
