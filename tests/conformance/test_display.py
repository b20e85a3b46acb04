"""Whatever a question is answered with shows itself in a notebook, on any theme, without a network.

The package is walked: a public dataclass is listed here with an example of how it is made, or as
an inner part that nobody is handed.  So a new one cannot be forgotten.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass, replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest

import gridcrux
from gridcrux.corpus.cards import describe
from gridcrux.corpus.contrast.measures import Contrast
from gridcrux.corpus.contrast.run import ContrastRun
from gridcrux.corpus.sample.deletion import Sampled
from gridcrux.corpus.sample.recipes import ByDeletion, ByFeature, ByGivens, ByPattern, ByWeight
from gridcrux.corpus.sample.uniform import Filling
from gridcrux.corpus.sample.weighted import Group, Weighted
from gridcrux.corpus.shortlist import choose
from gridcrux.corpus.statistics.weighting import Weighting
from gridcrux.corpus.study import study
from gridcrux.corpus.study.needs import Needs
from gridcrux.corpus.study.run import StudyRun
from gridcrux.corpus.study.tasks import Asked
from gridcrux.encodings import get_encoding
from gridcrux.encodings.clausal import Encoding
from gridcrux.encodings.cover import exact_cover
from gridcrux.encodings.cp import Program
from gridcrux.engines import get_engine
from gridcrux.engines.approximate import ApproximateCount
from gridcrux.figures.scene import board_scene
from gridcrux.figures.storyboard import storyboard
from gridcrux.grids.canonical import canonical
from gridcrux.grids.layout import regions
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.certify import certify
from gridcrux.proofs.consistency.redundant import RedundantSets
from gridcrux.proofs.counts import backbone
from gridcrux.proofs.essential import crux
from gridcrux.proofs.explain.bottleneck import bottleneck
from gridcrux.proofs.explain.givens import forcing_givens
from gridcrux.proofs.further import further_givens
from gridcrux.proofs.givens import redundant_givens, sufficient_givens
from gridcrux.proofs.hard.demand import demand
from gridcrux.proofs.hard.ways import shortest_ways
from gridcrux.proofs.hard.without import way_round
from gridcrux.proofs.prove import prove
from gridcrux.proofs.sufficient import technique_sets
from gridcrux.proofs.total import total
from gridcrux.techniques.alternatives import alternatives
from gridcrux.techniques.own import own_technique
from gridcrux.techniques.repertoires import LEVELS

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
FOUR = "1... ..3. .1.. ...2"
FISH = LEVELS["fish"]

HOSTILE = "<x-evil a='\"'>&"
"""Text that would be an element if it were not escaped."""

JAGGED = regions(["1112", "1222", "3334", "3444"], HOSTILE)


@cache
def puzzle() -> State:
    return read_puzzle(PUZZLE)


@cache
def judged() -> Any:
    return crux(puzzle(), FISH)


@cache
def needs() -> Any:
    return demand(judged().route)


@cache
def proof() -> Any:
    return prove(puzzle(), "r3c5!=2")


@cache
def board() -> Any:
    return storyboard(puzzle(), FISH)


@cache
def small() -> State:
    return State.empty(JAGGED)


def some_study() -> pd.DataFrame:
    return study([PUZZLE], repertoire=FISH, progress=False)


def card() -> Any:
    return describe(Path(__file__).parents[2] / "datasets" / "lantern_quay.csv", sample=10)


def weighted() -> Weighted:
    return Weighted(0, np.array(puzzle().puzzle), np.array(judged().route.end.grid), 2.5)


def run() -> StudyRun:
    return StudyRun(10, 1, 0, Path(HOSTILE), Path("rejects.csv"), False, 1.5)


EXAMPLES: dict[str, Callable[[], Any]] = {
    "corpus.cards.card.Card": card,
    "corpus.contrast.measures.Contrast": Contrast,
    "corpus.contrast.run.ContrastRun": lambda: ContrastRun(
        run(), Contrast(), Path(HOSTILE), Path("rows.parquet")
    ),
    "corpus.sample.deletion.Sampled": lambda: Sampled(0, weighted().puzzle, weighted().solution),
    "corpus.sample.recipes.ByDeletion": lambda: ByDeletion(1),
    "corpus.sample.recipes.ByFeature": lambda: ByFeature(1, technique="x-wing"),
    "corpus.sample.recipes.ByGivens": lambda: ByGivens(1, givens=25),
    "corpus.sample.recipes.ByPattern": lambda: ByPattern(1, pattern=tuple(bits(puzzle().givens))),
    "corpus.sample.recipes.ByWeight": lambda: ByWeight(1),
    "corpus.sample.uniform.Filling": lambda: Filling(0, 3, 7.5, np.empty((0, 81), np.int8)),
    "corpus.sample.weighted.Group": lambda: Group(0, 6.5e21, (weighted(),)),
    "corpus.sample.weighted.Weighted": weighted,
    "corpus.shortlist.selection.Shortlist": lambda: choose(some_study()),
    "corpus.statistics.weighting.Weighting": lambda: Weighting.of(some_study(), None, None, 0),
    "corpus.study.needs.Needs": Needs,
    "corpus.study.run.StudyRun": run,
    "corpus.study.tasks.Asked": lambda: Asked(needs=Needs(), further=Contrast()),
    "encodings.clausal.Encoding": Encoding,
    "encodings.cnf.Cnf": lambda: get_encoding("minimal")(JAGGED),
    "encodings.cover.ExactCover": lambda: exact_cover(small()),
    "encodings.cp.Program": lambda: Program(JAGGED, None),
    "engines.approximate.ApproximateCount": lambda: ApproximateCount(8, 5, 13, 0.8, False, None),
    "engines.protocol.Count": lambda: get_engine("kernel").count(puzzle(), 2),
    "engines.protocol.Support": lambda: get_engine("kernel").support(puzzle()),
    "figures.marks.Scene": lambda: board_scene(small()),
    "figures.storyboard.part.Part": lambda: board().parts[0],
    "figures.storyboard.story.Storyboard": board,
    "grids.canonical.Canonical": lambda: replace(canonical(puzzle()), layout=puzzle().layout),
    "grids.layout.Layout": lambda: JAGGED,
    "grids.state.State": puzzle,
    "logic.deduction.Deduction": lambda: judged().route.steps[16],
    "logic.repertoire.Repertoire": lambda: FISH,
    "logic.route.Route": lambda: judged().route,
    "logic.technique.Technique": lambda: FISH["x-wing"],
    "proofs.certify.Certificate": lambda: certify(judged().route.steps[16]),
    "proofs.consistency.redundant.RedundantSets": lambda: RedundantSets(1, 2, (), 3),
    "proofs.counts.Backbone": lambda: backbone(puzzle()),
    "proofs.essential.Crux": judged,
    "proofs.explain.bottleneck.Bottleneck": lambda: bottleneck(read_puzzle(FOUR)),
    "proofs.explain.explanation.Explanation": lambda: proof().explanation,
    "proofs.explain.givens.ForcingGivens": lambda: forcing_givens(puzzle(), *proof().claims),
    "proofs.further.FurtherGivens": lambda: further_givens(read_puzzle("1234 .... .... 4...")),
    "proofs.givens.RedundantGivens": lambda: redundant_givens(puzzle()),
    "proofs.givens.SufficientGivens": lambda: sufficient_givens(read_puzzle(FOUR)),
    "proofs.hard.demand.Demand": needs,
    "proofs.hard.fewest.FewestSteps": lambda: needs().fewest,
    "proofs.hard.profile.CruxProfile": lambda: needs().profile,
    "proofs.hard.ways.Ways": lambda: shortest_ways(needs().fewest, FISH),
    "proofs.hard.widths.LeastWidth": lambda: needs().total,
    "proofs.hard.without.WayRound": lambda: way_round(puzzle(), "x-wing", FISH),
    "proofs.prove.Proof": proof,
    "proofs.refutation.Refutation": lambda: proof().certificate,
    "proofs.story.telling.Story": lambda: proof().explanation.story,
    "proofs.sufficient.TechniqueSets": lambda: technique_sets(puzzle(), FISH),
    "proofs.total.Total": lambda: total(puzzle()),
    "techniques.alternatives.Alternative": lambda: alternatives(puzzle(), FISH)[0],
    "techniques.own.OwnTechnique": lambda: own_technique(bits),
}
"""How to come by one of each class that answers a question, or is given to one."""

INNER = {
    "corpus.cards.survey.Sampled": "part of a card",
    "corpus.cards.survey.Survey": "part of a card",
    "corpus.sample.exchange.Outcome": "between a recipe and its rows",
    "corpus.sample.featured.Feature": "what a recipe looks for",
    "corpus.sample.recipes.Recipe": "abstract",
    "corpus.sample.weighted.Plan": "tables of a search",
    "corpus.shortlist.funnel.Found": "part of a shortlist",
    "corpus.shortlist.queries.Query": "a condition that was read",
    "corpus.shortlist.wishes.Condition": "a condition that was read",
    "corpus.shortlist.wishes.Wishes": "arguments together",
    "engines.bands.fillings.Outline": "tables of a search",
    "engines.bands.plan.Plan": "tables of a search",
    "engines.plain.Traits": "what a solver can do",
    "engines.remainder.Remainder": "a formula on its way",
    "figures.catalogue.Example": "made for a page",
    "figures.legend.Entry": "made for a picture",
    "figures.links.Links": "made for a picture",
    "grids.layout.House": "a name and cells, which its repr says",
    "grids.layout.Rule": "a name and a mask, which its repr says",
    "grids.names.Claim": "its text says all",
    "logic.records.Records": "arrays, shown by the route that they belong to",
    "proofs.consistency.levels.Level": "a function",
    "proofs.explain.covering.Meeting": "within a search",
    "proofs.explain.givens.FewGivens": "abstract",
    "proofs.explain.question.Question": "within a search",
    "proofs.hard.layers.Layers": "within a search",
    "proofs.hard.moves.Moves": "within a search",
    "proofs.hard.moves.Walk": "within a search",
    "proofs.hard.profile.Moment": "a line of a profile",
    "proofs.monotone.Loss": "a line of a report on closures",
    "proofs.refutation.Check": "between a proof and its certificate",
    "proofs.story.search.Split": "within a search",
    "proofs.story.tree.Node": "part of a story",
    "proofs.story.tree.Step": "part of a story",
    "techniques.policies.Moment": "what a policy is told",
    "techniques.deadly.Pattern": "made for a picture, its sentence says as much",
    "techniques.stages.Consequence": "part of a stage",
    "techniques.stages.Stage": "made for a picture, its sentence says as much",
    "techniques.reading.chain.Chain": "read out of premises, shown by their deduction",
    "techniques.reading.links.Link": "part of a chain",
    "techniques.reading.stems.Stem": "read out of premises, shown by their deduction",
}
"""Why a class has no display: nobody is handed one, or its text says all."""

CHECKED = {
    "proofs.further.FurtherGivens": {"names"},
    "proofs.total.Total": {"method"},
    "proofs.essential.Crux": {"statuses"},
    "encodings.clausal.Encoding": {"at_most_one"},
    "corpus.sample.recipes.ByFeature": {"technique", "search", "symmetry"},
    "corpus.sample.recipes.ByGivens": {"symmetry"},
    "corpus.sample.recipes.ByDeletion": {"symmetry"},
}
"""Fields of which only known values are accepted."""

VOID = {"br", "hr", "img", "wbr", "col"}
BLOCK = {"p", "ol", "ul", "table", "div", "section", "h3", "h4", "details", "figure", "pre"}


@cache
def example(name: str) -> Any:
    return EXAMPLES[name]()


@cache
def public_dataclasses() -> dict[str, type]:
    found = {}
    for module in pkgutil.walk_packages(gridcrux.__path__, "gridcrux."):
        name = module.name.removeprefix("gridcrux.")
        if name.startswith("cli") or name.endswith(("apart_child", "__main__")):
            continue
        for label, each in vars(importlib.import_module(module.name)).items():
            own = isinstance(each, type) and each.__module__ == module.name
            if own and is_dataclass(each) and not label.startswith("_"):
                found[f"{name}.{label}"] = each
    return found


class Reader(HTMLParser):
    """Elements and texts of a fragment; what is not closed, or may not stand there, is an error."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None], bool]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert not (tag in BLOCK and "p" in self.open), f"<{tag}> within <p>"
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"<{tag}> has an attribute twice"
        self.elements.append((tag, dict(attrs), "svg" in self.open or tag == "svg"))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> without its beginning"
        assert self.open[-1] == tag, f"</{tag}> within <{self.open[-1]}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.text += data


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert not reader.open, f"not closed: {reader.open}"
    # A lone < or & is let through by the parser, but it is no text.
    assert not re.search(r"&(?!#?\w+;)", html)
    return reader


