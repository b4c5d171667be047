"""
What was found out is kept: a folder of results, so that the same question is answered at once.

`store` is the folder, `codec` how a value becomes bytes and back, `method` what a result depends on
beside its input, `shelf` the results about one thing.  Nothing here knows of logs or tracks, and
nothing here is needed: without the folder everything is worked out again and comes out the same.
"""

from lapwright.kept.arrays import CannotKeep
from lapwright.kept.codec import content_of, fingerprint
from lapwright.kept.method import method_version
from lapwright.kept.shelf import Keep, Shelf, kept_property, not_kept
from lapwright.kept.store import MISSING, USUAL, CacheChoice, Store, Usual, store_of

__all__ = [
    "MISSING",
    "USUAL",
    "CacheChoice",
    "CannotKeep",
    "Keep",
    "Shelf",
    "Store",
    "Usual",
    "content_of",
    "fingerprint",
    "kept_property",
    "method_version",
    "not_kept",
    "store_of",
]
