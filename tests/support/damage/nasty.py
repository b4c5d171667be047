"""What readers trip over: numbers, dates, letters, words of formats, and very much of a thing."""

from random import Random

NUMBERS = (
    b"nan", b"NaN", b"inf", b"-inf", b"Infinity", b"1e308", b"-1e308", b"1e400", b"-1e400",
    b"1e-320", b"-0", b"-0.0", b"0", b"99999999999999999999", b"9223372036854775807",
    b"-9223372036854775808", b"9223372036854775808", b"18446744073709551616", b"1" * 400,
    b"0x10", b"1_000", b"1,5", b"1.2.3", b"--1", b"+", b"-", b"", b" ", b"true", b"null", b"#N/A",
    b"1e", b"\xd9\xa1\xd9\xa2", b"\xe2\x88\x921", b"\xef\xbc\x91", b"180", b"-180", b"360", b"90",
    b"-90", b"90.0000001", b"1 000", b"1\xc2\xa0000", b"2147483648", b"4294967296", b"1e18",
    b"1e19", b"-1e19", b"9.2e18",
)  # fmt: skip
DATES = (
    b"0000-00-00", b"9999-12-31", b"9999-99-99", b"2026-02-30", b"2026-13-01", b"1601-01-01",
    b"1677-09-21", b"2262-04-12", b"2262-04-11T23:47:16.854775807Z", b"2300-01-01", b"1969-12-31",
    b"1970-01-01", b"31/12/9999", b"00/00/0000", b"12.13.26", b"24:00:00", b"23:59:60", b"23:59:61",
    b"25:61:61", b"99:99:99", b"12:00:00+99:99", b"12:00:00.999999999999999999", b"", b"now",
    b"2026-W53-7", b"2026-366", b"2016-12-31T23:59:60Z", b"-0001-01-01", b"10000-01-01", b"000000",
    b"999999", b"235960", b"310226", b"\xd9\xa2\xd9\xa0:00:00",
)  # fmt: skip
LETTERS = (
    "\u00fc", "\u20ac", "\ufeff", "\u2028", "\x85", "\u202e", "\U0001f3ce", "\x00", "\x1b[2J",
    "\u0301", "\u00ad", "\ufffd", "\u0130",
)  # fmt: skip
LINE_ENDS = (
    b"",
    b"\r",
    b"\n\r",
    b"\r\r\n",
    b"\x0b",
    b"\x0c",
    b"\xc2\x85",
    b"\xe2\x80\xa8",
    b"\n\n",
    b"\0",
)
PIECES = (
    b'"', b"'", b",", b";", b"\t", b"\n", b"\r", b"\0", b"#", b"$", b"*", b"\\", b"[", b"]", b"{",
    b"}", b"<", b">", b"&", b"&lt;", b"&#0;", b"&#x1F600;", b"<!--", b"-->", b"<![CDATA[", b"]]>",
    b"<!DOCTYPE gpx>", b"<?xml version='1.0' encoding='utf-16'?>", b"<trkpt>", b"</trkpt>",
    b'<trkpt lat="1" lon="2"/>', b"<trkseg>", b"</trkseg>", b"</gpx>", b"<gpx>", b"<time/>",
    b"$GPRMC,", b"$GPZDA,000000,01,01,2026,00,00", b"$GPGST,1,1,1,1,1,1,1,1", b"$GPVTG,,T,,M,,N,,K",
    b"time", b"latitude", b"lon", b"speed", b"date,time", b"utc offset", b"gps week", b"km/h",
    b"[deg]", b"=cmd()", b"\xff", b"\x80", b"\xc3", b"\xed\xa0\x80", b"\x1a", b"\x1f", b"\x7f",
)  # fmt: skip
_MANY = (
    b"x", b"9", b" ", b'"', b",", b";", b"\t", b"\n", b"\r", b"$", b"*", b"(", b"[", b"{", b"<a>",
    b"<trkseg>", b"trkseg", b"<trkpt>", b'<trkpt lat="1" lon="1">', b"&amp;", b"\0", b'""', b'"\n',
    b"1,", b"a=", b"$GPRMC,", b"00:00:00 ", b"2026-01-01", b"\xc3\xbc", b"=", b".", b"-", b"1e9,",
    b"<!--", b"</", b"\\", b"# ",
)  # fmt: skip


def bomb(rng: Random, size: int) -> bytes:
    """Return so many bytes of one thing that looks harmless when it stands alone."""
    one = rng.choice(_MANY)
    return one * (size // len(one))
