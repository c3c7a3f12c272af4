"""Names stand beside points, on nothing else, and those that are needed come first."""

from itertools import combinations

import numpy as np
import pytest
from matplotlib.text import Text

from outcomes.show.figures.labels import name_points
from outcomes.show.figures.picture import look


def _named(points, needed, lines=(), names=None):
    """Names as {text: its box}, boxes of the marks, and the places without a name."""
    names = names or [f"P{i:02d}" for i in range(len(points))]
    with look(4.6, 4.0) as figure:
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.set(xlim=(0, 100), ylim=(0, 100))
        unnamed = name_points(axes, points, names, needed, lines, fontsize=9)
        figure.canvas.draw()
        boxes = {text.get_text(): Text.get_window_extent(text) for text in axes.texts}
        marks = axes.transData.transform(points)
        return boxes, marks, unnamed, axes


def _overlap(one, other):
    return min(one.x1, other.x1) > max(one.x0, other.x0) and min(one.y1, other.y1) > max(one.y0, other.y0)


def _line(text, axes):
    """From a name's middle to its mark's edge; the part within the name can't meet another."""
    box = Text.get_window_extent(text)
    start, end = np.array([(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2]), axes.transData.transform(text.xy)
    return np.array([start, end - (end - start) * 4.5 * axes.figure.dpi / 72 / np.hypot(*(end - start))])


def _cross(one, other):
    """Whether two segments cross: the ends of each lie on both sides of the other."""

    def sides(line, points):
        way = line[1] - line[0]
        return [np.sign(way[0] * (y - line[0, 1]) - way[1] * (x - line[0, 0])) for x, y in points]

    return np.prod(sides(one, other)) < 0 and np.prod(sides(other, one)) < 0


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("spread", [3.0, 12.0, 30.0])  # from a heap to all over the axes
def test_no_name_lies_on_another_on_a_mark_or_outside(seed, spread):
    rng = np.random.default_rng(seed)
    points = np.clip(50 + spread * rng.standard_normal((30, 2)), 1, 99)
    boxes, marks, unnamed, axes = _named(points, [i < 5 for i in range(30)])
    assert len(boxes) + len(unnamed) == 30
    for one, other in combinations(boxes.values(), 2):
        assert not _overlap(one, other)
    for box in boxes.values():
        assert not any(box.x0 < x < box.x1 and box.y0 < y < box.y1 for x, y in marks)
        assert box.x0 >= axes.bbox.x0
        assert box.x1 <= axes.bbox.x1
        assert box.y0 >= axes.bbox.y0
        assert box.y1 <= axes.bbox.y1
    # needed ones have room where others don't, but in a heap
    assert len([i for i in unnamed if i < 5]) <= {3.0: 3, 12.0: 0, 30.0: 0}[spread]
    assert len(unnamed) <= {3.0: 22, 12.0: 12, 30.0: 1}[spread]
    lines = [_line(text, axes) for text in axes.texts if text.arrow_patch is not None]
    assert not any(_cross(one, other) for one, other in combinations(lines, 2))


def test_far_apart_every_point_has_its_name_beside_it():
    points = [(20 * i, 20 * j) for i in range(1, 5) for j in range(1, 5)]
    boxes, marks, unnamed, axes = _named(points, [False] * 16)
    assert unnamed == []
    for i, (x, y) in enumerate(marks):
        box = boxes[f"P{i:02d}"]
        assert abs((box.y0 + box.y1) / 2 - y) < 1.5
        assert 0 < box.x0 - x < 10
    assert all(text.arrow_patch is None for text in axes.texts)


def test_names_keep_away_from_lines():
    line = np.column_stack([np.linspace(0, 100, 50), np.full(50, 50.0)])
    boxes, _, _, axes = _named([(50, 50)], [False], [line])
    (box,) = boxes.values()
    y = axes.transData.transform((50, 50))[1]
    assert box.y0 > y or box.y1 < y


def test_without_room_a_name_is_left_away():
    points = np.full((40, 2), 50.0) + np.arange(40)[:, None] * 0.01
    boxes, _, unnamed, _ = _named(points, [False] * 40)
    assert len(unnamed) > 20
    assert boxes
    assert unnamed == sorted(unnamed)


def test_none():
    assert _named(np.empty((0, 2)), [])[2] == []
