"""Labels are clear of each other and of what is drawn, where there is room."""

import numpy as np

from lapwright.plots.drawing.label_places import Label, label_places


def _box(label: Label, offset: tuple[float, float]) -> np.ndarray:
    middle, half = np.add(label.at_pt, offset), 0.5 * np.array(label.size_pt)
    return np.stack([middle - half, middle + half])


def test_a_label_alone_goes_where_it_is_wanted() -> None:
    for towards in ((1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)):
        (offset,) = label_places([Label((5.0, 5.0), (40.0, 10.0), towards)], np.zeros((0, 2)))
        assert np.dot(offset, towards) > 0.0
        assert abs(np.cross([*offset, 0.0], [*towards, 0.0])[2]) < 1e-9


def test_labels_keep_clear_of_each_other_and_of_lines() -> None:
    # Two roads 20 pt apart, with six corners close together between them.
    x = np.arange(-200.0, 200.0, 2.0)
    drawn = np.concatenate([np.stack([x, np.full_like(x, y)], axis=1) for y in (0.0, 20.0)])
    labels = [
        Label((20.0 * k, 20.0 * (k % 2)), (60.0, 13.0), (0.0, 1.0 - 2.0 * (k % 2)))
        for k in range(6)
    ]
    boxes = [_box(a, o) for a, o in zip(labels, label_places(labels, drawn), strict=True)]
    for k, box in enumerate(boxes):
        inside = ((drawn > box[0]) & (drawn < box[1])).all(axis=1)
        assert not inside.any()
        for other in boxes[:k]:
            assert (box[1] <= other[0]).any() or (other[1] <= box[0]).any()
