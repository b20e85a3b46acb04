"""A condition on the rows of a table is text in the syntax of pandas, read without `eval`.

Of `pandas.DataFrame.query` it takes what a condition needs: names of columns; numbers, texts in
quotes, True and False; `and or not` (also `& | ~`); `== != < <= > >=`, also in chains; `in` and
`not in` a list; `+ - * /`; and of methods `.isna()`, `.notna()`, `.str.contains('...')`,
`.str.startswith('...')` and `.str.endswith('...')`.  Anything else is refused.

What is missing is neither true nor false, and so is what follows from it: a row holds only if
the condition is true of it for certain.
"""

from __future__ import annotations

import ast
import re
import warnings
from dataclasses import dataclass, field
from typing import Any, NoReturn

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from gridcrux.corpus.rows import UnknownColumn

LONGEST = 2000
"""Characters of the longest condition."""

_SIGNS = {"&": " and ", "|": " or ", "=": "=="}
_TOKENS = re.compile(r"""'(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*"|[=!<>]=|.""", re.DOTALL)
_COMPARE = {
    ast.Eq: pc.equal,
    ast.NotEq: pc.not_equal,
    ast.Lt: pc.less,
    ast.LtE: pc.less_equal,
    ast.Gt: pc.greater,
    ast.GtE: pc.greater_equal,
}
_COUNT = {ast.Add: pc.add_checked, ast.Sub: pc.subtract_checked, ast.Mult: pc.multiply_checked}
_ASK = {"isna": pc.is_null, "notna": pc.is_valid}
_SEARCH = {
    "contains": pc.match_substring_regex,
    "startswith": pc.starts_with,
    "endswith": pc.ends_with,
}
_NUMBER, _TEXT, _TRUTH, _OTHER = "a number", "text", "true or false", "something else"
_MEANT = (
    "expected columns, numbers, texts in quotes, and, or, not, in [...], ==, !=, <, <=, >, >=, "
    "+, -, *, /, .isna(), .notna(), .str.contains('...'), .str.startswith('...'), "
    ".str.endswith('...')"
)


class BadQuery(ValueError):
    """A condition that cannot be read, or asks for more than a condition may."""


@dataclass(frozen=True)
class Query:
    """A condition on rows that was read and checked.

    Attributes
    ----------
    text : as it was written.
    columns : what it looks at, in the order of the table.
    """

    text: str
    columns: tuple[str, ...]
    _tree: ast.expr = field(repr=False)
    _places: list[int] = field(repr=False)

    def holds(self, rows: pa.RecordBatch | pa.Table) -> NDArray[np.bool_]:
        """(N,) for each row whether the condition is true of it.

        Raises
        ------
        BadQuery : a number becomes too large.
        """
        reading = _Reading(self.text, self._places, rows)
        try:
            result = reading.truth(self._tree)
        except RecursionError as error:
            raise BadQuery(f"{self.text[:60]!r}... has too many parts in one another") from error
        if isinstance(result, pa.Scalar):
            return np.full(rows.num_rows, bool(result.as_py()))
        return np.asarray(pc.fill_null(result, False))


def read_query(text: str, schema: pa.Schema) -> Query:
    """Read a condition on the rows of a table with a certain schema.

    Raises
    ------
    BadQuery : the text is no condition; the message says where.
    UnknownColumn : it names a column that the table does not have.

    >>> table = pa.table({"givens": [22, 25, 30], "solved": [True, None, True]})
    >>> query = read_query("givens < 28 & solved", table.schema)
    >>> query.columns, query.holds(table).tolist()
    (('givens', 'solved'), [True, False, False])
    """
    if len(text) > LONGEST:
        raise BadQuery(f"a condition of {len(text):,} characters; expected {LONGEST:,} at most")
    source, places = _as_python(text)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            tree = ast.parse(source, mode="eval").body
        named = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
        columns = tuple(name for name in schema.names if name in named)
        query = Query(text, columns, tree, places)
        query.holds(schema.empty_table())
    except SyntaxError as error:
        at = len(text) if error.offset is None else places[min(error.offset - 1, len(source))]
        raise BadQuery(f"{_where(text, at)}: {_said(error)}") from error
    except (ValueError, RecursionError, MemoryError) as error:
        if isinstance(error, BadQuery | UnknownColumn):
            raise
        raise BadQuery(f"{text[:60]!r} is no condition; {_MEANT}") from error
    return query


def _said(error: SyntaxError) -> str:
    """What is wrong, in few words."""
    said = (error.msg or "").split(". ")[0]
    plain = said.startswith(("invalid syntax", "unexpected EOF"))
    return f"no condition; {_MEANT}" if plain else f"no condition ({said})"


def _where(text: str, at: int) -> str:
    if not text[at:].strip():
        return f"{text!r}, at the end"
    return f"{text!r}, character {at + 1} ({text[at : at + 12].strip()!r})"


def _as_python(text: str) -> tuple[str, list[int]]:
    """The text with signs as Python has them, and where each of its characters came from."""
    made, places = "", []
    start = len(text) - len(text.lstrip())
    for token in _TOKENS.finditer(text, start):
        new = _SIGNS.get(token[0], token[0] if token[0] not in "\r\n\f" else " ")
        made += new
        same = len(new) == len(token[0])
        places += [token.start() + (k if same else 0) for k in range(len(new))]
    return made, [*places, len(text)]


