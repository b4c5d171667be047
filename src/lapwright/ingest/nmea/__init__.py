"""NMEA 0183: sentences, their checksums and their time."""
