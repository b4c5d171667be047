"""Names and what others added go into a track file and come back, whatever is in them."""

import json
from dataclasses import replace
from pathlib import Path

import geojson
import numpy as np
from hypothesis import given, settings
from nasty import cannot_be_seen, encodes, texts

from lapwright.escaping.unseen import encodable
from lapwright.geometry import Gate, ReferencePath, Track, read_track, write_track
from lapwright.geometry.corner_list import measured
from lapwright.plane import Plane

ANGLE = np.arange(60) * (2.0 * np.pi / 60)
PATH = ReferencePath(300.0 * np.cos(ANGLE), 200.0 * np.sin(ANGLE))
POINT = PATH.at(10.0)
TRACK = Track(
    name="Ring",
    plane=Plane(-43.0, 144.0),
    start_finish=Gate.across(
        (float(POINT.east_m), float(POINT.north_m)), float(POINT.heading_rad), 24.0
    ),
    path=PATH,
    corners=(measured(PATH, "Kiln", 400.0, 600.0),),
)


@settings(max_examples=25, deadline=None)
@given(texts, texts.filter(lambda text: not text.isdecimal()))
def test_names_come_back(tmp_path_factory: object, name: str, corner: str) -> None:
    file = Path(tmp_path_factory.getbasetemp(), "ring.geojson")  # type: ignore[attr-defined]
    added = {"type": "Feature", "properties": {"by": name}, "geometry": None}
    track = replace(
        TRACK.with_corner_names({1: corner}), name=name, other_members={"note": [name, 1.5]},
        other_features=(added,),
    )  # fmt: skip
    write_track(track, file)
    text = file.read_text(encoding="utf-8")
    assert cannot_be_seen(text) == []
    # By another reader of GeoJSON, too.
    document = geojson.loads(text)
    assert document["name"] == name
    assert document["note"] == [name, 1.5]
    back = read_track(file)
    # Half of a pair is no text; no table could hold it.
    assert back.name == encodable(name)
    assert encodes(back.name)
    assert back.corners[0].name == encodable(track.corners[0].name)
    assert back.other_members == {"note": [name, 1.5]}
    assert [dict(one)["properties"] for one in back.other_features] == [{"by": name}]


def test_a_number_that_is_not_finite_is_kept_as_it_was(tmp_path: Path) -> None:
    # JSON has no such number (RFC 8259, section 6), and Python's reader takes it all the same.
    file = tmp_path / "ring.geojson"
    write_track(replace(TRACK, other_members={"far": float("inf")}), file)
    assert json.loads(file.read_text(encoding="utf-8"))["far"] == float("inf")
    assert read_track(file).other_members == {"far": float("inf")}
