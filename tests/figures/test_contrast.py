"""The outliers as a table, and the figure that names them."""

from __future__ import annotations

import pandas as pd
import pytest
from matplotlib.collections import PathCollection
from matplotlib.figure import Figure

from gridcrux.corpus.contrast.outliers import MACHINE, PERSON, RESIDUAL_COLUMNS
from gridcrux.figures.contrast import outlier_table, plot_contrast


@pytest.fixture
def ranked():
    rows = [
        ("a", 0.9, 0.1, PERSON), ("b", 0.9, 0.1, PERSON), ("c", 0.95, 0.05, PERSON),
        ("d", 0.2, 0.8, MACHINE), ("e", 0.1, 0.8, MACHINE), ("f", 0.5, 0.5, ""),
    ]  # fmt: skip
    frame = pd.DataFrame(rows, columns=["id", "human_rank", "machine_rank", "outlier"])
    residual = frame["human_rank"] - frame["machine_rank"]
    return frame.assign(
        residual=residual, human=1.0, machine=2.0, source="s", line=1, puzzle="",
        apart=frame["outlier"],
    )[list(RESIDUAL_COLUMNS)]  # fmt: skip


def test_outliers_come_by_kind_the_farthest_first(ranked):
    found = outlier_table(ranked)
    assert found["id"].tolist() == ["c", "a", "b", "e", "d"]
    assert list(found) == list(RESIDUAL_COLUMNS)
    assert outlier_table(ranked.assign(outlier="")).empty


def test_a_point_is_the_larger_the_more_puzzles_share_it(ranked):
    many = pd.concat([ranked, *[ranked.query("id == 'f'")] * 8])
    ax = plot_contrast(many, ax=Figure().add_subplot())
    cloud = ax.collections[0]
    areas = dict(zip(map(tuple, cloud.get_offsets()), cloud.get_sizes(), strict=True))
    one, two, nine = (areas[place] for place in ((0.05, 0.95), (0.1, 0.9), (0.5, 0.5)))
    assert (two / one, nine / one) == pytest.approx((2**0.5, 3))
    title = ax.get_legend().get_title().get_text()
    assert title == f"{len(many)} puzzles (up to 9 at a point)"


def test_it_tells_of_how_many_puzzles_and_how_far_they_agree(ranked):
    row = {"spearman": 0.5, "low": -0.25, "high": 0.75}
    none = {"spearman": float("nan"), "low": float("nan"), "high": float("nan")}
    said = []
    for table, correlation in ((ranked, row), (ranked, none), (ranked.head(1), None)):
        ax = plot_contrast(table, correlation=correlation, ax=Figure().add_subplot())
        said.append(ax.get_legend().get_title().get_text())
    assert said == [
        "6 puzzles (up to 2 at a point), Spearman's correlation 0.50 (-0.25 to 0.75)",
        "6 puzzles (up to 2 at a point)",
        "1 puzzle",
    ]


def test_it_tells_how_many_more_lie_as_far_apart(ranked):
    more = pd.concat([ranked, ranked.head(3).assign(outlier="")])
    ax = plot_contrast(more, ax=Figure().add_subplot())
    told = [text.get_text() for text in ax.get_legend().get_texts()]
    assert told == [f"{PERSON} (3 of 6)", f"{MACHINE} (2)"]


def test_every_place_is_a_point_and_every_outlier_has_its_name(ranked):
    ax = plot_contrast(ranked, human="steps", machine="nodes", ax=Figure().add_subplot())
    clouds = [each for each in ax.collections if isinstance(each, PathCollection)]
    assert [len(each.get_offsets()) for each in clouds] == [5, 3, 2]
    across, up = clouds[0].get_offsets()[0]
    assert (across, up) == (0.1, 0.9)
    assert {text.get_text() for text in ax.texts} == {"a\nb", "c", "d", "e"}
    assert "steps" in ax.get_ylabel()
    assert "nodes" in ax.get_xlabel()


def test_names_do_not_run_into_each_other(ranked):
    near = pd.concat([ranked.assign(human_rank=ranked["human_rank"] + i / 1000) for i in range(5)])
    figure = Figure(figsize=(6.4, 5.6), layout="constrained")
    ax = plot_contrast(near, ax=figure.add_subplot())
    figure.draw_without_rendering()
    boxes = [text.get_window_extent().shrunk(1, 0.9) for text in ax.texts]
    pairs = [(a, b) for i, a in enumerate(boxes) for b in boxes[:i]]
    assert len(boxes) == 20
    assert not any(one.overlaps(two) for one, two in pairs if one.x0 == two.x0)


def test_many_puzzles_at_one_point_are_counted(ranked):
    same = pd.concat([ranked.query("id == 'c'").assign(id=f"n{i}") for i in range(7)])
    ax = plot_contrast(same, ax=Figure().add_subplot())
    assert [text.get_text() for text in ax.texts] == ["n0\nn1\nand 5 more"]
