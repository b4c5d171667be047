"""GPX 1.0 and 1.1: grammar cases of the schema, the shortcut against the XML parser, damage."""

import csv
import re
import time
from pathlib import Path

import numpy as np
import pytest

from lapwright.errors import LogError
from lapwright.ingest import read_log
from lapwright.ingest.gpx import grammar, uniform_points
from lapwright.ingest.gpx.parse import UnsafeXmlError, parse_points
from lapwright.ingest.gpx.read import read_gpx

FIGURES = Path(__file__).parents[1] / "figures"
HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="x" '
    'xmlns:e="urn:example:ext">\n<trk><trkseg>\n'
)
TAIL = "</trkseg></trk></gpx>\n"


def cases() -> list[dict[str, str]]:
    lines = (FIGURES / "gpx_cases.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def point(k: int, lat: float = 50.1, extra: str = "") -> str:
    return (
        f'<trkpt lat="{lat + k * 1e-5:.7f}" lon="7.0000000"><ele>100.5</ele>'
        f"<time>2024-06-15T12:00:{k:02d}Z</time>{extra}</trkpt>\n"
    )


@pytest.fixture
def write(tmp_path):
    def writer(text: str | bytes, name: str = "log.gpx") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return writer


def test_there_are_44_cases_19_of_them_valid() -> None:
    assert len(cases()) == 44
    assert sum(case["verdict"] == "valid" for case in cases()) == 19


@pytest.mark.parametrize("case", cases(), ids=lambda case: case["case"])
def test_the_verdict_of_the_schema(case: dict[str, str]) -> None:
    # Verdicts of the GPX 1.1 schema by two XML Schema processors (file's first line).
    points = parse_points(case["document"].encode())
    if case["case"] == "wrong ns":
        # Invalid as GPX 1.1, but it says that it is GPX 1.0, and is read as that.
        assert not points.breaches.lines
        return
    assert not points.error
    assert bool(points.breaches.lines) == (case["verdict"] == "invalid"), points.breaches.lines


@pytest.mark.parametrize(
    "case", [case for case in cases() if "<trkpt" in case["document"]], ids=lambda c: c["case"]
)
def test_a_file_with_that_flaw_is_read_with_a_finding(case: dict[str, str], write) -> None:
    more = "".join(point(k).replace("\n", "") for k in range(1, 6))
    document = re.sub(r"(</trkpt>|<trkpt [^>]*/>)", r"\1" + more, case["document"], count=1)
    assert more in document
    log = read_log(write(document))
    assert len(log.fixes) >= 5
    found = "gpx_grammar" in {note.code for note in log.findings}
    assert found == (case["verdict"] == "invalid")


def test_gpx_1_0_has_speed_and_course_of_its_own(write) -> None:
    # GPX 1.0 schema: course and speed are children of trkpt, speed in m/s; lon 180 is allowed.
    body = "".join(point(k, extra="<course>0.0</course><speed>1.11</speed>") for k in range(20))
    text = HEAD.replace("GPX/1/1", "GPX/1/0").replace('"1.1"', '"1.0"') + body + TAIL
    log = read_log(write(text))
    assert log.fixes["speed_mps"].tolist() == [1.11] * 20
    assert log.fixes["course_deg"].tolist() == [0.0] * 20
    assert "gpx_grammar" not in {note.code for note in log.findings}


def test_extensions_are_read_by_their_local_name(write) -> None:
    extra = (
        "<extensions><e:TrackPointExtension><e:speed>1.11</e:speed><e:rpm>4000</e:rpm>"
        "</e:TrackPointExtension></extensions>"
    )
    log = read_log(write(HEAD + "".join(point(k, extra=extra) for k in range(20)) + TAIL))
    assert log.fixes["speed_mps"].tolist() == [1.11] * 20
    assert log.channels["rpm"].tolist() == [4000.0] * 20
    assert log.roles == {"rpm": "rpm"}
    assert not log.findings


def drive_text(drive, iso, layout: str) -> str:
    """Write a drive; `layout` is one of the ways loggers do it."""
    lines = []
    values = zip(
        iso(drive.time_ns), drive.lat_deg, drive.lon_deg, drive.speed_mps, drive.course_deg,
        strict=True,
    )  # fmt: skip
    for stamp, lat, lon, speed, course in values:
        if layout == "one line":
            lines.append(
                f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"><ele>12.5</ele><time>{stamp}</time>'
                f"<hdop>0.9</hdop><extensions><e:speed>{speed:.3f}</e:speed>"
                f"<e:course>{course:.2f}</e:course></extensions></trkpt>"
            )
        else:
            lines.append(
                f'  <trkpt lat="{lat:.7f}" lon="{lon:.7f}">\n    <ele>12.5</ele>\n'
                f"    <time>{stamp}</time>\n    <hdop>0.9</hdop>\n    <extensions>\n"
                f"      <e:speed>{speed:.3f}</e:speed>\n      <e:course>{course:.2f}</e:course>\n"
                "    </extensions>\n  </trkpt>"
            )
    half = len(lines) // 2
    between = "\n</trkseg><trkseg>\n" if layout == "segments" else "\n"
    return HEAD + "\n".join(lines[:half]) + between + "\n".join(lines[half:]) + "\n" + TAIL


@pytest.mark.parametrize("layout", ["one line", "spread", "segments"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_shortcut_and_xml_parser_agree(make_drive, iso, write, monkeypatch, layout, end) -> None:
    drive = make_drive()
    path = write(drive_text(drive, iso, layout).replace("\n", end))
    assert uniform_points.shortcut(path.read_bytes()) is not None
    quick = read_log(path)
    monkeypatch.setattr("lapwright.ingest.gpx.read.shortcut", lambda data: None)
    slow = read_log(path)
    assert quick.fixes.equals(slow.fixes)
    assert quick.findings == slow.findings
    assert quick.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-12)
    assert quick.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=1e-9)
    assert quick.start_utc.value == drive.time_ns[0]
    text = path.read_text().splitlines()
    for row in (0, 57, 199):
        assert "<trkpt" in text[quick.fixes["line"].iloc[row] - 1]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("<hdop>0.9</hdop>", ""),
        ("<hdop>0.9</hdop>", "<hdop>0.9</hdop><vdop>1.2</vdop>"),
        ("<ele>12.5</ele>", "<!-- lost --><ele>12.5</ele>"),
        ("<ele>12.5</ele>", "<ele>12&#46;5</ele>"),
        ("<ele>12.5</ele>", '<ele unit="m">12.5</ele>'),
        ("<ele>12.5</ele>", "<ele>12,5</ele>"),
    ],
)
def test_one_odd_point_sends_the_file_to_the_xml_parser(
    make_drive, iso, write, monkeypatch, old, new
) -> None:
    drive = make_drive()
    lines = drive_text(drive, iso, "one line").splitlines(keepends=True)
    lines[100] = lines[100].replace(old, new)
    path = write("".join(lines))
    assert uniform_points.shortcut(path.read_bytes()) is None
    log = read_log(path)
    assert len(log.fixes) == 200
    assert log.fixes["time_s"].to_numpy() == pytest.approx(np.arange(200) / 10, abs=1e-9)


