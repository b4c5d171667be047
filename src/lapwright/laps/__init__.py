"""From a motion and a track to laps: where the car was on the path, lap table, delta, ledger."""
