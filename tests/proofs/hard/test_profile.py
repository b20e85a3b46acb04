"""How wide a route is, counted here by listing what is available."""

from __future__ import annotations

from dataclasses import replace

from gridcrux.corpus.sample import minimal
from gridcrux.grids.state import State
from gridcrux.proofs.hard.profile import COLUMNS, crux_profile
from gridcrux.techniques.repertoires import FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import available, closure, route


def routes(count, seed, policy="easiest"):
    for item in minimal(count, seed):
        yield route(State.from_digits(item.puzzle.tolist()), FIRST_FAMILY, policy)


def test_counts_by_definition():
    hard, moments = FIRST_FAMILY.without(*SINGLES.names), 0
    for way in routes(12, 51):
        profile = crux_profile(way)
        states = list(way.states())
        for moment in profile.moments:
            before = closure(states[moment.step - 1], SINGLES)
            conclusions = {step.eliminates for step in available(before, hard)}
            assert moment.open == len(conclusions)
            ends = [(mask, closure(before.without(mask), SINGLES)) for mask in conclusions]
            leading = sum(end.open != before.open & ~mask for mask, end in ends)
            assert moment.leading == leading
            assert moment.solving == sum(end.is_solved for _, end in ends)
            moments += 1
        counted = sum(step.technique not in SINGLES.names for step in way)
        assert len(profile.moments) == counted
    assert moments > 15


def test_the_crux_is_where_it_is_narrow():
    narrow = 0
    for way in routes(20, 52):
        profile = crux_profile(way)
        for moment in profile.moments:
            assert (moment.step in profile.crux) == (moment.open == profile.least)
        narrow += 0 < len(profile.crux) < len(profile.moments)
        assert profile.as_dict()["crux"] == list(profile.crux)
    assert narrow > 3


def test_a_level_that_counts_as_easy():
    for way in routes(10, 53):
        profile = crux_profile(way, "subsets")
        names = {way.steps[moment.step - 1].technique for moment in profile.moments}
        assert not names & set(LEVELS["subsets"].names)


def test_the_table():
    way = next(each for each in routes(30, 54) if len(crux_profile(each).moments) > 1)
    profile = crux_profile(way)
    table = profile.table()
    assert list(table.columns) == list(COLUMNS)
    assert len(table) == len(way)
    assert table["hard"].sum() == len(profile.moments)
    assert table.loc[table["narrow"], "step"].tolist() == list(profile.crux)
    written = [state.placed.bit_count() for state in way.states()][:-1]
    opened = [state.open.bit_count() for state in way.states()][:-1]
    assert table["left"].tolist() == [o - w for o, w in zip(opened, written, strict=True)]
    assert table["open"].isna().sum() == len(way) - len(profile.moments)
    assert "narrow" in profile._repr_html_()


def test_a_route_without_hard_steps():
    way = next(each for each in routes(30, 55) if not crux_profile(each).moments)
    profile = crux_profile(way)
    assert profile.crux == ()
    assert profile.least is None
    assert len(profile.table()) == len(way)


def test_with_little_time_the_first_hard_steps_are_told():
    hard = 0
    for way in routes(20, 52):
        whole, none = crux_profile(way), crux_profile(way, seconds=0)
        assert whole.stopped_by is None
        assert none.moments == ()
        assert (none.least, none.crux) == (None, ())
        assert none.stopped_by == ("seconds" if whole.moments else None)
        assert none.row()["hard_steps"] == (None if whole.moments else 0)
        hard += bool(whole.moments)
        part = replace(whole, moments=whole.moments[:1], stopped_by="seconds")
        if whole.moments:
            assert part.least == (1 if whole.moments[0].open == 1 else None)
    assert hard > 5
