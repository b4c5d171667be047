"""Track files: GeoJSON (RFC 7946) in, a `Track` out, and back."""
