"""The motion model run forward: the filter, the thread along the path, lines and their moments."""
