"""Hypothesis strategies for TOML texts in every style that the format allows, with the data they stand for."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

_BARE = st.from_regex(r"[A-Za-z0-9_-]{1,6}", fullmatch=True)
_ODD = st.text(st.sampled_from("ab .#=[]{},'\"\\éΩ\t"), max_size=5)
KEYS = st.one_of(_BARE, _BARE, _BARE, _ODD)
STRINGS = st.text(st.sampled_from("ab1 .#=[]{},'\"\\éΩ\n\t"), max_size=12)
NUMBERS = st.one_of(
    st.integers(-(10**9), 10**9), st.floats(allow_nan=False, allow_infinity=False), st.booleans(), STRINGS
)
_VALUES = st.recursive(
    NUMBERS,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(KEYS, inner, max_size=4)),
    max_leaves=12,
)
DATA = st.dictionaries(
    KEYS,
    st.one_of(_VALUES, st.lists(st.dictionaries(KEYS, _VALUES, max_size=3), min_size=1, max_size=3)),
    max_size=5,
)


@st.composite
def texts(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    """A TOML text and the data that it holds."""
    data = draw(DATA)
    lines: list[str] = []
    _table(draw, lines, (), data)
    newline = draw(st.sampled_from(["\n", "\n", "\r\n"]))
    text = "\n".join(lines) + draw(st.sampled_from(["", "\n", "  # the end"]))
    return text.replace("\n", newline), data


def _table(draw: st.DrawFn, lines: list[str], names: tuple[str, ...], data: dict[str, Any]) -> None:
    """The body of a table: plain pairs first, then what is written under headers of its own."""
    later: list[tuple[str, Any]] = []
    for key, value in data.items():
        _noise(draw, lines)
        is_table = isinstance(value, dict)
        is_tables = isinstance(value, list) and value and all(isinstance(one, dict) for one in value)
        if (is_table or is_tables) and draw(st.booleans()):
            later.append((key, value))
        elif is_table and value and draw(st.booleans()):
            for inner, held in value.items():
                dot = draw(st.sampled_from([".", " . ", "\t."]))
                lines.append(f"{_key(draw, key)}{dot}{_key(draw, inner)} = {_value(draw, held)}{_comment(draw)}")
        else:
            lines.append(
                f"{draw(st.sampled_from(['', '  ']))}{_key(draw, key)}{draw(st.sampled_from(['=', ' = ']))}"
                f"{_value(draw, value)}{_comment(draw)}"
            )
    for key, value in later:
        inner_names = (*names, key)
        for one in value if isinstance(value, list) else [value]:
            _noise(draw, lines)
            title = draw(st.sampled_from([".", " . "])).join(_key(draw, name) for name in inner_names)
            lines.append((f"[[ {title}]]" if isinstance(value, list) else f"[{title} ]") + _comment(draw))
            _table(draw, lines, inner_names, one)


def _noise(draw: st.DrawFn, lines: list[str]) -> None:
    lines.extend(draw(st.lists(st.sampled_from(["", "# a note [x] = 'y", "   ", "#"]), max_size=2)))


def _comment(draw: st.DrawFn) -> str:
    return draw(st.sampled_from(["", "", ' # [why] = "', "#"]))


def _key(draw: st.DrawFn, key: str) -> str:
    bare = key.isascii() and key != "" and all(sign.isalnum() or sign in "_-" for sign in key)
    if bare and draw(st.booleans()):
        return key
    if "'" not in key and "\t" not in key and draw(st.booleans()):
        return f"'{key}'"
    return _basic(key)


def _basic(text: str) -> str:
    signs = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "é": "\\u00e9"}
    return '"' + "".join(signs.get(sign, sign) for sign in text) + '"'


def _value(draw: st.DrawFn, value: Any, *, one_line: bool = False) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _string(draw, value, one_line=one_line)
    if isinstance(value, list):
        return _array(draw, value, one_line=one_line)
    if isinstance(value, dict):
        pairs = ", ".join(f"{_key(draw, key)} = {_value(draw, held, one_line=True)}" for key, held in value.items())
        return "{" + draw(st.sampled_from(["", " "])) + pairs + draw(st.sampled_from(["", "  "])) + "}"
    return repr(value)


def _string(draw: st.DrawFn, value: str, *, one_line: bool) -> str:
    style = draw(st.sampled_from(["basic", "literal", "long", "long literal"]))
    if style == "literal" and "'" not in value and "\n" not in value:
        return f"'{value}'"
    # A carriage return would be added to a line feed inside the string where the text has CRLF line ends.
    if style == "long" and not one_line and '"""' not in value and "\\" not in value and "\n" not in value:
        return f'"""{value}"""' if not value.endswith('"') else f'"""{value[:-1]}\\""""'
    if style == "long literal" and "'''" not in value and not value.endswith("'") and "\n" not in value:
        return f"'''{value}'''" if one_line else f"'''\n{value}'''"
    return _basic(value)


def _array(draw: st.DrawFn, value: list[Any], *, one_line: bool) -> str:
    if one_line or draw(st.booleans()):
        return "[" + ", ".join(_value(draw, one, one_line=True) for one in value) + "]"
    gaps = st.sampled_from(["\n", "\n  # ] , inside\n", " "])
    body = "".join(f"{draw(gaps)}{_value(draw, one)}," for one in value)
    if value and draw(st.booleans()):
        body = body[:-1]
    return f"[{body}{draw(gaps)}]"
