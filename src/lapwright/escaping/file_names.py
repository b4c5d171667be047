"""
Names of files made of what people typed: no way out of a folder, and the same on every system.

References
----------
Microsoft, "Naming Files, Paths, and Namespaces" (reserved names; a name may not end with a dot).
Unicode Standard Annex 15 (form C: one name for one sight, whoever typed it).
"""

import hashlib
import re
import unicodedata
from pathlib import Path
from urllib.parse import quote

from lapwright.escaping.unseen import encodable

# File systems end at 255 bytes, a letter may take four, and whole files are written beside.
_LONGEST_STEM = 50
_LONGEST_PART = 180
_RESERVED = re.compile(r"con|prn|aux|nul|(com|lpt)[0-9¹²³]", re.IGNORECASE)


def file_stem(name: str, otherwise: str) -> str:
    """
    Make the name of a file, without its ending, of a name that somebody typed.

    Parameters
    ----------
    name : str
    otherwise : str
        Where nothing of it can be in the name of a file.

    Returns
    -------
    str
        Small letters, digits and underscores of any script, which do not begin it; no name that
        Windows keeps for itself.

    Examples
    --------
    >>> file_stem("Wren Hollow (Club)", "track"), file_stem("?", "track"), file_stem("CON", "track")
    ('wren_hollow_club', 'track', 'con_')
    """
    # Twice: small letters can come apart into a letter and its mark.
    small = unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).lower())
    stem = re.sub(r"[^\w]+", "_", small).strip("_")[:_LONGEST_STEM].rstrip("_") or otherwise
    return f"{stem}_" if _RESERVED.fullmatch(stem) else stem


def free_file(folder: Path, stem: str, ending: str) -> Path:
    """
    Return a file in a folder that is not there yet: with a number where the name is taken.

    Parameters
    ----------
    folder : Path
    stem, ending : str

    Returns
    -------
    Path
        Not taken by letters of the other case or another form either, where it may be copied to
        a system that does not tell them apart.
    """
    taken = {_folded(one.name) for one in folder.iterdir()} if folder.is_dir() else set()
    name, number = f"{stem}{ending}", 2
    while _folded(name) in taken:
        name, number = f"{stem}_{number}{ending}", number + 1
    return folder / name


def partition_value(text: str) -> str:
    """
    Write the value of a part of a season, as Hive names folders, so that it reads back.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        One part of a path, without a separator or an equals sign.  A very long one is cut and
        ends with a digest of the whole.

    Examples
    --------
    >>> partition_value("Wren Hollow"), partition_value("../a=b."), partition_value("..")
    ('Wren%20Hollow', '..%2Fa%3Db%2E', '.%2E')
    """
    said = encodable(unicodedata.normalize("NFC", text))
    part = quote(said, safe="")
    if len(part) > _LONGEST_PART:
        mark = hashlib.sha256(said.encode()).hexdigest()[:12]
        kept = said[:_LONGEST_PART]
        while len(quote(kept, safe="")) > _LONGEST_PART - len(mark) - 1:
            kept = kept[:-1]
        part = f"{quote(kept, safe='')}-{mark}"
    # Windows takes a dot at the end away, and then reads another name.
    return f"{part[:-1]}%2E" if part.endswith(".") else part


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
