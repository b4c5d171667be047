"""The moments that cut a session into laps: line, pit lane, standstill."""