def test_a_document_type_is_refused(write) -> None:
    bomb = '<!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>\n'
    text = HEAD.replace("?>\n", "?>\n" + bomb, 1) + point(1) + point(2) + TAIL
    with pytest.raises(LogError, match="document type"):
        read_log(write(text))
    with pytest.raises(UnsafeXmlError):
        parse_points(text.encode())


# Billion laughs (CVE-2003-1564), a file here, one of the network, a parameter entity.
@pytest.mark.parametrize(
    "declared",
    [
        '[<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]',
        '[<!ENTITY a SYSTEM "file:///etc/hostname">]',
        '[<!ENTITY a SYSTEM "http://localhost:1/a">]',
        '[<!ENTITY % a SYSTEM "file:///etc/hostname"> %a;]',
        'SYSTEM "file:///etc/hostname"',
        'PUBLIC "-//A//B//EN" "http://localhost:1/a.dtd"',
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_no_entity_is_ever_unfolded_or_fetched(write, declared, encoding) -> None:
    text = HEAD.replace("?>\n", f"?>\n<!DOCTYPE gpx {declared}>\n", 1) + point(1) + point(2) + TAIL
    path = write("")
    path.write_bytes(text.replace("<trkpt", "<name>&c;&a;</name><trkpt", 1).encode(encoding))
    with pytest.raises(LogError, match="declares a document type or entities"):
        read_log(path)


# Names that Python knows for encodings and XML does not: what they make of a file is no text.
@pytest.mark.parametrize("name", ["unicode_escape", "punycode", "idna", "undefined", "zlib", "hex"])
def test_an_encoding_that_is_none_is_not_used(write, name) -> None:
    head = HEAD.replace("UTF-8", name).replace("utf-8", name)
    assert name in head
    path = write("")
    path.write_bytes((head + point(1) + point(2) + TAIL).encode() + b"<!--\xff\\ud800-->")
    assert len(read_log(path).fixes) == 2


def test_a_tag_named_a_hundred_thousand_times_does_not_take_for_ever() -> None:
    started = time.process_time()
    assert uniform_points.shortcut(b"<gpx>" + b"trkseg" * 100_000) is None
    assert uniform_points.shortcut(b"<gpx>" + b"<trkseg " * 100_000) is None
    # Looked for to the end of the file each time, it took minutes.
    assert time.process_time() - started < 1.0


def test_the_texts_of_points_are_looked_at_once_each() -> None:
    rule = grammar.VALUES["time"]
    texts = ["\n2026-02-06T00:00:00Z\n"] * 60
    assert rule.broken(texts) == []
    # A line end between two of them could belong to either: 2^60 ways, where one is wrong.
    assert rule.broken([*texts, "soon"]) == [60]
    assert grammar.VALUES["ele"].broken(["9" * 50_000 + "x"]) == [0]


@pytest.mark.parametrize("uniform", [True, False])
def test_a_cut_file_is_read_up_to_its_end(write, uniform) -> None:
    body = "".join(point(k, extra="" if uniform or k % 2 else "<sat>9</sat>") for k in range(30))
    log = read_log(write(HEAD + body + '<trkpt lat="50.1'))
    assert len(log.fixes) == 30
    (note,) = [note for note in log.findings if note.code == "truncated_end"]
    # Three lines of head and thirty points: the last, cut one stands on line 34.
    assert note.lines == ((34, 34),)


def test_damage_between_points_is_left_out_with_its_line(write) -> None:
    body = "".join(point(k) for k in range(10)) + "<oops></wrong>\n"
    log = read_log(write(HEAD + body + "".join(point(k) for k in range(20, 30)) + TAIL))
    assert len(log.fixes) == 20
    (note,) = [note for note in log.findings if note.code == "damaged_xml"]
    assert note.lines == ((14, 14),)


@pytest.mark.parametrize("damage", ["tag", "close", "control", "open", "entity"])
def test_a_damaged_point_costs_only_itself(write, damage) -> None:
    points = [point(k) for k in range(30)]
    points[7] = {
        "tag": points[7].replace("<time>", "<tJme>"),
        "close": points[7].replace("</trkpt>", "</trkpu>"),
        "control": points[7].replace("<time>", "\x03<time>"),
        "open": points[7].replace("<trkpt", "<trkqt"),
        "entity": points[7].replace("<time>", "<time>&no;"),
    }[damage]
    log = read_log(write(HEAD + "".join(points) + TAIL))
    assert len(log.fixes) == 29
    # Three lines of head: point 7 stands on line 11.
    (note,) = [note for note in log.findings if note.code == "damaged_xml"]
    assert note.lines == ((11, 11),)
    assert 12 in log.fixes["line"].tolist()


def test_a_damaged_end_costs_nothing(write) -> None:
    text = HEAD + "".join(point(k) for k in range(30)) + TAIL.replace("</trk>", "</tr\x01k>")
    assert len(read_log(write(text)).fixes) == 30


def test_latin_1_without_saying_so_is_read(write) -> None:
    text = HEAD.replace(' encoding="UTF-8"', "").replace(
        "<trkseg>", "<name>Kurve Süd</name><trkseg>"
    )
    text += "".join(point(k) for k in range(5)) + TAIL
    assert len(read_log(write(text.encode("latin-1"))).fixes) == 5
    assert len(read_log(write(text.encode("utf-16"))).fixes) == 5
    for name in ("windows-1252", "iso-8859-15", "no-such-code"):
        named = text.replace('"1.0"?', f'"1.0" encoding="{name}"?')
        assert len(read_log(write(named.encode("latin-1"))).fixes) == 5
    assert len(read_log(write(text.encode("utf-8-sig"))).fixes) == 5


def test_an_unbound_prefix_is_read_with_a_finding(write) -> None:
    extra = "<extensions><q:speed>1.11</q:speed></extensions>"
    log = read_log(write(HEAD + "".join(point(k, extra=extra) for k in range(20)) + TAIL))
    assert log.fixes["speed_mps"].tolist() == [1.11] * 20
    assert any("prefix" in note.message for note in log.findings)


@pytest.mark.parametrize("comment", ["", "<!-- not for the shortcut -->"])
def test_names_of_extensions_count_in_any_case(write, comment) -> None:
    extra = "<extensions><e:Speed>1.11</e:Speed><e:COURSE>0.0</e:COURSE></extensions>"
    body = "".join(point(k, extra=extra) for k in range(20))
    log = read_log(write(HEAD + comment + body + TAIL))
    assert log.fixes["speed_mps"].tolist() == [1.11] * 20
    assert log.fixes["course_deg"].tolist() == [0.0] * 20


def test_points_without_time_are_left_out_and_reported(write) -> None:
    bare = '<trkpt lat="50.2" lon="7.0"><ele>1</ele></trkpt>\n'
    log = read_log(write(HEAD + "".join(point(k) for k in range(5)) + bare + TAIL))
    assert len(log.fixes) == 5
    (note,) = [note for note in log.findings if note.code == "no_time"]
    assert note.lines == ((9, 9),)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("<rte><rtept lat='1' lon='2'/></rte>", "route points but no track"),
        ("<wpt lat='1' lon='2'/>", "waypoints"),
        ("<trk><trkseg/></trk>", "no track"),
        ("", "no track"),
    ],
)
def test_gpx_without_a_track(write, body, words) -> None:
    text = HEAD.split("<trk>")[0] + body + "</gpx>"
    with pytest.raises(LogError, match=words):
        read_log(write(text))


def test_overlapping_tracks_are_not_joined_in_silence(write) -> None:
    first = "".join(point(k) for k in range(30))
    second = "".join(point(k, lat=50.3) for k in range(20))
    log = read_log(write(HEAD + first + "</trkseg></trk><trk><trkseg>" + second + TAIL))
    assert len(log.fixes) == 30
    (note,) = [note for note in log.findings if note.code == "several_recordings"]
    assert note.count == 20


def test_text_is_never_taken_for_a_number(tmp_path) -> None:
    points = HEAD + point(1) + point(2).replace("100.5", "high") + point(3) + TAIL
    recording = read_gpx(points.encode(), tmp_path / "x.gpx")
    assert np.isnan(recording.measures["height_m"]).tolist() == [False, True, False]