def shown(thing: Any) -> str:
    for name in ("_repr_html_", "_repr_svg_"):
        if hasattr(thing, name):
            return getattr(thing, name)()
    raise AssertionError(f"{type(thing).__name__} shows nothing")


def test_every_public_class_is_listed_once() -> None:
    known = set(public_dataclasses())
    assert known - set(EXAMPLES) - set(INNER) == set(), "give it a display, or say why not"
    assert (set(EXAMPLES) | set(INNER)) - known == set()
    assert set(EXAMPLES) & set(INNER) == set()


def test_what_has_a_row_is_shown() -> None:
    for name, each in public_dataclasses().items():
        if hasattr(each, "row") or hasattr(each, "as_dict"):
            assert name in EXAMPLES or INNER[name] == "abstract", name


def hardened(name: str, thing: Any) -> Iterator[Any]:
    """The thing, and the same with hostile text wherever it takes any."""
    yield thing
    for field in fields(thing):
        value = getattr(thing, field.name)
        if field.name in CHECKED.get(name, ()) or not field.init:
            continue
        if isinstance(value, str):
            yield replace(thing, **{field.name: HOSTILE})
        elif isinstance(value, tuple) and value and all(isinstance(each, str) for each in value):
            yield replace(thing, **{field.name: (HOSTILE, *value[1:])})


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_it_shows_itself(name: str) -> None:
    thing = example(name)
    assert type(thing) is public_dataclasses()[name]
    if hasattr(thing, "_repr_markdown_"):
        assert thing._repr_markdown_().startswith("#")
        return
    html = shown(thing)
    assert html == shown(thing)
    assert len(html) < 3_000_000
    for each in hardened(name, thing):
        reader = read(shown(each))
        assert reader.elements
        for tag, attributes, drawn in reader.elements:
            assert tag != "x-evil", "text became an element"
            assert tag not in {"script", "link", "iframe", "img", "object", "font", "style"}
            for key, value in attributes.items():
                assert key not in {"src", "href", "srcset", "data"}
                assert not key.startswith("on")
                assert drawn or key not in {"color", "bgcolor"}
                # A colour of its own would vanish on a dark page, or a light one.
                assert drawn or ("color" not in (value or "") and "background" not in (value or ""))
                assert "url(" not in (value or "")


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_pictures_stand_on_a_ground_of_their_own(name: str) -> None:
    """Their lines are black; so the paper comes first and covers the whole picture."""
    thing = example(name)
    if hasattr(thing, "_repr_markdown_"):
        return
    for picture in re.findall(r"<svg.*?</svg>", shown(thing), re.DOTALL):
        root = ElementTree.fromstring(picture)
        paper = next(each for each in root if each.tag.endswith("}g"))
        assert (paper.get("class"), paper.get("fill")) == ("paper", "#FFFFFF")
        (rect,) = paper
        box = " ".join(rect.get(key) for key in ("x", "y", "width", "height"))
        assert box == root.get("viewBox")
        assert root.find("{http://www.w3.org/2000/svg}title").text


def test_the_name_of_a_layout_is_escaped() -> None:
    said = read(shown(exact_cover(small()))).text
    assert HOSTILE in said


@pytest.mark.parametrize(
    "html",
    ["<p>one", "<p><b>one</p></b>", "<p><ol></ol></p>", "one</p>", "<p>one & two</p>"],
)
def test_what_is_not_well_formed_is_noticed(html: str) -> None:
    with pytest.raises(AssertionError):
        read(html)
