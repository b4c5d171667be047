"""Texts that try to break out of whatever they are written into."""

import unicodedata

from hypothesis import strategies as st

# One of each: mark-up, attribute, script, CDATA, formula, terminal, direction, no width, lines,
# captions, mathtext, other scripts, halves of pairs, noncharacters.
NASTY = (
    "<script>window.broken=1</script>", "\" onmouseover=\"window.broken=1",
    "'><img src=x onerror=1>", "</style></script><!--", "]]></svg>",
    "=HYPERLINK(\"http://x.invalid\")", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "'quoted",
    "\x1b[2J\x1b]0;title\x07", "\u009b31m", "a\rb", "a\x08\x08b", "a\x00b", "\u202egnp.exe",
    "a\u200bb", "\ufeffx", "a\u2028b", "\u2066x\u2069", "00:01 --> 00:02", "a\n\nb", "{\\an8}x",
    "&amp;&lt;", "$x_1$ $\\frac{1}{0}$", "\\N", "鈴鹿\U0001f3ce", "e\u0301", "\udcff", "\ud800x",
    "\ufffe", "../../etc/passwd", "C:\\con", "a=b/c", "..", ".", "-rf", "%2e%2e%2f", "\"\"\"",
    "#{x}", "{{7*7}}",
)  # fmt: skip

_ALPHABET = st.one_of(
    st.sampled_from("<>&\"'=+-@\t\r\n\\/$%`{}[]|;:,.# \x00\x07\x08\x1b\x7f\x85\x9b"),
    st.sampled_from("\u202e\u200b\u200d\u2028\u2066\ufeff\ud800\udcff\ufffe\U000e0041\u00ad\u3164"),
    st.sampled_from("aZ09éßøł鈴נ\u0301\U0001f3ce±−–²°"),
    st.characters(),
)

texts = st.one_of(
    st.sampled_from(NASTY),
    st.text(_ALPHABET, max_size=40),
    st.builds(str.__add__, st.sampled_from(NASTY), st.text(_ALPHABET, max_size=8)),
)  # fmt: skip

_BLANKS = "\n\t "


def cannot_be_seen(text: str) -> list[str]:
    """
    Say which characters of a text a reader would not see.

    By the general categories of the Unicode Character Database, not by our own list.
    """
    return [
        c for c in text
        if c not in _BLANKS and unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp", "Cs")
    ]  # fmt: skip


def encodes(text: str) -> bool:
    """Whether UTF-8 can hold a text: no half of a pair is in it."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
