"""How the rules are written: encodings with solvers and uses, models, and what is best for what."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from tqdm import tqdm

from cases import enumeration, support, uniqueness
from cases.material import SEED, WARM_SEED, puzzles, spread, state_of, with_solutions
from cases.outcome import Outcome, Settings, markdown
from cases.series import Series
from cases.turns import Comparison, figure
from gridcrux.encodings import ENCODINGS, get_encoding
from gridcrux.encodings.at_most_one import AT_MOST_ONE
from gridcrux.encodings.sizes import sizes_table
from gridcrux.engines import get_counter, get_engine
from gridcrux.engines.protocol import Counter
from gridcrux.grids.layout import NINE

USUAL = "extended"
WAYS = tuple(f"{USUAL}-{way}" for way in AT_MOST_ONE if way != get_encoding(USUAL).at_most_one)
SOLVERS = ("cadical195", "minisat22")
USES = ("incremental", "fresh")
OTHERS = ("kernel", "sat", "cp", "cp/integers", "cp/channelled", "cover")

SLOW = ("dual", "dual-exact-cells", "cp", "cp/integers", "cp/channelled")
"""They are asked of a few of the states only; of a clausal one, this is the encoding."""

QUICK = ("minimal", "dual-exact-houses", USUAL, f"{USUAL}-ladder", f"{USUAL}-commander")
COUNTED_WITH = (*ENCODINGS, f"{USUAL}-commander")
SECONDS = 2.0
"""Most for one enumeration; 20 for one by the model counter."""


@dataclass(frozen=True)
class Question:
    """What is asked, of which states.

    Attributes
    ----------
    few : how many of them are put to what is slow.
    series : an engine of a name with the first so many states.
    """

    name: str
    count: int
    few: int
    series: Callable[[str, int], Series]


def questions(settings: Settings) -> list[Question]:
    """Uniqueness, support and enumeration."""
    digits = puzzles(settings.few(50, 4))
    warm = puzzles(2, WARM_SEED)
    one = [state_of(each) for each in digits]
    one_warm = [state_of(each) for each in warm]
    thin = support.thinned(digits[: settings.few(15, 2)])
    occurs = [get_engine("kernel").support(state).occurs for state in thin]
    many = list(with_solutions(spread(settings.few(6, 2), 50, 500)))
    states, numbers = [state for state, _ in many], [number for _, number in many]

    def unique(name: str, count: int) -> Series:
        return uniqueness.series_of(partial(get_engine, name), one[:count], one_warm)

    def supported(name: str, count: int) -> Series:
        return support.series_of(partial(get_engine, name), thin[:count], occurs, one_warm)

    def enumerated(name: str, count: int) -> Series:
        made = partial(get_engine, name)
        return enumeration.series_of(made, states[:count], numbers, one_warm, SECONDS)

    return [
        Question("uniqueness", len(one), 2, unique),
        Question("support", len(thin), 1, supported),
        Question("enumeration", len(states), 1, enumerated),
    ]


def encodings(settings: Settings) -> Outcome:
    """All encodings and models, for each question."""
    outcome = Outcome()
    asked = questions(settings)
    found: dict[tuple[str, str], tuple[Series, Comparison]] = {}
    names = QUICK if settings.quick else (*ENCODINGS, *WAYS)
    pairs = [(solver, use) for solver in SOLVERS for use in USES]
    work = [(name, name, SOLVERS[0]) for name in OTHERS] + [
        (f"{solver}/{encoding}/{use}", encoding, f"{solver}/{USUAL}/{use}")
        for solver, use in pairs
        for encoding in names
    ]
    for name, kind, base in tqdm(work, desc="encodings", unit="engine"):
        for question in asked:
            count = min(question.few if kind in SLOW else question.count, question.count)
            series, own = question.series(name, count), question.series(base, count)
            case = f"encodings, {question.name}"
            (ratio,) = series.against(case, name, {base: own}, settings.rounds)
            outcome.comparisons.append(ratio)
            outcome.faults += series.faults + own.faults
            found[question.name, name] = series, ratio
    counted, best = _counted(settings, outcome)
    tables = [_by_encoding(question, names, pairs, found) for question in asked]
    outcome.text = "\n\n".join(
        [
            f"Minimal 9x9 puzzles (seed {SEED}), {settings.rounds} rounds; in each cell the mean "
            f"of a state, its conflicts, and the ratio to {USUAL} with the same solver and use. "
            "A number in brackets behind a name: so many states, where it is not all.",
            *tables,
            _others(asked, found),
            counted,
            f"Fastest for {_best(asked, found)}; for counting by the model counter: {best}.",
        ]
    )
    return outcome


def _cell(series: Series, ratio: Comparison | None, all_: int) -> str:
    """Mean time, conflicts, ratio; a lower bound if an answer was cut short."""
    words = ("> " if series.cuts else "") + milli(series.mean)
    if "conflicts" in series.effort:
        words += f"; {figure(series.effort['conflicts'] / len(series.states))} c"
    if ratio is not None:
        words += f"; {'> ' if series.cuts else ''}{ratio.text}"
    return words + (f" [{len(series.states)}]" if len(series.states) < all_ else "")


def milli(seconds: float) -> str:
    return f"{figure(1e3 * seconds)} ms"


def _by_encoding(
    question: Question,
    names: Sequence[str],
    pairs: Sequence[tuple[str, str]],
    found: Mapping[tuple[str, str], tuple[Series, Comparison]],
) -> str:
    """A row for each encoding, with its size, and a column for each solver and use."""
    sizes = sizes_table([NINE], map(get_encoding, names)).set_index("encoding")
    variables, clauses = sizes["variables"].to_dict(), sizes["distinct"].to_dict()
    rows = []
    for encoding in names:
        cells = [
            _cell(*found[question.name, f"{solver}/{encoding}/{use}"], question.count)
            for solver, use in pairs
        ]
        size = [f"{each[encoding]:,}" for each in (variables, clauses)]
        rows.append([encoding, *size, *cells])
    head = ["encoding", "variables", "clauses", *(" ".join(pair) for pair in pairs)]
    return f"**{question.name.capitalize()}**, {question.count} states:\n\n" + markdown(head, rows)


def _others(
    asked: Sequence[Question], found: Mapping[tuple[str, str], tuple[Series, Comparison]]
) -> str:
    """What is not a clausal encoding, against incremental use of the usual one."""
    rows = [[name, *(_cell(*found[q.name, name], q.count) for q in asked)] for name in OTHERS]
    head = ["engine", *(question.name for question in asked)]
    return f"Other ways to write the rules, against {SOLVERS[0]} incremental with {USUAL}:\n\n" + (
        markdown(head, rows)
    )


def _counted(settings: Settings, outcome: Outcome) -> tuple[str, str]:
    """The model counter with encodings, beside the kernel and the bands; and the best of it."""
    many = list(with_solutions(spread(settings.few(3, 1), 50, settings.few(2_000, 50))))
    states, numbers = [state for state, _ in many], [number for _, number in many]
    names = COUNTED_WITH if not settings.quick else (USUAL, "minimal")

    def series(name: str) -> Series:
        made: Callable[[], Counter] = partial(get_counter, name)
        return enumeration.series_of(made, states, numbers, seconds=20)

    rows = []
    means = {}
    for name in (*(f"ganak/{encoding}" for encoding in names), "bands", "kernel"):
        own, peer = series(f"ganak/{USUAL}"), series(name)
        (ratio,) = peer.against("encodings, counting", name, {f"ganak/{USUAL}": own}, 3)
        outcome.comparisons.append(ratio)
        outcome.faults += peer.faults + own.faults
        if name.startswith("ganak") and not peer.cuts:
            means[name] = peer.mean
        rows.append([name, ("> " if peer.cuts else "") + milli(peer.mean), ratio.text])
    text = ", ".join(f"{number:,}" for number in numbers)
    table = markdown(["counter", "mean", f"to ganak/{USUAL}"], rows)
    best = min(means, key=means.__getitem__, default="none was in time")
    return f"**Counting**, states with {text} solutions, 3 rounds:\n\n{table}", best


def _best(
    asked: Sequence[Question], found: Mapping[tuple[str, str], tuple[Series, Comparison]]
) -> str:
    """Which engine and which clausal encoding is the fastest for each question, in a sentence."""
    words = []
    for question in asked:
        means = {
            name: series.mean
            for (what, name), (series, _) in found.items()
            if what == question.name and len(series.states) == question.count and not series.cuts
        }
        engine = min(means, key=means.__getitem__)
        clausal = {name: mean for name, mean in means.items() if name.count("/") == 2}
        solver, encoding, use = min(clausal, key=clausal.__getitem__).split("/")
        words.append(
            f"{question.name}: {engine} ({milli(means[engine])}), and of solvers with a clausal "
            f"encoding {encoding} with {solver} {use} ({milli(min(clausal.values()))})"
        )
    return "; for ".join(words)
