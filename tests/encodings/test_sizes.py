"""The table of sizes has the published numbers, and agrees with itself."""

from __future__ import annotations

from gridcrux.encodings import ENCODINGS, get_encoding
from gridcrux.encodings.at_most_one import AT_MOST_ONE
from gridcrux.encodings.sizes import SIZES_COLUMNS, sizes_table
from gridcrux.grids.layout import NINE, boxes, latin


def test_published_sizes() -> None:
    """Lynce & Ouaknine, ISAIM 2006; distinct clauses of all halves as in TPTP problem PUZ006+0."""
    table = sizes_table([NINE], ENCODINGS.values()).set_index("encoding")
    assert list(table.loc["minimal"]) == ["3x3", 729, 0, 8_829, 7_371, 81 * 9 + 2 * 8_748]
    assert table.loc["extended", "clauses"] == 11_988
    assert table.loc["extended", "distinct"] == 10_530
    # The parts of the article that the other sets of halves are made of.
    assert table.loc["dual", "clauses"] == 2_916 + 243
    assert table.loc["minimal-exact-cells", "clauses"] == 8_829 + 2_916
    assert table.loc["minimal-exact-houses", "clauses"] == 8_829 + 243
    assert table.loc["dual-exact-cells", "clauses"] == 2_916 + 243 + 81
    assert table.loc["dual-exact-houses", "clauses"] == 11_988 - 81


def test_a_row_for_each_layout_and_encoding() -> None:
    layouts = [boxes(2, 2), latin(7)]
    encodings = [get_encoding("minimal-bitwise"), get_encoding("extended-product")]
    table = sizes_table(iter(layouts), iter(encodings))
    assert list(table.columns) == list(SIZES_COLUMNS)
    assert list(zip(table.layout, table.encoding, strict=True)) == [
        (layout.name, encoding.name) for layout in layouts for encoding in encodings
    ]
    assert len(sizes_table([], encodings)) == 0
    assert list(sizes_table([], encodings).columns) == list(SIZES_COLUMNS)


def test_sizes_are_those_of_the_rules() -> None:
    """Each at-most-one half costs what its way of writing costs, once a rule."""
    for way, write in AT_MOST_ONE.items():
        clauses, auxiliary = write(range(1, 10), 10)
        literals = sum(map(len, clauses))
        minimal, extended = sizes_table(
            [NINE], [get_encoding(f"minimal-{way}"), get_encoding(f"extended-{way}")]
        ).itertuples()
        assert (minimal.auxiliary, extended.auxiliary) == (243 * auxiliary, 324 * auxiliary)
        assert minimal.variables == 729 + minimal.auxiliary
        assert minimal.clauses == 81 + 243 * len(clauses)
        assert extended.clauses == 324 * (1 + len(clauses))
        assert extended.literals == 324 * (9 + literals)
        assert extended.distinct <= extended.clauses