@dataclass(frozen=True)
class _Reading:
    """Finds the value of each part of a condition for some rows, one after the other."""

    text: str
    places: list[int]
    rows: pa.RecordBatch | pa.Table

    def truth(self, node: ast.expr) -> Any:
        """The value of a part that must be true or false."""
        value = self.value(node)
        self._expect(node, value, _TRUTH)
        return value

    def value(self, node: ast.expr) -> Any:
        """The value of a part: one for each row, or one for all."""
        try:
            match node:
                case ast.Name():
                    return self._column(node)
                case ast.Constant():
                    return self._constant(node)
                case ast.BoolOp():
                    return self._joined(node)
                case ast.UnaryOp():
                    return self._turned(node)
                case ast.BinOp():
                    return self._reckoned(node)
                case ast.Compare():
                    return self._chain(node)
                case ast.Call():
                    return self._asked(node)
        except pa.ArrowException as error:
            self._fail(node, " ".join(str(error).split()))
        self._refuse(node)

    def _column(self, node: ast.Name) -> Any:
        if node.id not in self.rows.schema.names:
            raise UnknownColumn(node.id, self.rows.schema.names)
        column = self.rows.column(node.id)
        coded = pa.types.is_dictionary(column.type)
        return column.cast(column.type.value_type) if coded else column

    def _constant(self, node: ast.Constant) -> Any:
        if node.value is None:
            self._fail(node, "nothing equals None; ask .isna() or .notna()")
        if not isinstance(node.value, bool | int | float | str):
            self._refuse(node)
        try:
            return pa.scalar(node.value)
        except OverflowError:
            self._fail(node, "the number is too large")

    def _joined(self, node: ast.BoolOp) -> Any:
        join = pc.and_kleene if isinstance(node.op, ast.And) else pc.or_kleene
        first, *others = node.values
        value = self.truth(first)
        for other in others:
            value = join(value, self.truth(other))
        return value

    def _turned(self, node: ast.UnaryOp) -> Any:
        if isinstance(node.op, ast.Not | ast.Invert):
            return pc.invert(self.truth(node.operand))
        value = self._number(node.operand)
        return pc.negate_checked(value) if isinstance(node.op, ast.USub) else value

    def _reckoned(self, node: ast.BinOp) -> Any:
        if type(node.op) not in (*_COUNT, ast.Div):
            self._refuse(node)
        left, right = self._number(node.left), self._number(node.right)
        if isinstance(node.op, ast.Div):
            return pc.divide(left.cast(pa.float64()), right.cast(pa.float64()))
        return _COUNT[type(node.op)](left, right)

    def _chain(self, node: ast.Compare) -> Any:
        result = None
        left = node.left
        for sign, right in zip(node.ops, node.comparators, strict=True):
            held = self._compared(left, sign, right)
            result = held if result is None else pc.and_kleene(result, held)
            left = right
        return result

    def _compared(self, left: ast.expr, sign: ast.cmpop, right: ast.expr) -> Any:
        if isinstance(sign, ast.In | ast.NotIn):
            held = self._member(left, right)
            return pc.invert(held) if isinstance(sign, ast.NotIn) else held
        if type(sign) not in _COMPARE:
            self._refuse(left)
        one, other = self.value(left), self.value(right)
        self._expect(right, other, _kind(one))
        return _COMPARE[type(sign)](one, other)

    def _member(self, left: ast.expr, right: ast.expr) -> Any:
        if not isinstance(right, ast.List | ast.Tuple | ast.Set):
            self._fail(right, "expected a list in brackets after 'in'; for a part of a text write "
                       "column.str.contains('...')")  # fmt: skip
        value = self.value(left)
        held: Any = pa.scalar(False)
        for each in right.elts:
            if not isinstance(each, ast.Constant | ast.UnaryOp):
                self._fail(each, "expected numbers or texts in the list")
            one = self.value(each)
            self._expect(each, one, _kind(value))
            held = pc.or_kleene(held, pc.equal(value, one))
        return held

    def _asked(self, node: ast.Call) -> Any:
        asked = node.func
        if not isinstance(asked, ast.Attribute) or node.keywords:
            self._refuse(node)
        if asked.attr in _ASK and not node.args:
            return _ASK[asked.attr](self.value(asked.value))
        of = asked.value
        if not (isinstance(of, ast.Attribute) and of.attr == "str" and asked.attr in _SEARCH):
            self._refuse(node)
        if len(node.args) != 1 or not _is_text(node.args[0]):
            self._fail(node, f"expected .str.{asked.attr}('...') with one text")
        value = self.value(of.value)
        self._expect(of.value, value, _TEXT)
        return _SEARCH[asked.attr](value, node.args[0].value)  # type: ignore[attr-defined]

    def _number(self, node: ast.expr) -> Any:
        value = self.value(node)
        self._expect(node, value, _NUMBER)
        return value

    def _expect(self, node: ast.expr, value: Any, kind: str) -> None:
        found = _kind(value)
        if found != kind or found == _OTHER:
            self._fail(node, f"this is {found}; expected {kind}")

    def _refuse(self, node: ast.AST) -> NoReturn:
        self._fail(node, f"not possible in a condition; {_MEANT}")

    def _fail(self, node: Any, why: str) -> NoReturn:
        # Python counts the bytes before a part.
        source, _ = _as_python(self.text)
        before = source.encode()[: node.col_offset].decode("utf-8", "replace")
        raise BadQuery(f"{_where(self.text, self.places[len(before)])}: {why}")


def _is_text(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


def _kind(value: Any) -> str:
    """What a value is, in words."""
    kind = value.type
    if pa.types.is_boolean(kind):
        return _TRUTH
    if pa.types.is_integer(kind) or pa.types.is_floating(kind):
        return _NUMBER
    if pa.types.is_string(kind) or pa.types.is_large_string(kind):
        return _TEXT
    return _OTHER
