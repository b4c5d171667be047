"""What `lapwright track` does besides showing a circuit: names, the library, a map."""
