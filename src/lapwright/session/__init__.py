"""A log and a track as one `Session`, and the tables of a weekend made of them."""

from lapwright.session.session import Session

__all__ = ["Session"]
